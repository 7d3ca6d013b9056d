"""`bodyshop buildsheet`: what to lay ready, cut, drill and weigh, in shop order, as one PDF."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_design, add_division, add_out, add_rulebook, add_sheet
from bodyshop.app.cli.papers import (
    add_title,
    checked_design,
    date_of,
    folder_for,
    sheet_for,
    tell_lettering,
    tell_written,
)
from bodyshop.app.cli.parser import Parser
from bodyshop.output.bundle import file_stem, write_parts
from bodyshop.output.words.verdict import headline

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    add_sheet(parser)
    add_out(parser)
    add_rulebook(parser)
    add_division(parser)
    add_title(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
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
