"""The files of one car by name, as bytes: report, templates, build sheet, solids."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.car.design import Design
from bodyshop.drawing.layout.printer import Printer
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.writers.formats import PAPER_FORMATS
from bodyshop.foundation.files.names import safe_stem
from bodyshop.output.bundle.file_kinds import SOLID_FORMATS
from bodyshop.rules.checking import Checked, LoadedCar

__all__ = [
    "BundlePart",
    "OUTPUT_FOLDER",
    "default_folder",
    "file_stem",
    "jig_files",
    "part_of",
    "report_files",
    "solid_files",
    "template_files",
    "verdict_word",
]


if TYPE_CHECKING:
    from bodyshop.solids.jig import Jig

Progress = Callable[[str, float], None]


def solid_files(
    opened: LoadedCar,
    *,
    formats: Collection[str] = tuple(SOLID_FORMATS),
    assembly: bool = False,
    chord_mm: float | None = None,
    progress: Progress | None = None,
) -> dict[str, bytes]:
    """The body as STL and 3MF, within `chord_mm` of its true shape, and as STEP; with `assembly` the car with
    all its parts too, in those of the formats that can name parts: STEP and 3MF.

    Raises:
        SolidError: the 3D kernel cannot build a body that can be trusted.
    """
    from bodyshop import solids as s

    design = opened.design
    stem = file_stem(design)
    chord = s.CHORD_MM if chord_mm is None else chord_mm
    tell = progress or (lambda _what, _share: None)
    body = s.BodyForm(opened.car.body)
    files: dict[str, bytes] = {}
    if "stl" in formats:
        tell("laying the mesh", 0.0)
        files[f"{stem}.stl"] = s.stl_bytes(body.mesh(chord), design.name, design.fingerprint)
    if "3mf" in formats:
        files[f"{stem}.3mf"] = s.body_3mf_bytes(body.mesh(chord), design)
    if "step" in formats:
        tell("building the body", 0.2)
        files[f"{stem}.step"] = s.step_bytes(body.shape(), design.name, progress=progress)
    if assembly:
        parts = s.car_parts(opened.car, body)
        if "step" in formats:
            files[f"{stem}-assembly.step"] = s.assembly_step_bytes(parts, design.name)
        if "3mf" in formats:
            files[f"{stem}-assembly.3mf"] = s.assembly_3mf_bytes(parts, design, chord_mm=chord)
    return files


def jig_files(opened: LoadedCar, clearance_mm: float | None = None) -> tuple[dict[str, bytes], list[Jig]]:
    """The drilling jigs as STL, and what they are.

    Raises:
        ProblemsError: a hole does not lie in the blank.
        SolidError: one does not close.
    """
    from bodyshop.solids import stl_bytes
    from bodyshop.solids.jig import jigs

    design = opened.design
    made = jigs(opened.car.body, clearance_mm)
    stem = file_stem(design)
    files = {
        f"{stem}-jig-{jig.name}.stl": stl_bytes(jig.mesh, f"{jig.name} jig", design.fingerprint)
        for jig in made
    }
    return files, made


if TYPE_CHECKING:
    from bodyshop.output.papers.templates import TemplateOptions
    from bodyshop.output.words.hints import Hints


OUTPUT_FOLDER: Final = "templates_out"
_REPORT_WIDTH: Final = 80


class BundlePart(Enum):
    """What is made from a design."""

    REPORT = "report"
    TEMPLATES = "templates"
    SOLID = "solid"


def file_stem(design: Design) -> str:
    """The beginning of every file name of a design."""
    return safe_stem(design.stem)


def default_folder(design: Design) -> Path:
    """Where files go when nobody says otherwise: below the current folder."""
    return Path(OUTPUT_FOLDER) / file_stem(design)


def part_of(name: str, stem: str) -> BundlePart | None:
    """Which part of a design's files a name belongs to; None for those of another."""
    if not name.startswith(stem):
        return None
    rest = name.removeprefix(stem)
    if re.fullmatch(rf"-templates(-[0-9]+)?\.({'|'.join(PAPER_FORMATS)})", rest):
        return BundlePart.TEMPLATES
    if rest in ("-report.txt", "-report.json"):
        return BundlePart.REPORT
    if re.fullmatch(rf"(-assembly)?\.({'|'.join(SOLID_FORMATS)})|-jig-[a-z]+\.stl", rest):
        return BundlePart.SOLID
    return None


def report_files(checked: Checked, exit_code: int, hints: Hints | None = None) -> dict[str, bytes]:
    """The report as a person and as a program reads it, with the `hints` that were worked out for it."""
    from bodyshop.output.json.check import check_data, checked_data
    from bodyshop.output.json.document import json_text
    from bodyshop.output.terminal.verdict import terminal_report

    stem = file_stem(checked.opened.design)
    text = terminal_report(checked, width=_REPORT_WIDTH, full=True, hints=hints)
    document = check_data([checked_data(checked, hints)], exit_code)
    return {
        f"{stem}-report.txt": text.encode("utf-8"),
        f"{stem}-report.json": json_text(document).encode("utf-8"),
    }


def verdict_word(checked: Checked) -> str:
    """The verdict as the papers print it: `FAILS 3 rules`."""
    from bodyshop.output.words.papers import stamp_of

    return stamp_of(checked.judgement).word


def template_files(
    checked: Checked,
    sheet: SheetSize,
    *,
    formats: Collection[str] = tuple(PAPER_FORMATS),
    date: str = "",
    owner: str = "",
    printer: Printer | None = None,
    choices: TemplateOptions | None = None,
) -> dict[str, bytes]:
    """The templates, with the verdict on every sheet, corrected for a `printer` that does not print true.

    `choices` are what else may be chosen about them. As DXF there is each sheet, and one drawing with all
    templates whole.

    Raises:
        ProblemsError: the car would take more sheets than anyone would glue.
    """
    from bodyshop.output.papers.templates import TemplateOptions, template_set, templates_drawing
    from bodyshop.output.words.papers import stamp_of

    car, stamp = checked.opened.car, stamp_of(checked.judgement)
    stem = file_stem(checked.opened.design)
    options = replace(choices or TemplateOptions(), date=date, owner=owner, printer=printer)
    drawn = template_set(car, stamp, sheet, options)
    files = drawn.files(f"{stem}-templates", formats)
    if "dxf" in formats:
        files[f"{stem}-templates.dxf"] = templates_drawing(car, stamp, options)
    return files
