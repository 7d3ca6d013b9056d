"""`bodyshop templates` and `bodyshop buildsheet`, and what all commands that write files share."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import (
    CALIBRATE,
    DATE,
    DESIGN,
    DIVISION,
    OUT,
    OWNER,
    RULEBOOK,
    Argument,
    design_file,
    flag,
    option,
    sheet,
)
from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.parser import one_of, some_of
from bodyshop.car.stock.blades import blades
from bodyshop.drawing.layout.printer import Printer, read_printer
from bodyshop.drawing.sheet.paper import SheetSize, sheet_size, usual_sheet
from bodyshop.drawing.writers.formats import PAPER_FORMATS
from bodyshop.foundation.files.safe_writing import FolderChanges, OutputFolder
from bodyshop.foundation.text.columns import pad, width_of
from bodyshop.output.bundle import (
    BundlePart,
    OtherFormats,
    default_folder,
    file_stem,
    refuse_other_design,
    template_files,
    verdict_word,
    write_parts,
)
from bodyshop.output.words.verdict import headline
from bodyshop.rules.checking import Checked, LoadedCar, RulebookCache, check_car, open_car

if TYPE_CHECKING:
    from bodyshop.output.papers.templates import TemplateOptions

__all__ = [
    "PRINTING",
    "buildsheet",
    "checked_design",
    "date_of",
    "folder_for",
    "opened_design",
    "printer_for",
    "sheet_for",
    "tell_lettering",
    "tell_written",
    "templates",
]

PRINTING: Final = "Print at actual size (100 %), then measure the check bars before you cut."


def _plan() -> Argument:
    from bodyshop.output.papers.templates.options import PLANS

    return option(
        "--plan",
        "FACE",
        "the face that the plan is laid on: top (of a wedge the sloping one), underside or both "
        "(default: top, both for a wedge)",
        one_of(PLANS, "plan"),
    )


@action(
    DESIGN,
    sheet(free=True),
    CALIBRATE,
    option(
        "--format",
        "LIST",
        "pdf, svg, dxf or some of them, such as pdf,dxf (default: pdf,svg)",
        some_of(tuple(PAPER_FORMATS), 'templates are not drawn as "{}"', "no format is named"),
        default=("pdf", "svg"),
    ),
    option(
        "--blade",
        "NAME",
        "the blade in the saw, to draw relief cuts where an inside curve is tighter than it can follow: "
        f"{', '.join(blades())}",
        one_of(blades(), "blade"),
    ),
    option(
        "--offset",
        "LENGTH",
        "draw a thin line for the saw this far outside the outline, such as 1 or 1/32in; a plain "
        "number is in the design's unit (default: no line)",
        default=None,
    ),
    _plan,
    flag(
        "--gauges",
        "draw card gauges of half the cross-section, to hold against the body while sanding, at the "
        "numbered stations",
    ),
    option(
        "--stations",
        "LIST",
        "draw the gauges at these distances from the nose end of the blank instead, such as 50,120,200",
        default=None,
    ),
    OUT,
    RULEBOOK,
    DIVISION,
    DATE,
    OWNER,
)
def templates(options: argparse.Namespace, console: Console) -> Exit:
    """Draw and write the templates."""
    checked = checked_design(options, console)
    tell_lettering(options, checked.opened, console)
    stem = file_stem(checked.opened.design)
    paper, printer = sheet_for(options, checked.opened), printer_for(options, checked.opened)
    choices = _choices(options, checked.opened)
    known = [f"{stem}-templates.{kind}" for kind in PAPER_FORMATS if kind != "svg" and kind in options.format]
    folder = folder_for(options, checked.opened, known)
    with Progress(console, 1) as progress:
        progress.step(f"drawing the templates on {paper.name}")
        files = template_files(
            checked,
            paper,
            formats=options.format,
            date=date_of(options),
            owner=options.owner,
            printer=printer,
            choices=choices,
        )
        design, stamp = checked.opened.design, verdict_word(checked)
        kept = OtherFormats((design.fingerprint, stamp), options.format)
        done = write_parts(folder, stem, {BundlePart.TEMPLATES}, files, design=design, keep=kept)
    console.write(headline(checked) + "\n")
    notes = {"-templates.dxf": "all templates whole on one drawing, one unit a millimetre"}
    tell_written(console, folder, done, notes, kept)
    console.write(PRINTING + "\n")
    return exit_of(checked)


def _choices(options: argparse.Namespace, opened: LoadedCar) -> TemplateOptions:
    """What was chosen, for one design.

    Raises:
        ProblemsError: an offset or a station is no length, or cannot be.
    """
    from bodyshop.drawing.layout.dimensions import Figures
    from bodyshop.output.papers.templates import TemplateOptions
    from bodyshop.output.papers.templates.gauges import gauge_stations
    from bodyshop.output.papers.templates.options import faces_named, read_offset, read_stations

    design = opened.design
    gauges: tuple[float, ...] = ()
    if options.gauges or options.stations is not None:
        wanted = () if options.stations is None else read_stations(options.stations, design.unit)
        gauges = gauge_stations(opened.car, wanted, Figures(design.unit))
    return TemplateOptions(
        blade=blades()[options.blade] if options.blade else None,
        faces=faces_named(options.plan, design.blank) if options.plan else (),
        offset_mm=0.0 if options.offset is None else read_offset(options.offset, design.unit),
        gauges=gauges,
    )


@action(DESIGN, sheet(), OUT, RULEBOOK, DIVISION, DATE, OWNER)
def buildsheet(options: argparse.Namespace, console: Console) -> Exit:
    """Make and write the build sheet."""
    from bodyshop.output.papers.buildsheet import BuildOptions, build_sheet_pdf

    checked = checked_design(options, console)
    tell_lettering(options, checked.opened, console)
    stem = file_stem(checked.opened.design)
    name = f"{stem}-buildsheet.pdf"
    folder = folder_for(options, checked.opened, [name])
    chosen = BuildOptions(date=date_of(options), owner=options.owner)
    data = build_sheet_pdf(checked, sheet_for(options, checked.opened), chosen)
    done = write_parts(folder, stem, (), {name: data}, design=checked.opened.design)
    console.write(headline(checked) + "\n")
    tell_written(console, folder, done, {})
    return exit_of(checked)


# ---------------------------------------------------------------- for every command that writes


def date_of(options: argparse.Namespace) -> str:
    """The date for the title block; empty for a line to write it on."""
    return options.date.isoformat() if options.date else ""


def opened_design(options: argparse.Namespace, console: Console) -> LoadedCar:
    """The design asked for, its warnings told.

    Raises:
        ProblemsError: it cannot be read.
    """
    shelf = RulebookCache(getattr(options, "rulebook", ""), getattr(options, "division", ""))
    opened = open_car(design_file(options.design, console), shelf=shelf)
    console.warn(opened.warnings)
    return opened


def checked_design(options: argparse.Namespace, console: Console) -> Checked:
    """The design asked for, judged.

    Raises:
        ProblemsError: it cannot be read.
    """
    return check_car(opened_design(options, console))


def tell_lettering(options: argparse.Namespace, opened: LoadedCar, console: Console) -> None:
    """Warn of letters in the names that papers will not have."""
    from bodyshop.output.words.papers import lettering_warnings, words_warning

    told = list(lettering_warnings(opened.design))
    owner = words_warning(options.owner, "the owner")
    told += [owner] if owner is not None else []
    console.warn(told)


def sheet_for(options: argparse.Namespace, opened: LoadedCar) -> SheetSize:
    """The paper asked for, or the usual one."""
    return sheet_size(options.sheet) if options.sheet else usual_sheet(opened.rulebook.unit)


def printer_for(options: argparse.Namespace, opened: LoadedCar) -> Printer | None:
    """The printer that its check bars tell of; None for one that prints true.

    Raises:
        ProblemsError: they cannot measure that.
    """
    if not options.calibrate:
        return None
    x, y = options.calibrate
    return read_printer(x, y, opened.design.unit)


def folder_for(options: argparse.Namespace, opened: LoadedCar, names: list[str]) -> Path:
    """The folder to write into, found to be free for the names that are known before the work begins.

    Raises:
        WriteRefusedError: it is not, or it holds the papers of another car whose file has the same name.
    """
    folder = Path(options.out if options.out is not None else default_folder(opened.design))
    OutputFolder(folder).check(names)
    refuse_other_design(folder, file_stem(opened.design), opened.design)
    return folder


def tell_written(
    console: Console,
    folder: Path,
    done: FolderChanges,
    notes: Mapping[str, str],
    kept: OtherFormats | None = None,
) -> None:
    """Say what a folder now holds. `notes` explain files by the end of their names; `kept` tells of papers
    in formats that were not asked for.
    """
    rows: list[tuple[str, str]] = []
    for names in _runs(sorted((*done.written, *done.unchanged))):
        note = next((note for end, note in notes.items() if names[0].endswith(end)), "")
        same = "as it was" if all(name in done.unchanged for name in names) else ""
        told = names[0] if len(names) == 1 else f"{names[0]} to {names[-1].rpartition('-')[2]}"
        rows.append((told, "; ".join(part for part in (note, same) if part)))
    column = max((width_of(name) for name, _ in rows), default=0)
    lines = [f"In {folder}:", *(f"  {pad(name, column)}  {note}".rstrip() for name, note in rows)]
    stale = [name for name in done.removed if kept is not None and name in kept.stale]
    gone = [name for name in done.removed if name not in stale]
    if kept is not None and kept.names:
        lines.append(f"Left as made before, from the same design: {_kinds(kept.names)}")
    if stale:
        lines.append(f"Taken away, as the design has changed since: {_kinds(stale)}")
    if gone:
        lines.append(f"Taken away, as it is not made any more: {', '.join(gone)}")
    console.write("\n".join(lines) + "\n")


def _kinds(names: list[str]) -> str:
    """One name, or of several what formats they are: `DXF and SVG`."""
    if len(names) == 1:
        return names[0]
    return " and ".join(sorted({name.rpartition(".")[2].upper() for name in names}))


def _runs(names: list[str]) -> list[list[str]]:
    """Names in order, those of numbered sheets in one format together."""
    runs: dict[str, list[str]] = {}
    for name in names:
        stem, dot, kind = name.rpartition(".")
        known = PAPER_FORMATS.get(kind)
        numbered = stem.rpartition("-")[2].isdecimal() and known is not None and not known.whole
        runs.setdefault(f"{stem.rpartition('-')[0]}{dot}{kind}" if numbered else f"{name} alone", []).append(
            name
        )
    return list(runs.values())
