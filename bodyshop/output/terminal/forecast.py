"""A predicted race, and what would change it, on a page of the terminal."""

from __future__ import annotations

from typing import Final

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import (
    LEAST_WIDTH,
    MOST_WIDTH,
    PAGE_WIDTH,
    clip,
    printable,
    width_of,
)
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import MassUnit
from bodyshop.foundation.units.distances import lane_words
from bodyshop.output.terminal.page import TerminalPage
from bodyshop.output.words.figures import figure, share
from bodyshop.output.words.forecast import (
    CHARGE_NOTE,
    FORMULA,
    NARROWED_BY,
    NO_PROMISE,
    STOPS,
    TEMPERATURE_NOTE,
    cause_label,
    factor_figure,
    gain_words,
    headline,
    mass_words,
    millis,
    millis_range,
    seconds,
    verdict_words,
    wood_change,
)
from bodyshop.physics.factors import Factor
from bodyshop.physics.model import Basis, Interval
from bodyshop.physics.prediction import Cause
from bodyshop.physics.what_if import Reach, TimeEffect
from bodyshop.records.findings.forecast import Advice, Forecast, WhatIf, WoodTry
from bodyshop.rules.checking import Checked, shown_file

__all__ = ["change_page", "predict_page"]

_LEAST_SHARE: Final = 0.01
_BAR: Final = "#"
_DAY_BAR: Final = "-"


def predict_page(forecast: Forecast, *, width: int = PAGE_WIDTH, ink: TextStyle | None = None) -> str:
    """The whole page, ending in a newline."""
    page = _page(width, ink)
    _head(page, forecast)
    _expect(page, forecast)
    _figures(page, forecast)
    _wide(page, forecast.prediction.causes)
    page.heading("How it is worked out")
    page.say(FORMULA, "  ")
    page.say(f"Thrust: {forecast.prediction.setup.thrust.source}.", "  ")
    count = forecast.prediction.samples
    page.say(f"Intervals: {count} races drawn with every figure inside its spread.", "  ")
    page.say(f"{TEMPERATURE_NOTE} {CHARGE_NOTE}", "  ")
    _cautions(page)
    return page.text()


def change_page(advice: Advice, *, width: int = PAGE_WIDTH, ink: TextStyle | None = None) -> str:
    """The whole page, ending in a newline."""
    page = _page(width, ink)
    _head(page, advice.forecast)
    if advice.what_if is not None:
        _what_if(page, advice.what_if)
    if advice.woods:
        _woods(page, advice.woods, advice.forecast.checked.opened.rulebook.mass_unit)
    _levers(page, advice.effects)
    _cautions(page)
    return page.text()


def _page(width: int, ink: TextStyle | None) -> TerminalPage:
    return TerminalPage(max(LEAST_WIDTH, min(width, MOST_WIDTH)), ink or TextStyle())


def _head(page: TerminalPage, forecast: Forecast) -> None:
    opened = forecast.checked.opened
    design = opened.design
    page.heading(printable(headline(design.name, forecast.prediction)))
    bench = f"{printable(design.bench)}, " if design.bench else ""
    known = "" if forecast.book else " Nothing of this car is measured yet." if _unmeasured(forecast) else ""
    book = f" With what {printable(forecast.book)} holds of it." if forecast.book else ""
    page.say(f"{bench}{printable(shown_file(design.source.name))}.{book}{known} {NO_PROMISE}")
    if not forecast.checked.judgement.passes:
        page.say(_verdict(forecast.checked))


def _unmeasured(forecast: Forecast) -> bool:
    car = forecast.prediction.setup.car
    return not any(
        each.basis in (Basis.MEASURED, Basis.FITTED, Basis.GIVEN)
        for each in (car.mass_g, car.cda_m2, car.rolling)
    )


def _expect(page: TerminalPage, forecast: Forecast) -> None:
    prediction = forecast.prediction
    lane = prediction.setup.lane
    rows: list[tuple[str, Interval, str]] = []
    for gate in prediction.gates:
        rows.append((f"time at {lane_words(gate.at_m)}", gate.time, "s"))
        rows.append((f"speed at {lane_words(gate.at_m)}", gate.speed, "m/s"))
    rows.append((f"time at the line, {lane_words(lane.length_m)}", prediction.finish, "s"))
    rows.append(("speed at the line", prediction.line, "m/s"))
    rows.append(("top speed", prediction.top, "m/s"))
    rows.append(("impulse of the cartridge", prediction.impulse, "N s"))
    page.heading("What to expect, with the 95 % range")
    wide = max(width_of(label) for label, _, _ in rows)
    for label, held, unit in rows:
        page.row((label, _interval_words(held, unit)), (wide,))
    page.say(f"Lane: {forecast.lane_source}.", "  ")
    if prediction.finishing < 1.0:
        page.say(
            f"In {share(1.0 - prediction.finishing)} of the draws the car {STOPS.removeprefix('it ')}.",
            "  ",
        )


def _interval_words(held: Interval, unit: str) -> str:
    return seconds(held) if unit == "s" else figure(held, unit)


def _figures(page: TerminalPage, forecast: Forecast) -> None:
    page.heading("What the prediction uses")
    setup = forecast.prediction.setup
    rows = []
    for factor in Factor:
        if factor is Factor.REST:
            continue
        held = setup.figure(factor)
        words = factor_figure(factor, setup, forecast.checked.opened.rulebook.mass_unit)
        rows.append((factor.label, words, f"{held.basis.value}: {printable(held.source)}"))
    labels = max(width_of(row[0]) for row in rows)
    values = max(width_of(row[1]) for row in rows)
    for row in rows:
        if labels + values + 34 <= page.width:
            page.row(row, (labels, values))
        else:
            page.row(row[:2], (labels,))
            page.say(row[2], "   ")


def _wide(page: TerminalPage, causes: tuple[Cause, ...]) -> None:
    told = [cause for cause in causes if cause.share >= _LEAST_SHARE]
    if not told:
        return
    page.heading("Why the range is wide, and what would narrow it")
    labels = max(width_of(cause_label(cause)) for cause in told)
    room = 12
    for cause in told:
        bar = _BAR * max(1, round(cause.share * room))
        words = NARROWED_BY[cause.factors[-1]]
        page.row(
            (cause_label(cause), f"{100.0 * cause.share:3.0f} %", bar, words),
            (labels, 5, room),
        )


def _levers(page: TerminalPage, effects: tuple[TimeEffect, ...]) -> None:
    if not effects:
        return
    page.heading("What each change is worth to this car, the strongest first")
    labels = max(width_of(effect.lever.action) for effect in effects)
    numbers = [millis(effect.difference.seconds.value) for effect in effects]
    wide = max(width_of(number) for number in numbers)
    ranges = [millis_range(effect.difference.seconds) for effect in effects]
    room = min(24, page.width - labels - wide - max(map(width_of, ranges)) - 10)
    narrow = room < 8
    room = page.width - labels - wide - 6 if narrow else room
    most = max(abs(effect.difference.seconds.value) for effect in effects)
    for effect, number, between in zip(effects, numbers, ranges, strict=True):
        mark = _BAR if effect.lever.reach is Reach.BUILDER else _DAY_BAR
        bar = mark * max(1, round(room * abs(effect.difference.seconds.value) / most))
        cells = (effect.lever.action, " " * (wide - width_of(number)) + number, bar)
        if narrow:
            page.row(cells, (labels, wide))
            page.say(f"({between})", " " * (labels + 3))
        else:
            page.row((*cells, f"({between})"), (labels, wide, room))
    page.say(
        f"{_BAR} things you can change, {_DAY_BAR} things you cannot; minus is faster. In brackets: "
        "the 95 % range. A gram off a tread counts twice: as mass, and as inertia.",
        "  ",
    )
    page.say(TEMPERATURE_NOTE, "  ")


def _what_if(page: TerminalPage, tried: WhatIf) -> None:
    page.heading(printable(f"With {' and '.join(tried.settings)}"))
    page.say(f"{capital(gain_words(tried.difference))}.", "  ")
    page.say(f"Time {seconds(tried.prediction.finish)}.", "  ")
    page.say(_verdict(tried.checked), "  ")
    page.say("Nothing is written: the file is as it was.", "  ")


def _verdict(checked: Checked) -> str:
    return printable(verdict_words(checked.judgement))


def _woods(page: TerminalPage, woods: tuple[WoodTry, ...], unit: MassUnit) -> None:
    page.heading("The same design in another wood")
    labels = max(width_of(printable(each.label)) for each in woods)
    masses = [mass_words(each.mass, unit) for each in woods]
    times = [seconds(each.prediction.finish) for each in woods]
    changes = [wood_change(each) for each in woods]
    sizes = (labels, max(map(width_of, masses)), max(map(width_of, times)))
    roomy = sum(sizes) + max(map(width_of, changes)) + 7 <= page.width
    for each, mass, time, change in zip(woods, masses, times, changes, strict=True):
        if roomy:
            page.row((printable(each.label), mass, time, change), sizes)
        else:
            page.row((clip(printable(each.label), labels), mass), sizes[:1])
            page.say(f"{time}; {change}", " " * (labels + 3))
    page.say(
        "A wood's density is a species' mean with its spread from tree to tree; each blank is drawn for "
        "itself. Whether a wood is strong enough round the cartridge is not looked at here.",
        "  ",
    )


def _cautions(page: TerminalPage) -> None:
    page.heading("Before any car runs")
    for caution in cautions_for(Operation.CARTRIDGE, Operation.RACE):
        page.say(printable(caution.sentence), "  - ", "    ")
