"""`bodyshop race predict`: a race as intervals."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    from bodyshop.app.cli.race_options import add_race

    add_race(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Predict, and tell it."""
    from bodyshop.app.cli.race_options import forecast_for
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.forecast import predict_data
    from bodyshop.output.terminal.forecast import predict_page

    forecast = forecast_for(options, console)
    if options.json:
        console.write(json_text(predict_data(forecast)))
    else:
        console.write(predict_page(forecast, width=console.width, ink=console.ink))
    return Exit.PASSES
