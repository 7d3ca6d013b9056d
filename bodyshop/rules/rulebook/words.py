"""Limits, values and a rule's own numbers as short words, the same wherever they are shown."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.units import LengthUnit, MassUnit, format_angle, format_length, format_mass
from bodyshop.rules.rulebook.consequences import Consequences
from bodyshop.rules.rulebook.judge import CarResult, Judgement, LimitSide, Outcome, Verdict
from bodyshop.rules.rulebook.model import BreachEffects, CountedAs, Doubt, Limits, Rounding, Rule, Times
from bodyshop.rules.rulebook.table_reader import RulebookTable

__all__ = [
    "FIELDS",
    "RuleWords",
    "amount_text",
    "barred_text",
    "chance_text",
    "doubt_text",
    "fails_text",
    "limits_text",
    "points_text",
    "probably_text",
    "result_reason",
    "result_text",
    "score_text",
    "value_text",
]


_COUNTED: Final = frozenset((BreachEffects.POINTS_ONCE, BreachEffects.POINTS_PER_UNIT, BreachEffects.BALLAST))
_OUTSIDE_WORDS: Final[Mapping[str, tuple[str, str]]] = {
    "car.mass": ("too light", "too heavy"),
    "car.mass_loaded": ("too light", "too heavy"),
    "car.balance": ("balanced too far forward", "balanced too far back"),
    "car.balance_height": ("balanced too low", "balanced too high"),
}
"""What a car is whose estimate is under, or over, its limits."""
_TAPE: Final = 64
_PLACES: Final = 4
_SAME_IN: Final = 1e-6


def amount_text(value: float, kind: QuantityKind, unit: LengthUnit | MassUnit) -> str:
    """A quantity with its unit: `26 mm`, `1 5/8 in`, `45 g`, `3°`, `2`.

    Inches are a tape fraction where they are one to a hair, else a decimal: a limit is never rounded to
    another number.
    """
    if kind is QuantityKind.MASS:
        return _trimmed(format_mass(value, _PLACES, unit if isinstance(unit, MassUnit) else MassUnit.G))
    if isinstance(unit, MassUnit):
        unit = LengthUnit.MM
    if kind is QuantityKind.LENGTH:
        return _length(value, unit)
    if kind is QuantityKind.ANGLE:
        return _trimmed(format_angle(value, _PLACES))
    if kind is QuantityKind.COUNT:
        return f"{value:g}"
    power = 2 if kind is QuantityKind.AREA else 3
    return f"{value / unit.mm**power:.6g} {unit.symbol}{'²' if power == 2 else '³'}"


def value_text(rule: Rule, value: float) -> str:
    """A measured value of the rule's kind in the rule's unit, with as many decimals as it is read to.

    What a verdict read (`Verdict.read`) is a mark of the tape where the rule is in inches; a raw value is
    told as a decimal.
    """
    if rule.kind is None:
        return ""
    if rule.kind is QuantityKind.LENGTH and rule.unit is not LengthUnit.IN:
        return format_length(value, rule.unit, decimals=_decimals(rule.resolution / rule.unit.mm))
    if rule.kind is QuantityKind.MASS:
        mass = rule.mass_unit
        return format_mass(value, decimals=_decimals(rule.resolution / mass.g), unit=mass)
    if rule.kind is QuantityKind.ANGLE:
        return format_angle(value, decimals=_decimals(math.degrees(rule.resolution)))
    return amount_text(value, rule.kind, rule.shown_unit)


def limits_text(limits: Limits | None, kind: QuantityKind | None, unit: LengthUnit | MassUnit) -> str:
    """Limits in words: `35 to 42 mm`, `at least 3 mm`, `exactly 2`, `0° ± 3°`, `2, 3 or 4`."""
    if limits is None or kind is None:
        return ""
    if limits.one_of:
        words = [amount_text(value, kind, unit) for value in limits.one_of]
        return listed(words, "or")
    if limits.exact is not None and limits.tolerance:
        tolerance = amount_text(limits.tolerance, kind, unit)
        return f"{amount_text(limits.exact, kind, unit)} ± {tolerance}"
    low = None if limits.low is None else amount_text(limits.low, kind, unit)
    high = None if limits.high is None else amount_text(limits.high, kind, unit)
    if low is not None and high is not None:
        return f"exactly {low}" if low == high else f"{_bare(low, high)} to {high}"
    return f"at least {low}" if high is None else f"at most {high}"


def points_text(points: float) -> str:
    """`1 point`, `2.5 points`."""
    return f"{points:g} {'point' if points == 1 else 'points'}"


def score_text(judgement: Judgement) -> str:
    """The sum of the points and what is needed: `97 of 100 points are left (3 points off); at least 90 are
    needed`. Without a score in the book the points taken; empty where there is nothing to add up.
    """
    points, score = judgement.points_off, judgement.rulebook.score
    if score is None or judgement.score is None:
        return f"{points_text(points)} off" if points else ""
    verb = "is" if judgement.score == 1 else "are"
    off = f" ({points_text(points)} off)" if points else ""
    least = f"; at least {score.least:g} are needed" if score.least else ""
    few = ", which is too few" if judgement.score < score.least else ""
    return f"{judgement.score:g} of {points_text(score.full)} {verb} left{off}{least}{few}"


def fails_text(rule: Rule) -> str:
    """What a broken rule costs, before any car is measured: `2 points for each 1/16 in or part of it`."""
    costs = [_cost_text(rule, fails) for fails in rule.consequences]
    wheel = " for each wheel" if rule.times is Times.WHEEL else ""
    each = " for each of them" if rule.together is CountedAs.EACH and rule.several and not wheel else ""
    most = f", {points_text(rule.most_points)} at most" if math.isfinite(rule.most_points) else ""
    shared = [cost for cost, fails in zip(costs, rule.consequences, strict=True) if fails in _COUNTED]
    alone = [cost for cost, fails in zip(costs, rule.consequences, strict=True) if fails not in _COUNTED]
    told = " and ".join(shared) + wheel + each + most if shared else ""
    return ", and ".join(part for part in (told, *alone) if part)


def _cost_text(rule: Rule, fails: BreachEffects) -> str:
    match fails:
        case BreachEffects.POINTS_ONCE:
            return points_text(rule.points)
        case BreachEffects.POINTS_PER_UNIT if rule.kind is not None:
            return f"{points_text(rule.points)} for each {_per_text(rule, rule.kind)}"
        case BreachEffects.BALLAST if rule.ballast and rule.kind is not None:
            unit = rule.mass_unit if rule.kind is QuantityKind.MASS else MassUnit.G
            amount = amount_text(rule.ballast, QuantityKind.MASS, unit)
            return f"{amount} of ballast for each {_per_text(rule, rule.kind)}"
        case BreachEffects.BALLAST:
            return "ballast up to the limit"
        case BreachEffects.NO_AWARD:
            return f"no {rule.award}" if rule.award else "no award"
        case _:
            return str(fails.value)


def _per_text(rule: Rule, kind: QuantityKind) -> str:
    unit = amount_text(rule.per, kind, rule.shown_unit).removeprefix("1 ")
    return {Rounding.UP: f"{unit} or part of it", Rounding.DOWN: f"full {unit}"}.get(rule.rounding, unit)


def doubt_text(doubt: Doubt) -> str:
    """How a reading on the edge is decided, in a clause."""
    reading = "a reading closer to a limit than the instrument can show"
    match doubt:
        case Doubt.OPEN:
            return f"{reading} is too close to tell, and an official decides"
        case Doubt.FOR_THE_CAR:
            return f"{reading} passes"
        case Doubt.FAIL:
            return f"{reading} fails"


def barred_text(awards: Sequence[str]) -> str:
    """`no design prize and no award`; empty where none is barred."""
    return " and ".join(f"no {award or 'award'}" for award in awards)


def chance_text(chance: float) -> str:
    """A chance of 0 to 1 in whole per cent: `about 70 %`, `less than 1 %`. An estimate is no surer."""
    percent = round(100.0 * chance)
    if percent < 1:
        return "less than 1 %"
    return "more than 99 %" if percent > 99 else f"about {percent} %"


def probably_text(verdicts: Sequence[Verdict]) -> str:
    """What a car is by estimates that lie outside: `probably too light`."""
    told = dict.fromkeys(_outside_word(verdict) for verdict in verdicts)
    return f"probably {' and '.join(told)}" if told else ""


def _outside_word(verdict: Verdict) -> str:
    under, over = _OUTSIDE_WORDS.get(verdict.rule.measure, ("", ""))
    return (under if verdict.side is LimitSide.UNDER else over) or f"outside {verdict.rule.clause}"


def result_text(judgement: Judgement) -> str:
    """What all verdicts come to: `legal`, `legal with 4 points off`, `not legal`, `needs an inspector`,
    `probably too light`.

    By a book that only advises: `no advice`, `advice on 2 points`.
    """
    if judgement.rulebook.only_advises:
        close = [v for v in judgement.having(Outcome.TOO_CLOSE) if v.over > 0.0]
        advised = len(judgement.having(Outcome.ADVICE)) + len(close)
        return f"advice on {advised} {'point' if advised == 1 else 'points'}" if advised else "no advice"
    barred = barred_text(judgement.barred)
    match judgement.result:
        case CarResult.LEGAL:
            return f"legal, but {barred}" if barred else "legal"
        case CarResult.POINTS_OFF:
            return f"legal with {points_text(judgement.points_off)} off{f' and {barred}' if barred else ''}"
        case CarResult.NEEDS_INSPECTOR:
            return "needs an inspector"
        case CarResult.PROBABLY_BROKEN:
            return probably_text(judgement.probably_broken)
        case CarResult.NOT_LEGAL:
            return "not legal"


def result_reason(judgement: Judgement) -> str:
    """Why a car is not legal, or what would make it so, in a clause; empty where the result says it all."""
    match judgement.result:
        case CarResult.NOT_LEGAL:
            return _why_not_legal(judgement)
        case CarResult.NEEDS_INSPECTOR:
            unknown = len(judgement.having(Outcome.CANNOT_JUDGE))
            return f"{_rules(unknown, 'could')} not be checked on the drawing"
        case CarResult.PROBABLY_BROKEN:
            return "the estimate is outside a limit, but its range is partly inside: weigh the car"
        case _:
            close = len(judgement.too_close)
            return f"{_rules(close, 'is', 'are')} too close to tell from the drawing" if close else ""


def _rules(count: int, verb: str, verbs: str = "") -> str:
    """`1 rule is`, `3 rules are`."""
    return f"{count} rule {verb}" if count == 1 else f"{count} rules {verbs or verb}"


def _why_not_legal(judgement: Judgement) -> str:
    if judgement.show_only:
        return "it may be shown, not raced"
    grave = [
        v.rule.fails
        for v in judgement.failed
        if v.rule.fails in (BreachEffects.DISQUALIFY, BreachEffects.SHOW_ONLY)
    ]
    if not grave and judgement.ballast_g > 0.0:
        unit = judgement.rulebook.shown_unit(QuantityKind.MASS)
        return f"{amount_text(judgement.ballast_g, QuantityKind.MASS, unit)} of ballast would fix it"
    score = judgement.rulebook.score
    if not grave and score is not None and judgement.score is not None:
        return f"{points_text(judgement.score)} left of {score.full:g}, and {score.least:g} are needed"
    return f"{_rules(len(judgement.failed), 'is', 'are')} broken"


def _bare(low: str, high: str) -> str:
    """The lower limit without its unit where the upper one says it too."""
    number, _, unit = low.rpartition(" ")
    return number if number and high.endswith(f" {unit}") else low


def _length(value: float, unit: LengthUnit) -> str:
    if unit is not LengthUnit.IN:
        return _trimmed(format_length(value, unit, decimals=_PLACES))
    parts = value / unit.mm * _TAPE
    if abs(parts - round(parts)) < _SAME_IN * _TAPE:
        return format_length(value, unit, fraction=_TAPE)
    return _trimmed(format_length(value, unit, decimals=_PLACES))


def _trimmed(text: str) -> str:
    """The quantity without needless zeros after the point."""
    match = re.fullmatch(r"(-?\d+)(?:(\.\d*?)0*)?( ?\D+)", text)
    return text if match is None else match[1] + (match[2] or "").rstrip(".") + match[3]


def _decimals(step: float) -> int:
    """Decimals that show every mark of a step: 1 has none, 0.1 one; two for any finer or odder one."""
    for places in range(2):
        if step > 0.0 and abs(step - round(step, places)) < 1e-9:
            return places
    return 2


FIELDS: Final = (
    *("min", "max", "exact", "tolerance", "count", "one_of", "limits"),
    *("points", "most_points", "ballast", "per", "past", "first"),
)
"""The names that may stand in braces in a rule's sentences."""

_FIELD: Final = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class RuleWords:
    """The numbers of one rule, ready to be put into its sentences."""

    form: RulebookTable
    limits: Limits | None
    kind: QuantityKind | None
    unit: LengthUnit | MassUnit
    costs: Consequences
    past: float
    first: float

    def filled(self, key: str, text: str) -> str:
        """The text with each `{field}` replaced; a field that the rule has no number for is a problem."""
        for name in dict.fromkeys(_FIELD.findall(text)):
            value = self._value(name)
            if value is None:
                self._unknown(key, name)
            else:
                text = text.replace("{" + name + "}", value)
        return text

    def _value(self, name: str) -> str | None:
        cost = self._cost(name)
        if cost:
            return cost
        if self.kind is None or name not in FIELDS:
            return None
        if self.limits is None:
            return ""  # the limit's own problem is told already
        if name in ("limits", "one_of"):
            return limits_text(self.limits, self.kind, self.unit)
        numbers = {
            "min": self.limits.low,
            "max": self.limits.high,
            "exact": self.limits.exact,
            "count": self.limits.exact,
            "tolerance": self.limits.tolerance,
            "per": self.costs.per if self.form.has("per") else None,
            "past": self.past if self.form.has("past") else None,
            "first": self.first or None,
        }
        number = numbers.get(name)
        return None if number is None else amount_text(number, self.kind, self.unit)

    def _cost(self, name: str) -> str:
        """What it costs, as far as the rule says so: empty otherwise."""
        costs = self.costs
        if name == "points" and costs.points:
            return f"{costs.points:g}"
        if name == "most_points" and math.isfinite(costs.most_points):
            return f"{costs.most_points:g}"
        if name == "ballast" and costs.ballast:
            unit = self.unit if isinstance(self.unit, MassUnit) else MassUnit.G
            return amount_text(costs.ballast, QuantityKind.MASS, unit)
        return ""

    def _unknown(self, key: str, name: str) -> None:
        cell = self.form.cell(key)
        if cell is None:
            return
        text = cell.value if isinstance(cell.value, str) else ""
        start = text.find("{" + name + "}")
        self.form.note(
            cell.source.problem(
                cell.path,
                "rulebook-field",
                f"this rule has no {{{name}}} to put here",
                inner=(start, start + len(name) + 2),
                found="{" + name + "}",
                expected="one of " + ", ".join("{" + field + "}" for field in FIELDS),
                nearest="{" + close + "}" if (close := nearest(name, FIELDS)) and close != name else "",
            )
        )
