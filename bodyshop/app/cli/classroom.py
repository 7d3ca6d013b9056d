"""`bodyshop class`: every design of a folder judged, and the class summed up."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import DIVISION, JSON, RULEBOOK, named, option, whole
from bodyshop.app.cli.classes import FOLDER, JOBS, Watch, class_folder, no_design
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.targets import refuse_taken, write_own
from bodyshop.foundation.files.safe_writing import OutputFolder
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.output.html.classroom import class_page
from bodyshop.output.spreadsheet.classroom import class_csv
from bodyshop.output.terminal.classroom import class_table
from bodyshop.records.classroom import (
    CheckOptions,
    ClassFolder,
    ClassReport,
    Supplies,
    check_files,
    class_files,
    class_report,
    supplies,
)

__all__ = ["judge"]

_STEM: Final = "class"
_NAMES: Final = (f"{_STEM}.csv", f"{_STEM}.html", f"{_STEM}.json")


@action(
    FOLDER,
    RULEBOOK,
    DIVISION,
    JSON,
    option("--csv", "FILE", "write a table for spreadsheet programs", named("file")),
    option("--html", "FILE", "write a page with a drawing of every car", named("file")),
    option("--out", "FOLDER", f"write all three into a folder: {', '.join(_NAMES)}", named("file")),
    option(
        "--runs",
        "N",
        f"cartridges for each car in the stock plan (default: {supplies().runs})",
        whole("number of runs", 0, 1000),
    ),
    option(
        "--spare",
        "PERCENT",
        f"what to get beyond the need (default: {supplies().spare_share * 100:g})",
        whole("number of spares", 0, 100),
    ),
    JOBS,
)
def judge(options: argparse.Namespace, console: Console) -> Exit:
    """Judge them all; nothing is written before all are judged."""
    folder = class_folder(options.folder, console)
    found = class_files(folder)
    _refuse_now(options)
    report = _report(options, console, found)
    code = _exit(report)
    if options.json:
        console.write(_json(report, code))
    else:
        console.write(class_table(report, width=console.width, ink=console.ink))
    return code if _write(options, console, report, code) else Exit.UNREADABLE


def _exit(report: ClassReport) -> Exit:
    if report.unread or report.closed:
        return Exit.UNREADABLE
    if report.failing or report.probably_failing:
        return Exit.FAILS
    return Exit.UNREADABLE if report.unknown else Exit.PASSES


def _report(options: argparse.Namespace, console: Console, found: ClassFolder) -> ClassReport:
    asked = CheckOptions(
        rulebook=options.rulebook,
        division=options.division,
        thumbnails=options.html is not None or options.out is not None,
    )
    with Watch(console) as watch:
        rows, books = check_files(found.files, asked, jobs=options.jobs, done=watch.done)
    report = class_report(found.folder, rows, books, _figures(options), found.closed)
    if not report.designs and not report.closed:
        raise no_design(report.folder, len(report.skipped))
    return report


def _figures(options: argparse.Namespace) -> Supplies:
    figures = supplies()
    if options.runs is not None:
        figures = replace(figures, runs=options.runs)
    if options.spare is not None:
        figures = replace(figures, spare_share=options.spare / 100)
    return figures


# ---------------------------------------------------------------- what is written


def _refuse_now(options: argparse.Namespace) -> None:
    """Refuse what cannot be written before any work is done."""
    asked = [path for path in (options.csv, options.html) if path is not None]
    if len(asked) == 2 and _same(*asked):
        raise WriteRefusedError(str(options.html), "the table and the page cannot be one file")
    for path in asked:
        refuse_taken(path)
    if options.out is not None:
        OutputFolder(options.out).check(_NAMES)


def _same(one: Path, other: Path) -> bool:
    try:
        return one.resolve() == other.resolve()
    except (OSError, RuntimeError, ValueError):
        return False


def _json(report: ClassReport, code: Exit) -> str:
    from bodyshop.output.json.classroom import class_data
    from bodyshop.output.json.document import json_text

    return json_text(class_data(report, code))


def _write(options: argparse.Namespace, console: Console, report: ClassReport, code: Exit) -> bool:
    """Write what is asked for, each by itself; whether all of it could be."""
    written: list[str] = []
    refused: list[WriteRefusedError] = []
    if options.csv is not None:
        _try(lambda: write_own(options.csv, class_csv(report)), [str(options.csv)], written, refused)
    if options.html is not None:
        page = class_page(report).encode("utf-8")
        _try(lambda: write_own(options.html, page), [str(options.html)], written, refused)
    if options.out is not None:
        from bodyshop.output.bundle import write_parts

        files = {
            _NAMES[0]: class_csv(report),
            _NAMES[1]: class_page(report).encode("utf-8"),
            _NAMES[2]: _json(report, code).encode("utf-8"),
        }
        # No part of a design's papers: whatever else we wrote into the folder stays.
        names = [str(options.out / name) for name in _NAMES]
        _try(lambda: write_parts(options.out, _STEM, set(), files), names, written, refused)
    if written:
        console.tell(f"Written: {', '.join(written)}", rest="  ", err=options.json)
    for error in refused:
        console.tell(f"{error.path} cannot be written: {error.reason}", rest="  ", err=True)
    return not refused


def _try(
    write: Callable[[], object], names: Sequence[str], written: list[str], refused: list[WriteRefusedError]
) -> None:
    try:
        write()
    except WriteRefusedError as error:
        refused.append(error)
    else:
        written.extend(names)
