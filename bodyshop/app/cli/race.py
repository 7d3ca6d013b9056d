"""`bodyshop race`: a race before it is run, from one design or from a trial book."""

from __future__ import annotations

import argparse
import math
import re
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import Verbs, verb
from bodyshop.app.cli.arguments import (
    DATE,
    DESIGN,
    DIVISION,
    JSON,
    OWNER,
    PRESSURE,
    RULEBOOK,
    TEMPERATURE,
    above_nothing,
    book_file,
    design_file,
    flag,
    operand,
    option,
    sheet,
    within,
)
from bodyshop.app.cli.console import Console, answer
from bodyshop.app.cli.parser import UsageError
from bodyshop.app.cli.trial_common import open_book
from bodyshop.physics.factors import Factor

if TYPE_CHECKING:
    from bodyshop.records.findings.forecast import Forecast

__all__ = ["race"]

_FIGURE: Final = re.compile(r"\s*([0-9.+eE-]+?)\s*(?:(?:±|\+/-|\+-)\s*([0-9.eE-]+))?\s*")
_METRES: Final = re.compile(r"\s*([0-9.]+)\s*(m|ft)?\s*")
_FOOT_M: Final = 0.3048


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f'"{text}" is not a number')
    return value


def _figure(text: str) -> tuple[float, float]:
    """A value, and the half-width that holds 95 %, where it is told."""
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


_GIVEN: Final = (
    ("--mass", Factor.MASS, "G", "the car's mass without cartridge, weighed, g"),
    ("--drag", Factor.DRAG, "CM2", "its drag area from a tunnel, cm²"),
    ("--rolling", Factor.ROLLING, "N", "rolling friction over weight from a roll test"),
    ("--line", Factor.LINE, "N", "drag of the guide line, N"),
    ("--hole", Factor.HOLE, "MM", "diameter of the puncture, mm"),
    ("--charge", Factor.CHARGE, "G", "gas in the cartridge, g: weighed before less weighed empty"),
    ("--cartridge-temperature", Factor.TEMPERATURE, "C", "temperature of the cartridge, °C"),
)

_RACE: Final = (
    DESIGN,
    RULEBOOK,
    DIVISION,
    option(
        "--book",
        "FILE",
        "a trial book: what it holds of the car, its runs and its event takes the place of estimates",
    ),
    option("--car", "NAME", "the car's name in the book (default: the design's)"),
    option(
        "--lane-length",
        "M",
        "length of the lane in m, or as 45ft (default: the book's event, the rulebook, else 20)",
        _metres,
    ),
    option(
        "--gates",
        "M,M",
        "where to tell time and speed as well, such as 5,10 (default: the book's gates, else 5,10)",
        _gates,
    ),
    option("--temperature", "C", "of the air, °C", _number),
    option("--pressure", "HPA", "of the air, hPa", _number),
    option("--humidity", "PERCENT", "of the air, relative, %%", _number),
    *(option(name, unit, words, _figure, dest=factor.name) for name, factor, unit, words in _GIVEN),
    option(
        "--impulse",
        "NS",
        "impulse of the class's cartridges, N s, as fitted to its runs. A figure may say how sure it "
        "is: 1.70±0.04 holds 95 %% of cases",
        _figure,
    ),
    option(
        "--thrust",
        "FILE",
        "a measured thrust curve instead of the computed one: CSV with the columns time_s and force_n",
    ),
    JSON,
)
"""Everything that a design's race depends on: lane, air, cartridge, and what was measured."""


def _forecast(options: argparse.Namespace, console: Console) -> Forecast:
    """The race asked for; doubts are told.

    Raises:
        ProblemsError: something cannot be read, cannot be, or cannot run.
    """
    from bodyshop.app.cli.papers import checked_design
    from bodyshop.records.findings.forecast import forecast_from_book, make_forecast
    from bodyshop.records.findings.request import ForecastRequest

    if options.car and not options.book:
        raise UsageError("bodyshop race", "--car names a car of a book; name the book with --book")
    checked = checked_design(options, console)
    given = {factor: getattr(options, factor.name) for _, factor, _, _ in _GIVEN}
    asked = ForecastRequest(
        lane_m=options.lane_length,
        gates_m=options.gates,
        temperature_c=options.temperature,
        pressure_hpa=options.pressure,
        humidity=None if options.humidity is None else options.humidity / 100.0,
        given={factor: figure for factor, figure in given.items() if figure is not None},
        impulse_ns=options.impulse,
        thrust=options.thrust,
    )
    if options.book:
        from bodyshop.records.book.book import Book

        with Book.open(options.book) as book:
            forecast = forecast_from_book(checked, asked, book, options.car)
    else:
        forecast = make_forecast(checked, asked)
    console.warn(forecast.doubts)
    return forecast


@verb(
    "predict",
    "time, top speed and speed at the line of a design, each as an interval",
    "Predict a design's race: its time, its speeds and the times at gates, from mass, drag area, "
    "friction, wheels, guide line, air and cartridge, each with its 95 % range; "
    "and say why the range is wide.",
    *_RACE,
)
def _predict(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.json.forecast import predict_data
    from bodyshop.output.terminal.forecast import predict_page

    forecast = _forecast(options, console)
    answer(console, options, lambda: predict_data(forecast), partial(predict_page, forecast))


@verb(
    "change",
    "what a gram, a tenth of the drag or another number would change",
    "Tell what each change is worth to this car, ranked; try other numbers of the design (--set) and "
    "other woods (--wood) without writing anything; draw it as a sheet.",
    *_RACE,
    option(
        "--set",
        "KEY=VALUE",
        "try another number of the design, such as bore.height=26; may be given several times, and all "
        "are tried together",
        action="append",
        default=[],
    ),
    option(
        "--wood",
        "NAME",
        "the same design in another wood, such as balsa; may be given several times",
        action="append",
        default=[],
    ),
    option("--pdf", "FILE", "write it as a sheet, PDF", Path),
    option("--svg", "FILE", "write it as a sheet, SVG", Path),
    sheet(),
    DATE,
    OWNER,
)
def _change(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.app.cli.papers import date_of, sheet_for
    from bodyshop.app.cli.targets import refuse_foreign
    from bodyshop.foundation.files.safe_writing import write_file
    from bodyshop.output.json.forecast import change_data
    from bodyshop.output.papers.forecast import change_pdf, change_svg
    from bodyshop.output.terminal.forecast import change_page
    from bodyshop.physics.what_if import read_setting
    from bodyshop.records.findings.forecast import advise
    from bodyshop.rules.checking import RulebookCache

    settings = [read_setting(text) for text in options.set]
    for path, mark in ((options.pdf, b"%PDF-"), (options.svg, b"<svg")):
        if path is not None:
            refuse_foreign(path, mark, b"what to change")
    forecast = _forecast(options, console)
    shelf = RulebookCache(options.rulebook, options.division)
    advice = advise(forecast, shelf, settings, options.wood)
    answer(console, options, lambda: change_data(advice), partial(change_page, advice))
    drawn = advice, sheet_for(options, forecast.checked.opened), date_of(options), options.owner
    if options.pdf is not None:
        write_file(options.pdf, change_pdf(*drawn))
        console.complain(f"Written: {options.pdf}\n")
    if options.svg is not None:
        write_file(options.svg, change_svg(*drawn).encode())
        console.complain(f"Written: {options.svg}\n")


@verb(
    "drag",
    "what each part of a design costs in drag, before any test",
    "Build a design's drag area up before any test, part by part, from published coefficients: what each "
    "part costs, between which ends its coefficient lies, and where that comes from.",
    DESIGN,
    RULEBOOK,
    option("--speed", "M_S", "m/s (default: 16)", above_nothing("speed")),
    TEMPERATURE,
    PRESSURE,
    JSON,
)
def _drag(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.json.findings import drag_data
    from bodyshop.output.terminal.findings import drag_text
    from bodyshop.physics.air import air_of_the_day
    from bodyshop.physics.drag import RACE_SPEED_M_S
    from bodyshop.rules.checking import open_car

    car = open_car(design_file(options.design, console), options.rulebook or None).car
    told = car, air_of_the_day(options.temperature, options.pressure), options.speed or RACE_SPEED_M_S
    answer(console, options, lambda: drag_data(*told), partial(drag_text, *told))


@verb(
    "freeze",
    "put predictions of a trial book's cars into the book, before the race",
    "Predict the race of cars of a trial book, from their designs and what was measured of them, and put "
    "the predictions into the book with all they were made from. They are never changed after, so that a "
    "race can be held against them.",
    operand("cars", "CAR", "cars of the book (default: all)", nargs="*"),
    option("--lane-length", "M", "length of the lane, m (default: the event's)", above_nothing("length")),
    TEMPERATURE,
    PRESSURE,
    option("--cartridge-temperature", "C", "of the cartridges, °C", within("temperature", -50, 30)),
    option("--by", "TEXT", "who predicts: a bench, initials"),
    option("--note", "TEXT", "anything else that matters"),
    JSON,
    book_file(),
)
def _freeze(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.foundation.problems import ProblemsError
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
    answer(console, options, lambda: frozen_data(frozen), partial(frozen_text, frozen))


@verb(
    "compare",
    "hold frozen predictions against the times",
    "Hold the predictions that were frozen before the race against the times that were run: the error, "
    "whether the order was right and how likely luck alone gets it so right, and how many lie inside the "
    "interval.",
    JSON,
    book_file(),
)
def _compare(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.json.findings import comparison_data
    from bodyshop.output.terminal.findings import comparison_text
    from bodyshop.records.findings.prediction_check import compare_book

    with open_book(options.book, console) as book:
        found = compare_book(book)
    if found is not None:
        answer(console, options, lambda: comparison_data(found), partial(comparison_text, found))
    elif options.json:
        console.write_json(comparison_data(None))
    else:
        console.tell(
            "There is nothing to compare yet: it takes predictions frozen before the race (bodyshop race "
            "freeze) and timed runs after it.",
            rest="  ",
        )


@verb(
    "fit",
    "what the class's runs tell of its cartridges",
    "Fit the impulse of the class's cartridges to its timed runs, and the puncture where a gate stands, "
    "with their uncertainty and how far they are tied together; drag, friction and masses stay as they "
    "were known. The fit is kept in the book, and later predictions with that book use it.",
    flag("--dry", "do not keep the fit in the book"),
    JSON,
    book_file(),
)
def _fit(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.json.findings import fit_data
    from bodyshop.output.terminal.findings import fit_text
    from bodyshop.records.findings.classruns import fit_book, store_fit

    with open_book(options.book, console) as book:
        fit = fit_book(book)
        stored = None if options.dry else store_fit(book, fit).id
    answer(console, options, lambda: fit_data(fit, stored), partial(fit_text, fit, stored=stored))


race = Verbs(_predict, _change, _drag, _freeze, _compare, _fit)
