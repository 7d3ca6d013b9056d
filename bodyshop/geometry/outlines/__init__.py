"""Exact closed outlines of lines, arcs and cubic curves."""

from bodyshop.geometry.outlines.chain import (
    Bezier,
    Chain,
    ChainFault,
    Edge,
    Radius,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
)
from bodyshop.geometry.outlines.curves import (
    Arc,
    Array,
    Cubic,
    Curve,
    Line,
    Point,
    arc_through,
    arc_with_radius,
    dist,
)
from bodyshop.geometry.outlines.outline import FINE_MM, Outline, OutlineFault, Ring, outline_faults

__all__ = [
    "FINE_MM",
    "Arc",
    "Array",
    "Bezier",
    "Chain",
    "ChainFault",
    "Cubic",
    "Curve",
    "Edge",
    "Line",
    "Outline",
    "OutlineFault",
    "Point",
    "Radius",
    "Ring",
    "Smooth",
    "Straight",
    "Through",
    "Vertex",
    "arc_through",
    "arc_with_radius",
    "build_chain",
    "dist",
    "outline_faults",
]
