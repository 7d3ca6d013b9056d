"""What a broken rule costs: how a rulebook says it, and points and ballast by how far a value is outside."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.values import shown
from bodyshop.rules.rulebook.model import BreachEffects, Limits, Rounding, Rule, Times
from bodyshop.rules.rulebook.quantities import read_step
from bodyshop.rules.rulebook.table_reader import PlacedValue, RulebookTable

__all__ = ["Consequences", "cost_of", "is_of_wheel", "read_consequences"]


_A_TOUCH = 1e-6
"""The least part of a unit that counts as begun: a car that fails within its instrument's step is not zero
outside."""


def cost_of(rule: Rule, over: float, times: int = 1) -> tuple[float, float]:
    """The points taken and the ballast to add (g) for `times` things that are `over` outside, in the unit of
    the rule's kind.

    Ballast without an amount of its own lifts the car to the limit, and does so once.
    """
    points = 0.0
    if BreachEffects.POINTS_ONCE in rule.consequences:
        points = rule.points * times
    elif BreachEffects.POINTS_PER_UNIT in rule.consequences:
        points = rule.points * _units(rule, over) * times
    if BreachEffects.BALLAST not in rule.consequences:
        return points, 0.0
    return points, rule.ballast * _units(rule, over) * times if rule.ballast else over


def _units(rule: Rule, over: float) -> int:
    """Units begun, or full, or nearest, as the rule counts them."""
    units = max(round(over / rule.per, 6), _A_TOUCH)  # three units to a hair are three
    if rule.rounding is Rounding.UP:
        return math.ceil(units)
    return math.floor(units) if rule.rounding is Rounding.DOWN else round(units)


_MOST_POINTS: Final = 1e6
_GRAVEST_FIRST: Final = tuple(BreachEffects)
_POINTS: Final = (BreachEffects.POINTS_PER_UNIT, BreachEffects.POINTS_ONCE)
_ALONE: Final = {
    BreachEffects.DISQUALIFY: "a car that is disqualified loses nothing more",
    BreachEffects.SHOW_ONLY: "a car that is only shown loses nothing more",
    BreachEffects.ADVICE: "advice costs nothing, so nothing stands beside it",
}
"""Consequences that stand alone."""


@dataclass(frozen=True, slots=True)
class Consequences:
    """`fails` is the gravest, `also` the others; the rest as in `Rule`."""

    fails: BreachEffects = BreachEffects.ADVICE
    also: tuple[BreachEffects, ...] = ()
    points: float = 0.0
    per: float = 1.0
    rounding: Rounding = Rounding.UP
    most_points: float = math.inf
    ballast: float = 0.0
    award: str = ""
    times: Times = Times.ONCE


def read_consequences(
    form: RulebookTable, kind: QuantityKind | None, limits: Limits | None, measures: tuple[str, ...]
) -> Consequences:
    """What the table says of a rule with these limits on these measures; every problem is noted."""
    named = _named(form)
    points = _points(form, named, kind)
    ballast = _ballast(form, named, kind, limits)
    per, rounding = _per(form, named, kind, ballast)
    return Consequences(
        fails=named[0],
        also=tuple(named[1:]),
        points=points,
        per=per,
        rounding=rounding,
        most_points=_most_points(form, named, points),
        ballast=ballast,
        award=_award(form, named),
        times=_times(form, named, measures),
    )


def _named(form: RulebookTable) -> list[BreachEffects]:
    """The consequences, the gravest first; advice where none could be read."""
    words = ", ".join(f'"{fails.value}"' for fails in BreachEffects)
    cell = form.require("fails", "a rule", f"what follows: {words}")
    if cell is None or not isinstance(cell.value, list):
        return [form.word("fails", BreachEffects, BreachEffects.ADVICE)]
    found: list[BreachEffects] = []
    for each in form.texts("fails"):
        fails = form.word_of(each, "fails", BreachEffects, BreachEffects.ADVICE)
        if fails.value == each.value:
            found.append(fails)
    _together(form, cell, found)
    return sorted(found, key=_GRAVEST_FIRST.index) or [BreachEffects.ADVICE]


def _together(form: RulebookTable, cell: PlacedValue, found: list[BreachEffects]) -> None:
    """Note consequences that make no sense side by side."""
    alone = next((fails for fails in found if fails in _ALONE), None)
    if alone is not None and len(found) > 1:
        form.note(
            cell.problem(
                "rulebook-fails",
                f'"{alone.value}" stands alone: {_ALONE[alone]}',
                expected=f'fails = "{alone.value}"',
            )
        )
    if all(fails in found for fails in _POINTS):
        form.note(
            cell.problem(
                "rulebook-fails",
                "points once and points per unit cannot both be taken by one rule",
                expected="one of them, or two rules",
            )
        )


def _points(form: RulebookTable, named: list[BreachEffects], kind: QuantityKind | None) -> float:
    taking = next((fails for fails in named if fails in _POINTS), None)
    if taking is None:
        _needless(form, "points", 'fails = "points once" or "points per unit"')
        return 0.0
    form.require("points", f'a rule that fails with "{taking.value}"', "how many points are taken")
    if taking is BreachEffects.POINTS_PER_UNIT and kind is None:
        form.note(
            form.cells["fails"].problem(
                "rulebook-points",
                "nothing is measured here, so there are no units to count",
                expected='fails = "points once"',
            )
        )
    return form.number("points", 0.01, _MOST_POINTS, 1.0)


def _most_points(form: RulebookTable, named: list[BreachEffects], points: float) -> float:
    if not any(fails in _POINTS for fails in named):
        _needless(form, "most_points", "a rule that takes points")
        return math.inf
    cell = form.cell("most_points")
    if cell is None:
        return math.inf
    most = form.number("most_points", 0.01, _MOST_POINTS, math.inf)
    if most < points:
        form.note(
            cell.problem(
                "rulebook-points",
                f"most_points is {most:g}, but a single fault takes {points:g}",
                found=shown(cell.value),
                expected=f"{points:g} or more",
            )
        )
        return math.inf
    return most


def _ballast(
    form: RulebookTable, named: list[BreachEffects], kind: QuantityKind | None, limits: Limits | None
) -> float:
    """Grams of ballast for each `per`; zero where it is ballast up to the limit."""
    cell = form.cell("ballast")
    if BreachEffects.BALLAST not in named:
        _needless(form, "ballast", 'fails = "ballast"')
        return 0.0
    if cell is None:
        if kind is not None and (
            kind is not QuantityKind.MASS or (limits is not None and limits.low is None)
        ):
            form.note(
                form.cells["fails"].problem(
                    "rulebook-ballast",
                    "ballast mends only a mass that is too small",
                    found="ballast",
                    expected='a rule with the min of a mass, or ballast = "0.2 g" with per',
                )
            )
        return 0.0
    if kind is None:
        form.note(
            cell.problem(
                "rulebook-ballast",
                "nothing is measured here, so there is nothing to count ballast by",
                at_key=True,
                expected="a rule with limits",
            )
        )
        return 1.0
    return _positive(form, cell, QuantityKind.MASS)


def _per(
    form: RulebookTable, named: list[BreachEffects], kind: QuantityKind | None, ballast: float
) -> tuple[float, Rounding]:
    by_points = BreachEffects.POINTS_PER_UNIT in named
    if not by_points and not ballast:
        for key in ("per", "rounding"):
            _needless(form, key, 'fails = "points per unit", or ballast = "0.2 g"')
        return 1.0, Rounding.UP
    what = 'a rule that fails with "points per unit"' if by_points else "ballast for each unit"
    cell = form.require("per", what, 'the unit, such as per = "1 mm"')
    per = 1.0 if cell is None or kind is None else _positive(form, cell, kind)
    return per, form.word("rounding", Rounding, Rounding.UP)


def _award(form: RulebookTable, named: list[BreachEffects]) -> str:
    if BreachEffects.NO_AWARD not in named:
        _needless(form, "award", 'fails = "no award"')
    return form.text("award")


def _times(form: RulebookTable, named: list[BreachEffects], measures: tuple[str, ...]) -> Times:
    """For how many things a measure stands: wheels come in pairs."""
    cell = form.cell("times")
    times = form.word("times", Times, Times.ONCE)
    if cell is None or times is Times.ONCE:
        return times
    other = next((name for name in measures if not is_of_wheel(name)), None)
    if other is not None or not measures:
        form.note(
            cell.problem(
                "rulebook-times",
                f"{other or 'an item'} is not measured on each wheel",
                found=shown(cell.value),
                expected="measures of wheels, such as front_wheel.diameter",
            )
        )
    elif not any(fails in (*_POINTS, BreachEffects.BALLAST) for fails in named):
        _needless(form, "times", "a rule that takes points or asks for ballast")
    return times


def is_of_wheel(measure: str) -> bool:
    """Whether a measure is of the two wheels of one axle."""
    return measure.startswith(("front_wheel.", "rear_wheel."))


def _positive(form: RulebookTable, cell: PlacedValue, kind: QuantityKind) -> float:
    read = read_step(cell, kind, str(cell.path[-1]), or_none=False)
    if isinstance(read, Problem):
        form.note(read)
        return 1.0
    return read


def _needless(form: RulebookTable, key: str, expected: str) -> None:
    cell = form.cell(key)
    if cell is not None:
        message = f"{key} has no use here"
        form.note(cell.problem("rulebook-points", message, at_key=True, expected=expected))
