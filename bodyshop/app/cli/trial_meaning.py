"""`bodyshop trial meaning`: what the measurements of a car mean."""

from __future__ import annotations

import argparse
from typing import Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import above_nothing, add_json
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, open_book

__all__ = ["VERBS", "configure", "run"]

VERBS: Final = frozenset(("meaning",))

_MM2_PER_CM2: Final = 100.0


def configure(parser: Parser) -> None:
    """Add the verb."""
    verb = parser.add_verb(
        "meaning",
        "tell what a car's measurements mean",
        "Tell what the measurements of a car mean: drag area, lift against what the axles carry, rolling "
        "friction, mass, times; each with the range that holds it in 19 cases of 20, a sentence, the formula "
        "and its source. Readings that can hardly be true are questioned.",
    )
    verb.add_argument("car", metavar="CAR", help="the car's name in the book")
    verb.add_argument(
        "--design", metavar="DESIGN", default="", help="its design file (default: as the book keeps it)"
    )
    verb.add_argument(
        "--speed",
        metavar="M_S",
        type=above_nothing("speed"),
        default=None,
        help="race speed, m/s (default: the fastest of its gates and its last prediction, else 20)",
    )
    verb.add_argument(
        "--tunnel-section",
        metavar="CM2",
        type=above_nothing("area"),
        default=None,
        help="width times height of a closed tunnel, cm², to allow for how much of it the car fills",
    )
    verb.add_argument("--short", action="store_true", help="leave out readings, notes and formulas")
    add_json(verb)
    add_book(verb)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Find it out, and tell it."""
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.findings import meaning_data
    from bodyshop.output.terminal.findings import meaning_text
    from bodyshop.records.findings.meaning import MeaningOptions, meaning

    section = options.tunnel_section
    asked = MeaningOptions(options.design, options.speed, None if section is None else section * _MM2_PER_CM2)
    with open_book(options.book, console) as book:
        told = meaning(book, options.car, asked)
    if options.json:
        console.write(json_text(meaning_data(told)))
    else:
        console.write(meaning_text(told, width=console.width, ink=console.ink, short=options.short))
    return Exit.PASSES
