"""`bodyshop templates`: paper templates at full size."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.drawn import add_choices, choices_of
from bodyshop.app.cli.options import add_calibrate, add_design, add_division, add_out, add_rulebook, add_sheet
from bodyshop.app.cli.papers import (
    add_title,
    checked_design,
    date_of,
    folder_for,
    printer_for,
    sheet_for,
    tell_lettering,
    tell_written,
)
from bodyshop.app.cli.parser import Parser, some_of
from bodyshop.output.bundle import (
    FORMATS,
    BundlePart,
    OtherFormats,
    file_stem,
    template_files,
    verdict_word,
    write_parts,
)
from bodyshop.output.words.verdict import headline

__all__ = ["PRINTING", "configure", "run"]

_USUAL = ("pdf", "svg")
PRINTING = "Print at actual size (100 %), then measure the check bars before you cut."


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    add_sheet(parser, free=True)
    add_calibrate(parser)
    parser.add_argument(
        "--format",
        metavar="LIST",
        type=some_of(FORMATS, 'templates are not drawn as "{}"', "no format is named"),
        default=_USUAL,
        help="pdf, svg, dxf or some of them, such as pdf,dxf (default: pdf,svg)",
    )
    add_choices(parser)
    add_out(parser)
    add_rulebook(parser)
    add_division(parser)
    add_title(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Draw and write the templates."""
    checked = checked_design(options, console)
    tell_lettering(options, checked.opened, console)
    stem = file_stem(checked.opened.design)
    sheet, printer = sheet_for(options, checked.opened), printer_for(options, checked.opened)
    choices = choices_of(options, checked.opened)
    known = [f"{stem}-templates.{kind}" for kind in ("pdf", "dxf") if kind in options.format]
    folder = folder_for(options, checked.opened, known)
    with Progress(console, 1) as progress:
        progress.step(f"drawing the templates on {sheet.name}")
        files = template_files(
            checked,
            sheet,
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
