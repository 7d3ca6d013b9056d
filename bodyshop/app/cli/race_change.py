"""`bodyshop race change`: what each change is worth to a car."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_sheet
from bodyshop.app.cli.papers import add_title, date_of, sheet_for
from bodyshop.app.cli.parser import Parser

__all__ = ["configure", "run"]

_SVG_MARK: Final = b"what to change"


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    from bodyshop.app.cli.race_options import add_race

    add_race(parser)
    parser.add_argument(
        "--set",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        help="try another number of the design, such as bore.height=26; may be given several times, and all "
        "are tried together",
    )
    parser.add_argument(
        "--wood",
        metavar="NAME",
        action="append",
        default=[],
        help="the same design in another wood, such as balsa; may be given several times",
    )
    parser.add_argument("--pdf", metavar="FILE", type=Path, default=None, help="write it as a sheet, PDF")
    parser.add_argument("--svg", metavar="FILE", type=Path, default=None, help="write it as a sheet, SVG")
    add_sheet(parser)
    add_title(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Reckon, tell, and draw."""
    from bodyshop.app.cli.race_options import forecast_for
    from bodyshop.app.cli.targets import refuse_foreign
    from bodyshop.foundation.files.safe_writing import write_file
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.forecast import change_data
    from bodyshop.output.papers.forecast import change_pdf, change_svg
    from bodyshop.output.terminal.forecast import change_page
    from bodyshop.physics.what_if import read_setting
    from bodyshop.records.findings.forecast import advise
    from bodyshop.rules.checking import RulebookCache

    settings = [read_setting(text) for text in options.set]
    if options.pdf is not None:
        refuse_foreign(options.pdf, b"%PDF-", b"what to change")
    if options.svg is not None:
        refuse_foreign(options.svg, b"<svg", _SVG_MARK)
    forecast = forecast_for(options, console)
    shelf = RulebookCache(options.rulebook, options.division)
    advice = advise(forecast, shelf, settings, options.wood)
    if options.json:
        console.write(json_text(change_data(advice)))
    else:
        console.write(change_page(advice, width=console.width, ink=console.ink))
    sheet, date = sheet_for(options, forecast.checked.opened), date_of(options)
    if options.pdf is not None:
        write_file(options.pdf, change_pdf(advice, sheet, date, options.owner))
        console.complain(f"Written: {options.pdf}\n")
    if options.svg is not None:
        write_file(options.svg, change_svg(advice, sheet, date, options.owner).encode())
        console.complain(f"Written: {options.svg}\n")
    return Exit.PASSES
