"""`bodyshop measure`: everything that can be measured on a design."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_design, add_json, design_file
from bodyshop.app.cli.parser import Parser
from bodyshop.output.terminal.problems import problems_report
from bodyshop.rules.checking import check_car, open_car

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    add_json(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the measures."""
    checked = check_car(open_car(design_file(options.design, console)))
    if options.json:
        from bodyshop.output.json.check import measured_data
        from bodyshop.output.json.document import json_text

        console.write(json_text(measured_data(checked)))
        return Exit.PASSES
    from bodyshop.output.terminal.tables import measure_table

    console.complain(problems_report(checked.opened.warnings, width=console.width, ink=console.err_ink))
    console.write(measure_table(checked, width=console.width, ink=console.ink))
    return Exit.PASSES
