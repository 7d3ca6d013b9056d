"""The files of one car by name, as bytes; nothing is written here.

Every name begins with the stem of the design's file, so that a file sent on alone still tells whose it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.checking import Checked
from bodyshop.design import Design
from bodyshop.drawing.printer import Printer
from bodyshop.lengths import LengthUnit
from bodyshop.source.names import safe_stem
from bodyshop.stock.sheets import SheetSize, sheet_sizes

if TYPE_CHECKING:
    from bodyshop.report.hints import Hints
    from bodyshop.templates import TemplateOptions

__all__ = [
    "FORMATS",
    "OUTPUT_FOLDER",
    "Part",
    "default_folder",
    "default_sheet",
    "file_stem",
    "part_of",
    "report_files",
    "template_files",
    "verdict_word",
]

OUTPUT_FOLDER: Final = "templates_out"
FORMATS: Final = ("pdf", "svg", "dxf")
"""What templates are drawn as."""

_REPORT_WIDTH: Final = 80

Progress = Callable[[str, float], None]


class Part(Enum):
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


def default_sheet(design: Design) -> SheetSize:
    """The paper most printers hold where the design's unit is used."""
    return sheet_sizes()["letter" if design.unit is LengthUnit.IN else "a4"]


def part_of(name: str, stem: str) -> Part | None:
    """Which part of a design's files a name belongs to; None for those of another."""
    if not name.startswith(stem):
        return None
    rest = name.removeprefix(stem)
    if re.fullmatch(r"-templates(-[0-9]+)?\.(pdf|svg|dxf)", rest):
        return Part.TEMPLATES
    if rest in ("-report.txt", "-report.json"):
        return Part.REPORT
    if re.fullmatch(r"(-assembly)?\.(stl|step|3mf)|-jig-[a-z]+\.stl", rest):
        return Part.SOLID
    return None


def report_files(checked: Checked, exit_code: int, hints: Hints | None = None) -> dict[str, bytes]:
    """The report as a person and as a program reads it, with the `hints` that were worked out for it."""
    from bodyshop.report.json_report import check_json, checked_data
    from bodyshop.report.terminal import terminal_report

    stem = file_stem(checked.opened.design)
    text = terminal_report(checked, width=_REPORT_WIDTH, full=True, hints=hints)
    return {
        f"{stem}-report.txt": text.encode("utf-8"),
        f"{stem}-report.json": check_json([checked_data(checked, hints)], exit_code).encode("utf-8"),
    }


def verdict_word(checked: Checked) -> str:
    """The verdict as the papers print it: `FAILS 3 rules`."""
    from bodyshop.drawing.stamp import stamp_of

    return stamp_of(checked.judgement).word


def template_files(
    checked: Checked,
    sheet: SheetSize,
    *,
    formats: Collection[str] = FORMATS,
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
    from bodyshop.templates import TemplateOptions, stamp_of, template_set, templates_drawing

    car, stamp = checked.opened.car, stamp_of(checked.judgement)
    stem = file_stem(checked.opened.design)
    options = replace(choices or TemplateOptions(), date=date, owner=owner, printer=printer)
    drawn = template_set(car, stamp, sheet, options)
    files: dict[str, bytes] = {}
    if "pdf" in formats:
        files[f"{stem}-templates.pdf"] = drawn.pdf()
    if "svg" in formats:
        files.update({f"{stem}-{name}": text.encode("utf-8") for name, text in drawn.svg().items()})
    if "dxf" in formats:
        files[f"{stem}-templates.dxf"] = templates_drawing(car, stamp, options)
        files.update({f"{stem}-{name}": data for name, data in drawn.dxf().items()})
    return files
