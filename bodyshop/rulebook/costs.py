"""What a broken rule costs by how far a value is outside: points and ballast."""

from __future__ import annotations

import math

from bodyshop.rulebook.model import Fails, Rounding, Rule

__all__ = ["cost_of"]

_A_TOUCH = 1e-6
"""The least part of a unit that counts as begun: a car that fails within its instrument's step is not nought
outside."""


def cost_of(rule: Rule, over: float, times: int = 1) -> tuple[float, float]:
    """The points taken and the ballast to add (g) for `times` things that are `over` outside, in the unit of
    the rule's kind.

    Ballast without an amount of its own lifts the car to the limit, and does so once.
    """
    points = 0.0
    if Fails.POINTS_ONCE in rule.consequences:
        points = rule.points * times
    elif Fails.POINTS_PER_UNIT in rule.consequences:
        points = rule.points * _units(rule, over) * times
    if Fails.BALLAST not in rule.consequences:
        return points, 0.0
    return points, rule.ballast * _units(rule, over) * times if rule.ballast else over


def _units(rule: Rule, over: float) -> int:
    """Units begun, or full, or nearest, as the rule counts them."""
    units = max(round(over / rule.per, 6), _A_TOUCH)  # three units to a hair are three
    if rule.rounding is Rounding.UP:
        return math.ceil(units)
    return math.floor(units) if rule.rounding is Rounding.DOWN else round(units)
