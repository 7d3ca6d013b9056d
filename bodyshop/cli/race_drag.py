"""`bodyshop race drag`: what each part of a design costs in drag, before any test."""

from __future__ import annotations

import argparse

from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.held_options import above_nothing, within
from bodyshop.cli.options import add_design, add_json, add_rulebook, design_file
from bodyshop.cli.parser import Parser

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
    from bodyshop.checking import open_car
    from bodyshop.findings.parts import drag_json, drag_text
    from bodyshop.race.air import air_of_the_day
    from bodyshop.race.drag import RACE_SPEED_M_S

    car = open_car(design_file(options.design, console), options.rulebook or None).car
    air = air_of_the_day(options.temperature, options.pressure)
    speed = options.speed or RACE_SPEED_M_S
    if options.json:
        console.write(drag_json(car, air, speed))
    else:
        console.write(drag_text(car, air, speed, width=console.width, ink=console.ink))
    return Exit.PASSES
