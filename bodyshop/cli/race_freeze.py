"""`bodyshop race freeze`: predictions put into the book before the race, never changed after."""

from __future__ import annotations

import argparse

from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.held_options import above_nothing, within
from bodyshop.cli.options import add_json
from bodyshop.cli.parser import Parser
from bodyshop.cli.trial_options import add_book, open_book

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
    from bodyshop.findings.frozen import freeze
    from bodyshop.findings.json_file import frozen_json
    from bodyshop.findings.setups import RaceConditions, lane_of
    from bodyshop.findings.text import frozen_text
    from bodyshop.problems import ProblemsError
    from bodyshop.race.air import air_of_the_day
    from bodyshop.race.cartridge import check_temperature
    from bodyshop.race.model import Basis, Estimate, Law

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
        console.write(frozen_json(frozen))
    else:
        console.write(frozen_text(frozen, width=console.width, ink=console.ink))
    return Exit.PASSES
