"""A solid of the 3D kernel, with its integrals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.body import Moments

if TYPE_CHECKING:
    import cadquery
    from OCP.TopoDS import TopoDS_Shape

__all__ = ["BodySolid", "kernel_moments"]

# Relative error asked of the kernel's integrals.
INTEGRAL = 1e-6


@dataclass(frozen=True, slots=True)
class BodySolid:
    """A solid, or a compound of several, with its integrals by the kernel (mm) at unit density."""

    shape: TopoDS_Shape
    moments: Moments

    @property
    def volume(self) -> float:
        """Volume by the kernel, mm^3."""
        return self.moments.volume

    def as_cadquery(self) -> cadquery.Shape:
        """The same solid for CadQuery: a Solid, or a Compound of them."""
        import cadquery

        return cadquery.Shape.cast(self.shape)


def kernel_moments(shape: TopoDS_Shape) -> Moments:
    """Volume, centre and inertia by the kernel's own adaptive integration over the faces."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, INTEGRAL, True)
    centre, matrix = properties.CentreOfMass(), properties.MatrixOfInertia()
    volume = float(properties.Mass())
    at = np.array([centre.X(), centre.Y(), centre.Z()])
    inertia = np.array([[matrix.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])
    about = 0.5 * np.trace(inertia) * np.eye(3) - inertia
    return Moments(volume, volume * at, about + volume * np.outer(at, at))
