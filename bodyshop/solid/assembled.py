"""A design's 3MF files: the body alone, and the car with everything on it."""

from __future__ import annotations

from collections.abc import Sequence

from bodyshop.design.model import Design
from bodyshop.solid.kernel import BodySolid, mesh_of
from bodyshop.solid.mesh import ANGLE_RAD, CHORD_MM, Mesh, closed_mesh
from bodyshop.solid.parts import WOOD, CarPart
from bodyshop.solid.threemf import ModelPart, ModelWords, threemf_bytes

__all__ = ["assembly_3mf_bytes", "body_3mf_bytes", "model_words"]

PART_SHORT = 0.05
"""Share of its volume that the mesh of a small part may lack: a wire is only some chords thick."""


def model_words(design: Design, what: str, chord_mm: float) -> ModelWords:
    """What a file says of a design; `what` it holds, in a few words."""
    return ModelWords(
        title=design.name,
        designer=design.bench,
        description=f"{what}; lengths in mm, flat faces within {chord_mm:g} mm of the true shape; "
        f"fingerprint {design.fingerprint}",
        fingerprint=design.fingerprint,
    )


def body_3mf_bytes(solid: BodySolid, design: Design, *, chord_mm: float = CHORD_MM) -> bytes:
    """The body as 3MF.

    Raises:
        SolidError: no mesh closes; nothing may be written.
    """
    part = ModelPart(
        design.name or "body", "body", mesh_of(solid, chord_mm), colour=WOOD, material=design.wood.label
    )
    return threemf_bytes([part], model_words(design, "Body of a wooden car", chord_mm))


def assembly_3mf_bytes(
    parts: Sequence[CarPart], body: BodySolid, design: Design, *, chord_mm: float = CHORD_MM
) -> bytes:
    """The car as 3MF, every part an object with its name; `parts` begin with the body.

    Raises:
        SolidError: a mesh does not close; nothing may be written.
    """
    meshes: dict[str, Mesh] = {parts[0].kind: mesh_of(body, chord_mm)}
    for part in parts:
        if part.kind not in meshes:
            meshes[part.kind] = closed_mesh(
                part.shape, part.volume_mm3, chord_mm, ANGLE_RAD, short=PART_SHORT
            )
    model = [ModelPart(p.name, p.kind, meshes[p.kind], p.move, p.colour, p.material) for p in parts]
    return threemf_bytes(model, model_words(design, "Wooden car with its wheels on", chord_mm))
