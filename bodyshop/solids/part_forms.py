"""The shapes of the parts of a car, each as a solid of CadQuery and as a mesh."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

import numpy as np

from bodyshop.car.body import Body
from bodyshop.car.body.holes import Cylinder
from bodyshop.solids.build import body_solid
from bodyshop.solids.forms import Profile, joined, moved, quarter_steps, rod, turned
from bodyshop.solids.mesh import Mesh, closed_mesh
from bodyshop.solids.meshing import body_mesh

if TYPE_CHECKING:
    import cadquery

__all__ = ["BodyForm", "EyeForm", "PartForm", "TurnedForm"]


class PartForm(Protocol):
    """What a part looks like, in a place of its own."""

    def shape(self) -> cadquery.Shape:
        """The solid.

        Raises:
            SolidError: the kernel cannot build it.
        """

    def mesh(self, chord_mm: float) -> Mesh:
        """A closed mesh within the chord.

        Raises:
            SolidError: none closes.
        """


class BodyForm:
    """The drilled body, where it is on the car."""

    def __init__(self, body: Body) -> None:
        self.body = body
        self._meshes: dict[float, Mesh] = {}

    @cached_property
    def _solid(self) -> cadquery.Shape:
        return body_solid(self.body)

    def shape(self) -> cadquery.Shape:
        """The body by the 3D kernel, built once."""
        return self._solid

    def mesh(self, chord_mm: float) -> Mesh:
        """The body's mesh, made once for a chord."""
        if chord_mm not in self._meshes:
            self._meshes[chord_mm] = body_mesh(self.body, chord_mm)
        return self._meshes[chord_mm]


@dataclass(frozen=True, slots=True)
class TurnedForm:
    """A closed profile turned about the x axis. `corners` are (along, radius) pairs, mm, anticlockwise with
    the radius upward; with a `base` the way from the last corner (base, r) to the pole at 0 is a quarter of
    an ellipse.
    """

    corners: tuple[tuple[float, float], ...]
    base: float = 0.0

    def shape(self) -> cadquery.Shape:
        """The solid."""
        from cadquery import Edge, Solid, Vector, Wire

        points = [Vector(along, radius, 0.0) for along, radius in self.corners]
        edges = [Edge.makeLine(a, b) for a, b in pairwise(points)]
        if self.base:
            r = self.corners[-1][1]
            # From the shell round to the pole: a quarter turn, anticlockwise.
            middle = Vector(self.base, 0.0, 0.0)
            edges.append(
                Edge.makeEllipse(self.base, r, middle, Vector(0, 0, 1), Vector(1, 0, 0), 90.0, 180.0)
            )
        else:
            edges.append(Edge.makeLine(points[-1], points[0]))
        wire = Wire.assembleEdges(edges)
        return Solid.revolve(wire, [], 360.0, Vector(0, 0, 0), Vector(1, 0, 0))

    def mesh(self, chord_mm: float) -> Mesh:
        """The mesh."""
        profile: list[tuple[float, float]] = list(self.corners)
        if self.base:
            r = self.corners[-1][1]
            profile += self._quarter(max(quarter_steps(max(r, self.base), chord_mm / 2), 2))[1:-1]
        return closed_mesh(turned(profile, chord_mm), chord_mm)

    def _quarter(self, steps: int) -> list[tuple[float, float]]:
        """The quarter of an ellipse from the shell to the pole, both ends with it."""
        base, r = self.corners[-1]
        angles = np.linspace(0.0, math.pi / 2, steps + 1)
        points = [(base * (1 - math.sin(a)), r * math.cos(a)) for a in angles.tolist()]
        return [*points[:-1], (0.0, 0.0)]


@dataclass(frozen=True, slots=True)
class EyeForm:
    """A screw eye: a ring of radius `ring` about x with its centre at 0, and a straight shank up from it,
    both of a wire of radius `wire`: no thread is drawn. mm.
    """

    ring: float
    wire: float
    length: float

    def shape(self) -> cadquery.Shape:
        """The solid."""
        from cadquery import Solid, Vector

        # The seams of ring and shank are turned away from each other.
        ring = Solid.makeTorus(self.ring, self.wire, Vector(0, 0, 0), Vector(1, 0, 0)).rotate(
            Vector(0, 0, 0), Vector(1, 0, 0), 120
        )
        start = Vector(0, 0, self.ring)
        shank = Solid.makeCylinder(self.wire, self.length, start, Vector(0, 0, 1)).rotate(
            start, start + Vector(0, 0, 1), 35
        )
        return ring.fuse(shank).Solids()[0]

    def mesh(self, chord_mm: float) -> Mesh:
        """The mesh."""
        steps = max(4 * quarter_steps(self.wire, chord_mm), 8)
        angles = 2 * math.pi * np.arange(steps) / steps
        section: Profile = [
            (self.wire * math.cos(a), self.ring + self.wire * math.sin(a)) for a in angles.tolist()
        ]
        shank = Cylinder(np.array([0.0, 0.0, self.ring]), np.array([0.0, 0.0, 1.0]), self.wire, self.length)
        # A little turn, so that no side of the ring lies in one plane with a side of the shank.
        turn = np.array(
            [[1, 0, 0, 0], [0, math.cos(0.1), -math.sin(0.1), 0], [0, math.sin(0.1), math.cos(0.1), 0]]
        )
        return closed_mesh(joined([moved(turned(section, chord_mm), turn), rod(shank, chord_mm)]), chord_mm)
