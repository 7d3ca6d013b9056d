"""`bodyshop check --html` and `--pdf`: the report that teaches, into files."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.options import read_date
from bodyshop.app.cli.parser import Parser, UsageError
from bodyshop.app.cli.targets import refuse_foreign
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.foundation.text.columns import printable
from bodyshop.output.words.hints import Hints
from bodyshop.rules.checking import Checked

__all__ = ["add_teaching", "refuse_teaching", "write_teaching"]

_DESIGNS = ".toml"


def add_teaching(parser: Parser) -> None:
    """--html FILE, --pdf FILE, and the date on them."""
    parser.add_argument(
        "--html", metavar="FILE", type=_file, default=None, help="also write the report as one web page"
    )
    parser.add_argument(
        "--pdf", metavar="FILE", type=_file, default=None, help="also write the report on paper, as a PDF"
    )
    parser.add_argument(
        "--date",
        metavar="DATE",
        type=read_date,
        default=None,
        help="the date on the page or paper: today, or as 2031-05-14 (default: today)",
    )


def _file(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError("no file is named")
    if text.casefold().endswith(_DESIGNS):
        raise argparse.ArgumentTypeError(
            f"{printable(text)} is the name of a design or rulebook, not of a report"
        )
    return Path(text)


def refuse_teaching(options: argparse.Namespace, designs: int) -> None:
    """Raises `UsageError` where a file could not hold what is asked for."""
    if designs != 1 and (options.html or options.pdf):
        raise UsageError("bodyshop check", f"--html and --pdf take one design at a time, not {designs}")
    if options.html and options.html == options.pdf:
        raise UsageError("bodyshop check", f"--html and --pdf name the same file, {options.html}")


def write_teaching(
    options: argparse.Namespace, console: Console, checked: Checked, hints: Hints | None
) -> None:
    """Write what was asked for, each file whole or not at all, and say so.

    Raises:
        WriteRefusedError: a file cannot be written.
    """
    if not (options.html or options.pdf):
        return
    from bodyshop.drawing.sheet.paper import sheet_sizes
    from bodyshop.foundation.files.safe_writing import write_file
    from bodyshop.foundation.units import LengthUnit
    from bodyshop.output.html.annotated_report import teaching_html
    from bodyshop.output.papers.annotated_report import teaching_pdf

    on = options.date or datetime.now(tz=UTC).astimezone().date()
    for target in (options.html, options.pdf):
        if target is not None and _is_source(target, checked):
            raise WriteRefusedError(str(target), "the report would write over what it is about")
    if options.html:
        refuse_foreign(options.html, b'name="generator" content="bodyshop"', b"report on the drawing")
    if options.pdf:
        refuse_foreign(options.pdf, b"%PDF-", b"(bodyshop)", b"report on the drawing")
    if options.html:
        write_file(options.html, teaching_html(checked, on, hints).encode("utf-8"))
    if options.pdf:
        inches = checked.opened.design.unit is LengthUnit.IN
        size = sheet_sizes()["letter" if inches else "a4"]
        write_file(options.pdf, teaching_pdf(checked, on, size, hints))
    names = " and ".join(str(target) for target in (options.html, options.pdf) if target)
    # With --json the standard output is for another program.
    tell = console.complain if options.json else console.write
    tell(f"Wrote {printable(names)}\n")


def _is_source(target: Path, checked: Checked) -> bool:
    """Whether a file to be written is the design or a rulebook that was read."""
    opened = checked.opened
    read = (opened.source.name, opened.rulebook.source.name)
    try:
        return any(target.samefile(name) for name in read if is_there(name) and is_there(target))
    except OSError:
        return False
