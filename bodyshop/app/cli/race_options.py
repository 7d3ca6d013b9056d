"""What both `race predict` and `race change` are told: lane, air, cartridge, and what was measured."""

from __future__ import annotations

import argparse
import math
import re
from typing import Final

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.options import add_design, add_division, add_json, add_rulebook
from bodyshop.app.cli.papers import checked_design
from bodyshop.app.cli.parser import Parser, UsageError
from bodyshop.output.terminal.problems import problems_report
from bodyshop.physics.factors import Factor
from bodyshop.records.findings.forecast import Forecast, forecast_from_book, make_forecast
from bodyshop.records.findings.request import ForecastRequest

__all__ = ["add_race", "forecast_for"]

_FIGURE: Final = re.compile(r"\s*([0-9.+eE-]+?)\s*(?:(?:±|\+/-|\+-)\s*([0-9.eE-]+))?\s*")
_METRES: Final = re.compile(r"\s*([0-9.]+)\s*(m|ft)?\s*")
_FOOT_M: Final = 0.3048
_GIVEN: Final = (
    ("--mass", Factor.MASS, "G", "the car's mass without cartridge, weighed, g"),
    ("--drag", Factor.DRAG, "CM2", "its drag area from a tunnel, cm²"),
    ("--rolling", Factor.ROLLING, "N", "rolling friction over weight from a roll test"),
    ("--line", Factor.LINE, "N", "drag of the guide line, N"),
    ("--hole", Factor.HOLE, "MM", "diameter of the puncture, mm"),
    ("--charge", Factor.CHARGE, "G", "gas in the cartridge, g: weighed before less weighed empty"),
    ("--cartridge-temperature", Factor.TEMPERATURE, "C", "temperature of the cartridge, °C"),
)


def add_race(parser: Parser) -> None:
    """DESIGN and everything that a race depends on."""
    add_design(parser)
    add_rulebook(parser)
    add_division(parser)
    parser.add_argument(
        "--book",
        metavar="FILE",
        default="",
        help="a trial book: what it holds of the car, its runs and its event takes the place of estimates",
    )
    parser.add_argument(
        "--car", metavar="NAME", default="", help="the car's name in the book (default: the design's)"
    )
    parser.add_argument(
        "--lane-length",
        metavar="M",
        type=_metres,
        default=None,
        help="length of the lane in m, or as 45ft (default: the book's event, the rulebook, else 20)",
    )
    parser.add_argument(
        "--gates",
        metavar="M,M",
        type=_gates,
        default=None,
        help="where to tell time and speed as well, such as 5,10 (default: the book's gates, else 5,10)",
    )
    parser.add_argument("--temperature", metavar="C", type=_number, default=None, help="of the air, °C")
    parser.add_argument("--pressure", metavar="HPA", type=_number, default=None, help="of the air, hPa")
    parser.add_argument(
        "--humidity", metavar="PERCENT", type=_number, default=None, help="of the air, relative, %%"
    )
    for option, factor, metavar, words in _GIVEN:
        parser.add_argument(option, dest=factor.name, metavar=metavar, type=_figure, default=None, help=words)
    parser.add_argument(
        "--impulse",
        metavar="NS",
        type=_figure,
        default=None,
        help="impulse of the class's cartridges, N s, as fitted to its runs. A figure may say how sure it "
        "is: 1.70±0.04 holds 19 in 20",
    )
    parser.add_argument(
        "--thrust",
        metavar="FILE",
        default="",
        help="a measured thrust curve instead of the computed one: CSV with the columns time_s and force_n",
    )
    add_json(parser)


def forecast_for(options: argparse.Namespace, console: Console) -> Forecast:
    """The race asked for; doubts are told.

    Raises:
        ProblemsError: something cannot be read, cannot be, or cannot run.
    """
    if options.car and not options.book:
        raise UsageError("bodyshop race", "--car names a car of a book; name the book with --book")
    checked = checked_design(options, console)
    given = {
        factor: getattr(options, factor.name)
        for _, factor, _, _ in _GIVEN
        if getattr(options, factor.name) is not None
    }
    asked = ForecastRequest(
        lane_m=options.lane_length,
        gates_m=options.gates,
        temperature_c=options.temperature,
        pressure_hpa=options.pressure,
        humidity=None if options.humidity is None else options.humidity / 100.0,
        given=given,
        impulse_ns=options.impulse,
        thrust=options.thrust,
    )
    if options.book:
        from bodyshop.records.book.book import Book

        with Book.open(options.book) as book:
            forecast = forecast_from_book(checked, asked, book, options.car)
    else:
        forecast = make_forecast(checked, asked)
    if forecast.doubts:
        console.complain(problems_report(forecast.doubts, width=console.width, ink=console.err_ink))
    return forecast


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f'"{text}" is not a number')
    return value


def _figure(text: str) -> tuple[float, float]:
    """A value, and the half-width that holds 19 in 20, where it is told."""
    match = _FIGURE.fullmatch(text)
    if match is None:
        raise argparse.ArgumentTypeError(f'"{text}" is not a figure; write it as 62.4, or as 62.4±0.2')
    half = _number(match[2]) if match[2] else 0.0
    if half < 0.0:
        raise argparse.ArgumentTypeError(f'"{text}" is less than nothing wide')
    return _number(match[1]), half


def _metres(text: str) -> float:
    match = _METRES.fullmatch(text.casefold())
    if match is None:
        raise argparse.ArgumentTypeError(f'"{text}" is not a length; write it as 20, or as 45ft')
    return _number(match[1]) * (_FOOT_M if match[2] == "ft" else 1.0)


def _gates(text: str) -> tuple[float, ...]:
    return tuple(_metres(part) for part in text.split(",") if part.strip())
