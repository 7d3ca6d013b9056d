"""The body as a solid, and its STL and STEP files."""

from bodyshop.solid.build import Progress, body_solid, drilled, undrilled
from bodyshop.solid.errors import SolidError
from bodyshop.solid.files import step_bytes, stl_bytes
from bodyshop.solid.kernel import BodySolid, mesh_of
from bodyshop.solid.mesh import ANGLE_RAD, CHORD_MM, Mesh

__all__ = [
    "ANGLE_RAD",
    "CHORD_MM",
    "BodySolid",
    "Mesh",
    "Progress",
    "SolidError",
    "body_solid",
    "drilled",
    "mesh_of",
    "step_bytes",
    "stl_bytes",
    "undrilled",
]
