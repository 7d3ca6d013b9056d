"""The solid's files of one car by name, as bytes: the body, the car with everything on it, drilling jigs."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TYPE_CHECKING, Final

from bodyshop.checking import Opened
from bodyshop.make.files import file_stem

if TYPE_CHECKING:
    from bodyshop.solid.jig import Jig

__all__ = ["SOLID_FORMATS", "jig_files", "solid_files"]

SOLID_FORMATS: Final = ("stl", "step", "3mf")
"""What the body is written as."""

Progress = Callable[[str, float], None]


def solid_files(
    opened: Opened,
    *,
    formats: Collection[str] = SOLID_FORMATS,
    assembly: bool = False,
    chord_mm: float | None = None,
    progress: Progress | None = None,
) -> dict[str, bytes]:
    """The body as STL and 3MF, within `chord_mm` of its true shape, and as STEP; with `assembly` the car with
    all its parts too, in those of the formats that can name parts: STEP and 3MF.

    Raises:
        SolidError: the 3D kernel cannot build a body that can be trusted.
    """
    from bodyshop import solid as s

    design = opened.design
    stem = file_stem(design)
    chord = s.CHORD_MM if chord_mm is None else chord_mm
    body = s.body_solid(opened.car.body, progress, chord_mm=chord)
    files: dict[str, bytes] = {}
    if "stl" in formats:
        files[f"{stem}.stl"] = s.stl_bytes(
            body, design.name, design.fingerprint, chord_mm=chord, progress=progress
        )
    if "step" in formats:
        files[f"{stem}.step"] = s.step_bytes(body, design.name, progress=progress)
    if "3mf" in formats:
        files[f"{stem}.3mf"] = s.body_3mf_bytes(body, design, chord_mm=chord)
    if assembly:
        parts = s.car_parts(opened.car, body)
        if "step" in formats:
            files[f"{stem}-assembly.step"] = s.assembly_step_bytes(parts, design.name)
        if "3mf" in formats:
            files[f"{stem}-assembly.3mf"] = s.assembly_3mf_bytes(parts, body, design, chord_mm=chord)
    return files


def jig_files(opened: Opened, clearance_mm: float | None = None) -> tuple[dict[str, bytes], list[Jig]]:
    """The drilling jigs as STL, and what they are.

    Raises:
        ProblemsError: a hole does not lie in the blank.
        SolidError: the kernel cannot build one.
    """
    from bodyshop.solid import stl_of_mesh
    from bodyshop.solid.jig import jigs

    design = opened.design
    made = jigs(opened.car.body, clearance_mm)
    stem = file_stem(design)
    files = {
        f"{stem}-jig-{jig.name}.stl": stl_of_mesh(jig.mesh, f"{jig.name} jig", design.fingerprint)
        for jig in made
    }
    return files, made
