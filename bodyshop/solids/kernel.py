"""A solid of the 3D kernel, with its integrals and its mesh."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body import Moments
from bodyshop.solids.mesh import ANGLE_RAD, CHORD_MM, Mesh, closed_mesh

if TYPE_CHECKING:
    import cadquery
    from OCP.TopoDS import TopoDS_Shape

__all__ = ["BodySolid", "kernel_moments", "kernel_volume", "mesh_of"]

# Relative error asked of the kernel's integrals.
INTEGRAL = 1e-6


@dataclass(frozen=True)
class BodySolid:
    """A solid, or a compound of several; `mesh` is the one that it was checked with."""

    shape: TopoDS_Shape
    mesh: Mesh | None = None

    @cached_property
    def moments(self) -> Moments:
        """Volume, centre and inertia by the kernel (mm) at unit density."""
        return kernel_moments(self.shape)

    @property
    def volume(self) -> float:
        """Volume by the kernel, mm^3."""
        return self.moments.volume

    def as_cadquery(self) -> cadquery.Shape:
        """The same solid for CadQuery: a Solid, or a Compound of them."""
        import cadquery

        return cadquery.Shape.cast(self.shape)


def mesh_of(solid: BodySolid, chord_mm: float = CHORD_MM, angle_rad: float = ANGLE_RAD) -> Mesh:
    """A closed mesh within `chord_mm` of the solid.

    Raises:
        SolidError: no mesh closes, even a finer one.
        ValueError: a tolerance is not positive.
    """
    known = solid.mesh
    if known is not None and (known.chord_mm, known.angle_rad) == (chord_mm, angle_rad):
        return known
    return closed_mesh(solid.shape, kernel_volume(solid.shape), chord_mm, angle_rad)


def kernel_volume(shape: TopoDS_Shape) -> float:
    """Volume by the kernel's plain integration, mm^3: to about 1e-6 of it."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return float(properties.Mass())


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
