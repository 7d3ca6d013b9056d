"""`bodyshop class`: every design of a folder judged, and the class summed up."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final, Self

from bodyshop.classwork import (
    CSV_HEADER,
    GENERATOR,
    CheckOptions,
    ClassReport,
    Found,
    Supplies,
    check_files,
    class_csv,
    class_files,
    class_page,
    class_report,
    class_table,
    supplies,
)
from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.options import add_division, add_json, add_rulebook
from bodyshop.cli.parser import Parser
from bodyshop.cli.progress import Progress
from bodyshop.cli.targets import refuse_foreign
from bodyshop.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.report.columns import printable, wrap
from bodyshop.resources import samples_folder
from bodyshop.source.safewrite import OutputFolder, write_file

__all__ = ["configure", "run"]

_STEM: Final = "class"
_NAMES: Final = (f"{_STEM}.csv", f"{_STEM}.html", f"{_STEM}.json")
_CSV_BEGINS: Final = ("\ufeff" + ",".join(CSV_HEADER[:3])).encode("utf-8")
_LOOKED_AT: Final = 2000

_PATIENCE_S: Final = 1.0
"""Work that takes no longer than this needs no bar."""

_MOST_JOBS: Final = 60
_MOST_RUNS: Final = 1000


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "folder",
        metavar="FOLDER",
        help="a folder with design files in it; folders inside it are looked into, rulebooks left out",
    )
    add_rulebook(parser)
    add_division(parser)
    add_json(parser)
    parser.add_argument("--csv", metavar="FILE", type=_file, help="write a table for spreadsheet programs")
    parser.add_argument("--html", metavar="FILE", type=_file, help="write a page with a drawing of every car")
    parser.add_argument(
        "--out",
        metavar="FOLDER",
        type=_file,
        help=f"write all three into a folder: {', '.join(_NAMES)}",
    )
    parser.add_argument(
        "--runs",
        metavar="N",
        type=_whole("runs", 0, _MOST_RUNS),
        help=f"cartridges for each car in the stock plan (default: {supplies().runs})",
    )
    parser.add_argument(
        "--spare",
        metavar="PERCENT",
        type=_whole("spares", 0, 100),
        help=f"what to get beyond the need (default: {supplies().spare_share * 100:g})",
    )
    parser.add_argument(
        "--jobs",
        metavar="N",
        type=_whole("jobs", 1, _MOST_JOBS),
        help="processes to work with (default: one for each processor, where that is quicker)",
    )


def _file(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError("no file is named")
    return Path(text)


def _whole(what: str, low: int, high: int) -> type[int]:
    def convert(text: str) -> int:
        number = int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else -1
        if not low <= number <= high:
            raise argparse.ArgumentTypeError(f'"{text}" is no number of {what}; say {low} to {high}')
        return number

    return convert  # type: ignore[return-value]  # argparse calls it as it calls a type


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Judge them all; nothing is written before all are judged."""
    folder = _folder(options.folder, console)
    found = class_files(folder)
    _refuse_now(options)
    report = _report(options, console, found)
    code = _exit(report)
    if options.json:
        console.write(_json(report, code))
    else:
        console.write(class_table(report, width=console.width, ink=console.ink))
    return code if _write(options, console, report, code) else Exit.UNREADABLE


def _folder(name: str, console: Console) -> Path:
    """The folder meant: `samples`, where there is none of that name here, is the one that comes along."""
    path = Path(name)
    if name.strip("/\\") == "samples" and not path.exists():
        console.complain("There is no samples here: these are the samples that come with bodyshop.\n")
        return samples_folder()
    if not name.strip() or "\0" in name:
        raise ProblemsError(
            [Problem("file-missing", "no folder is named", expected="a folder with design files in it")]
        )
    return path


def _exit(report: ClassReport) -> Exit:
    if report.unread or report.closed:
        return Exit.UNREADABLE
    if report.failing:
        return Exit.FAILS
    return Exit.UNREADABLE if report.unknown else Exit.PASSES


def _report(options: argparse.Namespace, console: Console, found: Found) -> ClassReport:
    asked = CheckOptions(
        rulebook=options.rulebook,
        division=options.division,
        thumbnails=options.html is not None or options.out is not None,
    )
    with _Watch(console) as watch:
        rows, books = check_files(found.files, asked, jobs=options.jobs, done=watch.done)
    report = class_report(found.folder, rows, books, _figures(options), found.closed)
    if not report.designs and not report.closed:
        raise ProblemsError([_empty(report)])
    return report


def _empty(report: ClassReport) -> Problem:
    left_out = len(report.skipped)
    message = "there is no design in this folder"
    if left_out:
        message += f", only {'a rulebook' if left_out == 1 else f'{left_out} rulebooks'}"
    return Problem(
        "class-empty",
        message,
        file=printable(report.folder),
        expected="design files, whose names end in .toml",
    )


def _figures(options: argparse.Namespace) -> Supplies:
    figures = supplies()
    if options.runs is not None:
        figures = replace(figures, runs=options.runs)
    if options.spare is not None:
        figures = replace(figures, spare_share=options.spare / 100)
    return figures


class _Watch:
    """Shows how far the work has come once it has taken longer than a glance."""

    def __init__(self, console: Console) -> None:
        self._progress = Progress(console, 1, log=False)
        self._begun = time.monotonic()
        self._first: tuple[int, float] | None = None
        self._shown = False

    def __enter__(self) -> Self:
        self._progress.__enter__()
        return self

    def __exit__(self, *_: object) -> None:
        self._progress.__exit__()

    def done(self, count: int, total: int) -> None:
        now = time.monotonic()
        # The first ones took the start of the processes as well: speed is reckoned from there on.
        if self._first is None:
            self._first = (count, now)
        if now - self._begun < _PATIENCE_S:
            return
        if not self._shown:
            self._progress.step("checking")
            self._shown = True
        before, since = self._first
        words = f"{count} of {total}"
        if count > before and count < total:
            words += f", {_seconds((now - since) / (count - before) * (total - count))} left"
        self._progress.within(words, count / total)


def _seconds(seconds: float) -> str:
    if seconds < 100:
        return f"about {max(1, round(seconds))} s"
    return f"about {round(seconds / 60)} min"


# ---------------------------------------------------------------- what is written


def _refuse_now(options: argparse.Namespace) -> None:
    """Refuse what cannot be written before any work is done."""
    asked = [path for path in (options.csv, options.html) if path is not None]
    if len(asked) == 2 and _same(*asked):
        raise WriteRefusedError(str(options.html), "the table and the page cannot be one file")
    for path, begins in ((options.csv, _CSV_BEGINS), (options.html, GENERATOR.encode("ascii"))):
        if path is not None:
            refuse_foreign(path, begins, looked_at=_LOOKED_AT)
    if options.out is not None:
        OutputFolder(options.out).check(_NAMES)


def _same(one: Path, other: Path) -> bool:
    try:
        return one.resolve() == other.resolve()
    except (OSError, RuntimeError, ValueError):
        return False


def _json(report: ClassReport, code: Exit) -> str:
    from bodyshop.classwork.json_file import class_json

    return class_json(report, int(code))


def _write(options: argparse.Namespace, console: Console, report: ClassReport, code: Exit) -> bool:
    """Write what is asked for, each by itself; whether all of it could be."""
    written: list[str] = []
    refused: list[WriteRefusedError] = []
    if options.csv is not None:
        _try(lambda: write_file(options.csv, class_csv(report)), [str(options.csv)], written, refused)
    if options.html is not None:
        page = class_page(report).encode("utf-8")
        _try(lambda: write_file(options.html, page), [str(options.html)], written, refused)
    if options.out is not None:
        from bodyshop.make import write_parts

        files = {
            _NAMES[0]: class_csv(report),
            _NAMES[1]: class_page(report).encode("utf-8"),
            _NAMES[2]: _json(report, code).encode("utf-8"),
        }
        # No part of a design's papers: whatever else we wrote into the folder stays.
        names = [str(options.out / name) for name in _NAMES]
        _try(lambda: write_parts(options.out, _STEM, set(), files), names, written, refused)
    tell = console.complain if options.json else console.write
    if written:
        tell("\n".join(wrap(f"Written: {printable(', '.join(written))}", console.width, "", "  ")) + "\n")
    for error in refused:
        words = f"{printable(error.path)} cannot be written: {printable(error.reason)}"
        console.complain("\n".join(wrap(words, console.width, "", "  ")) + "\n")
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
