"""`bodyshop race drag`: what each part of a design costs in drag, before any test."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import above_nothing, add_design, add_json, add_rulebook, design_file, within
from bodyshop.app.cli.parser import Parser

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    add_design(parser)
    add_rulebook(parser)
    parser.add_argument(
        "--speed", metavar="M_S", type=above_nothing("speed"), default=None, help="m/s (default: 16)"
    )
    parser.add_argument(
        "--temperature", metavar="C", type=within("temperature", -50, 60), default=None, help="of the air, °C"
    )
    parser.add_argument(
        "--pressure", metavar="HPA", type=within("pressure", 300, 1200), default=None, help="of the air, hPa"
    )
    add_json(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Build it up, and tell it."""
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.findings import drag_data
    from bodyshop.output.terminal.findings import drag_text
    from bodyshop.physics.air import air_of_the_day
    from bodyshop.physics.drag import RACE_SPEED_M_S
    from bodyshop.rules.checking import open_car

    car = open_car(design_file(options.design, console), options.rulebook or None).car
    air = air_of_the_day(options.temperature, options.pressure)
    speed = options.speed or RACE_SPEED_M_S
    if options.json:
        console.write(json_text(drag_data(car, air, speed)))
    else:
        console.write(drag_text(car, air, speed, width=console.width, ink=console.ink))
    return Exit.PASSES
