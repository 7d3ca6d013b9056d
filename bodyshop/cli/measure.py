"""`bodyshop measure`: everything that can be measured on a design."""

from __future__ import annotations

import argparse

from bodyshop.checking import check_car, open_car
from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.options import add_design, add_json, design_file
from bodyshop.cli.parser import Parser
from bodyshop.report.problems_report import problems_report

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    add_json(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the measures."""
    checked = check_car(open_car(design_file(options.design, console)))
    if options.json:
        from bodyshop.report.json_report import measure_json

        console.write(measure_json(checked))
        return Exit.PASSES
    from bodyshop.report.measure_table import measure_table

    console.complain(problems_report(checked.opened.warnings, width=console.width, ink=console.err_ink))
    console.write(measure_table(checked, width=console.width, ink=console.ink))
    return Exit.PASSES
