"""The body as a mesh and as a solid, alone or with all its parts, and its STL, STEP and 3MF files.

Meshes come from one maker (`meshing`, `forms`), which needs no 3D kernel; STEP goes through CadQuery.
"""

from bodyshop.solids.build import Progress, body_solid, drilled, undrilled
from bodyshop.solids.errors import SolidError
from bodyshop.solids.mesh import CHORD_MM, Mesh, shaded
from bodyshop.solids.meshing import body_mesh, sections_mesh
from bodyshop.solids.part_forms import BodyForm
from bodyshop.solids.parts import CarPart, assembly_3mf_bytes, body_3mf_bytes, car_parts, model_words
from bodyshop.solids.step import assembly_step_bytes, step_bytes
from bodyshop.solids.stl import stl_bytes
from bodyshop.solids.threemf import ModelPart, ModelWords, threemf_bytes

__all__ = [
    "CHORD_MM",
    "BodyForm",
    "CarPart",
    "Mesh",
    "ModelPart",
    "ModelWords",
    "Progress",
    "SolidError",
    "assembly_3mf_bytes",
    "assembly_step_bytes",
    "body_3mf_bytes",
    "body_mesh",
    "body_solid",
    "car_parts",
    "drilled",
    "model_words",
    "sections_mesh",
    "shaded",
    "step_bytes",
    "stl_bytes",
    "threemf_bytes",
    "undrilled",
]
