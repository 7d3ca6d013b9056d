"""What `templates`, `solid` and `make` have in common: opening, and telling what was written."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.options import design_file, read_date
from bodyshop.app.cli.parser import Parser
from bodyshop.drawing.layout.printer import Printer, read_printer
from bodyshop.drawing.sheet.paper import SheetSize, sheet_size
from bodyshop.foundation.files.safe_writing import FolderChanges, OutputFolder
from bodyshop.foundation.text.columns import pad, width_of
from bodyshop.output.bundle import OtherFormats, default_folder, default_sheet, file_stem, refuse_other_design
from bodyshop.output.terminal.problems import problems_report
from bodyshop.rules.checking import Checked, LoadedCar, RulebookCache, check_car, open_car

__all__ = [
    "add_title",
    "checked_design",
    "date_of",
    "folder_for",
    "opened_design",
    "printer_for",
    "sheet_for",
    "tell_lettering",
    "tell_written",
]


def add_title(parser: Parser) -> None:
    """--date and --owner: what the title block says beside the design's own words."""
    parser.add_argument(
        "--date",
        metavar="DATE",
        type=read_date,
        default=None,
        help="the date on the sheets: today, or as 2031-05-14 (default: a line to write it on, so that the "
        "same design makes the same files on any day)",
    )
    parser.add_argument("--owner", metavar="TEXT", default="", type=_owner, help="the school or workshop")


def _owner(text: str) -> str:
    if not text.isprintable() or len(text) > 60:
        raise argparse.ArgumentTypeError("the owner has at most 60 letters that can be printed")
    return text.strip()


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
    if opened.warnings:
        console.complain(problems_report(opened.warnings, width=console.width, ink=console.err_ink))
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
    if told:
        console.complain(problems_report(told, width=console.width, ink=console.err_ink))


def sheet_for(options: argparse.Namespace, opened: LoadedCar) -> SheetSize:
    """The paper asked for, or the usual one."""
    return sheet_size(options.sheet) if options.sheet else default_sheet(opened.design)


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
        numbered = stem.rpartition("-")[2].isdecimal() and kind in {"svg", "dxf"}
        runs.setdefault(f"{stem.rpartition('-')[0]}{dot}{kind}" if numbered else f"{name} alone", []).append(
            name
        )
    return list(runs.values())
