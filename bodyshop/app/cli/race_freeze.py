"""`bodyshop race freeze`: predictions put into the book before the race, never changed after."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import above_nothing, add_json, within
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, open_book

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    parser.add_argument("cars", metavar="CAR", nargs="*", help="cars of the book (default: all)")
    parser.add_argument(
        "--lane-length",
        metavar="M",
        type=above_nothing("length"),
        default=None,
        help="length of the lane, m (default: the event's)",
    )
    parser.add_argument(
        "--temperature", metavar="C", type=within("temperature", -50, 60), default=None, help="of the air, °C"
    )
    parser.add_argument(
        "--pressure", metavar="HPA", type=within("pressure", 300, 1200), default=None, help="of the air, hPa"
    )
    parser.add_argument(
        "--cartridge-temperature",
        metavar="C",
        type=within("temperature", -50, 30),
        default=None,
        help="of the cartridges, °C",
    )
    parser.add_argument("--by", metavar="TEXT", default="", help="who predicts: a bench, initials")
    parser.add_argument("--note", metavar="TEXT", default="", help="anything else that matters")
    add_json(parser)
    add_book(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Predict, keep, and tell it."""
    from bodyshop.foundation.problems import ProblemsError
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.findings import frozen_data
    from bodyshop.output.terminal.findings import frozen_text
    from bodyshop.physics.air import air_of_the_day
    from bodyshop.physics.cartridge import check_temperature
    from bodyshop.physics.model import Basis, Estimate, Law
    from bodyshop.records.findings.prediction_check import freeze
    from bodyshop.records.findings.setups import RaceConditions, lane_of

    warmth = options.cartridge_temperature
    if warmth is not None and (problem := check_temperature(warmth)) is not None:
        raise ProblemsError([problem])
    with open_book(options.book, console) as book:
        conditions = RaceConditions(
            lane_of(book, options.lane_length),
            air_of_the_day(options.temperature, options.pressure),
            None if warmth is None else Estimate(warmth, 0.5, "as given", Basis.MEASURED, Law.PLAIN),
        )
        frozen = freeze(book, conditions, options.cars, by=options.by, note=options.note)
    if options.json:
        console.write(json_text(frozen_data(frozen)))
    else:
        console.write(frozen_text(frozen, width=console.width, ink=console.ink))
    return Exit.PASSES
