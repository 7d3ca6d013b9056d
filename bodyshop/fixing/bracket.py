"""The first mark on a grid of values at which a rule is met."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from bodyshop.fixing.goal import Goal, Hit
from bodyshop.fixing.knobs import Knob
from bodyshop.fixing.trial import Ground

__all__ = ["Bracket", "outward"]

_MOST_STEPS: Final = 16
_HAIR: Final = 1e-9
_DOUBT: Final = 1.2


def outward(value: Fraction, grid: Fraction, way: int) -> Fraction:
    """The mark of a grid that lies on the value, or next to it upwards (`way` 1) or downwards (-1)."""
    marks = value / grid
    return (math.ceil(marks) if way > 0 else math.floor(marks)) * grid


class Bracket:
    """Marks in one direction from a knob's value, counted from 1, up to a bound on the move.

    After `least` came to nothing, `stepped_over` tells that the limits lie between two marks;
    `barred_at` and `slips` tell where and why there is no car before the rule is met.
    """

    def __init__(
        self, ground: Ground, goal: Goal, knob: Knob, way: int, grid: Fraction, bound_mm: float
    ) -> None:
        self._ground, self._goal, self._knob, self._way, self._grid = ground, goal, knob, way, grid
        first = outward(knob.value, grid, way)
        self._first = first if first != knob.value else first + way * grid
        self._mark_mm = float(grid) * knob.mm_per_unit
        self._first_mm = abs(float(self._first - knob.value)) * knob.mm_per_unit
        self._most = 1 + math.floor((bound_mm - self._first_mm) / self._mark_mm + _HAIR)
        self.stepped_over = False
        self.barred_at: Fraction | None = None
        self.slips: tuple[str, ...] = ()

    def least(self, guess_mm: float) -> Fraction | None:
        """The first mark where the rule is met; None when there is none within the bound.

        `guess_mm` is about how far that is.
        """
        if self._most < 1:
            return None
        goal = self._goal
        short, gap = 0, goal.gap(self._ground.readings[goal.measure]) or 0.0
        end: int | None = None
        met: int | None = None
        end_hit, end_gap = Hit.LOST, None
        count = self._count(guess_mm)
        for step in range(_MOST_STEPS):
            count = min(max(count, short + 1), self._most if end is None else end - 1)
            hit, new_gap = self._look(count)
            if hit is Hit.SHORT:
                gained = (new_gap or 0.0) - gap
                if end is None and (count >= self._most or gained <= 0.0):
                    return None
                slope = gained / (self._mm(count) - self._mm(short))
                short, gap = count, new_gap or 0.0
            else:
                end, end_hit, end_gap = count, hit, new_gap
                met = count if hit is Hit.MET else met
                slope = 0.0
            if end is not None and (
                end - short == 1 or (end_hit is Hit.LOST and self._in_vain(short, gap, slope, end))
            ):
                break
            count = self._next(short, gap, end, end_gap, slope, step)
        if met is not None:
            return self._at(met)
        self.stepped_over = end_hit is Hit.BEYOND
        if end_hit is Hit.LOST and end is not None:
            self.barred_at = self._at(end)
        return None

    def _next(
        self, short: int, gap: float, end: int | None, end_gap: float | None, slope: float, step: int
    ) -> int:
        """Where to look next: straight ahead while nothing is beyond, else between the two ends."""
        here = self._mm(short)
        if end is None:
            # Each time it falls short the reach grows, so that a flattening curve is caught up with.
            return self._count(here - gap / slope * (1.0 + 0.5 * step))
        if end_gap is None or end_gap <= gap or step % 3 == 2:
            return (short + end) // 2
        share = min(max(-gap / (end_gap - gap), 0.0), 1.0)
        count = self._count(here + share * (self._mm(end) - here))
        # A guess that lands on the end itself is most often right: look just before it.
        return min(count, end - 1)

    def _in_vain(self, short: int, gap: float, slope: float, end: int) -> bool:
        """Whether the rule will hardly be met before the mark where there is no car any more."""
        return slope > 0.0 and self._mm(short) - gap / slope > _DOUBT * self._mm(end)

    def _look(self, count: int) -> tuple[Hit, float | None]:
        trial = self._ground.trial(self._knob.changes(self._at(count)))
        if trial.design is None:
            self.slips = tuple(dict.fromkeys(slip.message for slip in trial.slips))
            return Hit.LOST, None
        reading = trial.reading(self._goal.measure)
        return self._goal.hit(reading), self._goal.gap(reading)

    def _at(self, count: int) -> Fraction:
        return self._first + self._way * self._grid * (count - 1)

    def _mm(self, count: int) -> float:
        return self._first_mm + self._mark_mm * (count - 1) if count else 0.0

    def _count(self, mm: float) -> int:
        """The first mark at least so far away."""
        return 1 + math.ceil(min((mm - self._first_mm) / self._mark_mm, 1e6) - 1e-6)
