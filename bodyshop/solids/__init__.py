"""The body as a solid, alone or with all its parts, and its STL, STEP and 3MF files."""

from bodyshop.solids.build import Progress, body_solid, drilled, undrilled
from bodyshop.solids.errors import SolidError
from bodyshop.solids.kernel import BodySolid, mesh_of
from bodyshop.solids.mesh import ANGLE_RAD, CHORD_MM, Mesh
from bodyshop.solids.parts import CarPart, assembly_3mf_bytes, body_3mf_bytes, car_parts, model_words
from bodyshop.solids.step import assembly_step_bytes, step_bytes
from bodyshop.solids.stl import stl_bytes, stl_of_mesh
from bodyshop.solids.threemf import ModelPart, ModelWords, threemf_bytes

__all__ = [
    "ANGLE_RAD",
    "CHORD_MM",
    "BodySolid",
    "CarPart",
    "Mesh",
    "ModelPart",
    "ModelWords",
    "Progress",
    "SolidError",
    "assembly_3mf_bytes",
    "assembly_step_bytes",
    "body_3mf_bytes",
    "body_solid",
    "car_parts",
    "drilled",
    "mesh_of",
    "model_words",
    "step_bytes",
    "stl_bytes",
    "stl_of_mesh",
    "threemf_bytes",
    "undrilled",
]
