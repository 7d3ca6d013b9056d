"""The figures of a race in words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from bodyshop.foundation.units import MassUnit
from bodyshop.foundation.units.distances import lane_words
from bodyshop.output.words.figures import figure, places_for, range_words, rounded
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import Interval
from bodyshop.physics.prediction import Cause, Difference, Prediction
from bodyshop.records.findings.forecast import WoodTry
from bodyshop.records.findings.model import scaled
from bodyshop.rules.rulebook import Judgement, probably_text

__all__ = [
    "CHARGE_NOTE",
    "FORMULA",
    "NARROWED_BY",
    "NO_PROMISE",
    "STOPS",
    "TEMPERATURE_NOTE",
    "UNIT_WORDS",
    "cause_label",
    "gain_words",
    "headline",
    "factor_figure",
    "mass_words",
    "millis",
    "millis_range",
    "seconds",
    "time_words",
    "unit_of",
    "verdict_words",
    "wood_change",
]

UNIT_WORDS: Final[Mapping[str, str]] = {
    "cm2": "cm²",
    "cm3": "cm³",
    "kg/m3": "kg/m³",
    "degC": "°C",
}
"""Units as people read them; all others are written as they are."""

FORMULA: Final = (
    "Worked out from (m + sum of I/r²) dv/dt = F − ½ rho CdA v² − mu m g − line, with the mass falling as "
    "gas leaves (textbook mechanics)."
)
NO_PROMISE: Final = (
    "A prediction from a model and from figures that are only partly known: the race has the last word."
)
_NOTHING_S: Final = 5e-5
STOPS: Final = "it stops before the line"
TEMPERATURE_NOTE: Final = (
    "A few degrees between two cartridges may outweigh a good sanding: keep all of them in one "
    "place, write their temperature down, and never warm one."
)
CHARGE_NOTE: Final = "Weigh each cartridge before and after: how much gas it held is part of the luck."

NARROWED_BY: Final[Mapping[Factor, str]] = {
    Factor.MASS: "weigh the finished car (--mass)",
    Factor.SHELL: "weigh an empty cartridge",
    Factor.CHARGE: "weigh cartridges before and after",
    Factor.INERTIA: "weigh the wheels; look where their mass sits",
    Factor.DRAG: "a reading in the tunnel (--drag)",
    Factor.ROLLING: "a roll test (--rolling)",
    Factor.LINE: "a roll test on the line",
    Factor.AIR: "read thermometer and barometer",
    Factor.TEMPERATURE: "read it (--cartridge-temperature)",
    Factor.VOLUME: "fill an empty cartridge with water and weigh it",
    Factor.HOLE: "runs with a gate, or a gauge (--hole)",
    Factor.IMPULSE: "runs of the class (--impulse, --thrust)",
    Factor.REST: "only many test runs",
}


def unit_of(factor: Factor) -> str:
    """The unit of a factor as people read it."""
    return UNIT_WORDS.get(factor.unit, factor.unit)


def mass_words(held: Interval, unit: MassUnit) -> str:
    """A mass (g) in the unit of the rulebook: `123 g (101 to 144)`, `4.3 oz (3.6 to 5.1)`."""
    return figure(scaled(held, 1.0 / unit.g), unit.symbol)


def factor_figure(factor: Factor, setup: Setup, unit: MassUnit) -> str:
    """What a factor is used; a mass in the unit of the rulebook."""
    given = setup.figure(factor)
    held, symbol = scaled(given.interval(), factor.scale), unit_of(factor)
    if factor.unit == MassUnit.G.symbol:
        held, symbol = scaled(held, 1.0 / unit.g), unit.symbol
    if given.sd:
        return figure(held, symbol).strip()
    return f"{rounded(held.value, places_for(0.0, held.value))} {symbol}".strip()


def time_words(held: Interval) -> str:
    """`2.15 s; 95 % of races between 1.80 and 2.67 s`."""
    if not math.isfinite(held.value):
        return STOPS
    places = _places(held)
    if not math.isfinite(held.high):
        return f"{rounded(held.value, places)} s; 95 % of races take {rounded(held.low, places)} s or more"
    low, high = rounded(held.low, places), rounded(held.high, places)
    return f"{rounded(held.value, places)} s; 95 % of races between {low} and {high} s"


def _places(held: Interval) -> int:
    width = 0.5 * (held.high - held.low)
    return max(2, min(places_for(width if math.isfinite(width) else 0.0, held.value), 3))


def seconds(held: Interval) -> str:
    """`2.15 s (1.80 to 2.67)`: two decimals at least, as timers show."""
    if not math.isfinite(held.value):
        return STOPS
    places = _places(held)
    return f"{rounded(held.value, places)} s ({range_words(held, places)})"


def headline(name: str, prediction: Prediction) -> str:
    """One sentence."""
    lane = lane_words(prediction.setup.lane.length_m)
    if not math.isfinite(prediction.finish.value):
        reached = prediction.reached
        return f"{name} over {lane}: {STOPS}, after {rounded(reached.value, 1)} m."
    return f"{name} over {lane}: {time_words(prediction.finish)}."


def millis(seconds: float) -> str:
    """`−12.1 ms`, with one digit behind the point below 20 ms."""
    ms = 1000.0 * seconds
    places = 1 if abs(ms) < 19.95 else 0
    text = rounded(abs(ms), places)
    if not float(text):
        return f"{text} ms"
    return f"{'−' if ms < 0 else '+'}{text} ms"


def millis_range(held: Interval) -> str:
    """`−16 to −11 ms`."""
    return f"{millis(held.low).removesuffix(' ms')} to {millis(held.high)}"


def wood_change(tried: WoodTry) -> str:
    """`−823 ms (−1020 to −690 ms)`."""
    held = tried.difference.seconds
    if tried.own:
        return "its own wood"
    if not (math.isfinite(held.value) and math.isfinite(held.low) and math.isfinite(held.high)):
        return "one of the two stops short"
    return f"{millis(held.value)} ({millis_range(held)})"


def gain_words(difference: Difference) -> str:
    """`faster by 53 ms (41 to 70); faster in 98 % of draws`."""
    held = difference.seconds
    if not math.isfinite(held.value) or not math.isfinite(held.low) or not math.isfinite(held.high):
        return "one of the two stops before the line, so there is no difference to tell"
    if max(abs(held.value), abs(held.low), abs(held.high)) < _NOTHING_S:
        return "no difference that a timer would show"
    word = "faster" if held.value < 0 else "slower"
    one_sided = held.low * held.high > 0
    share = difference.faster if held.value < 0 else 1.0 - difference.faster
    percent = _percent(share)
    amount = millis(abs(held.value)).lstrip("+")
    if not one_sided:
        return f"{word} by {amount}, 95 % range {millis_range(held)}; {word} in {percent}"
    low, high = (millis(end).lstrip("+") for end in sorted((abs(held.low), abs(held.high))))
    return f"{word} by {amount}, 95 % range {low.removesuffix(' ms')} to {high}; {word} in {percent}"


def _percent(share: float) -> str:
    if share > 0.995:
        return "over 99 % of the draws" if share < 1.0 else "every draw"
    return f"{100.0 * share:.0f} % of the draws"


def cause_label(cause: Cause) -> str:
    """What makes an interval wide."""
    if len(cause.factors) > 1:
        return "puncture and impulse, as fitted"
    return cause.factors[0].label


def verdict_words(judgement: Judgement) -> str:
    """What the rulebook says of a changed car."""
    failed = ", ".join(verdict.rule.clause for verdict in judgement.failed)
    if failed:
        return f"By its rulebook it does not pass: {failed}."
    if judgement.probably_broken:
        return f"By its rulebook it is {probably_text(judgement.probably_broken)}."
    close = [verdict.rule.clause for verdict in judgement.too_close]
    if close:
        are = "is" if len(close) == 1 else "are"
        return f"By its rulebook it passes, but {', '.join(close)} {are} too close to tell."
    return "By its rulebook it passes."
