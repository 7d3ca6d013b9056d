"""Where the limits of rules lie for a part that is moved: at which place of its handle each is just met."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from bodyshop.app.bench.drawing.handles import find_handle
from bodyshop.app.bench.drawing.model import Handle, Move
from bodyshop.app.bench.messages import Data
from bodyshop.car.editing.numbers import Numbers, RefusedError
from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.toml import KeyPath
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.checking import Checked
from bodyshop.rules.remedies.candidate import Baseline, Candidate, Clock, OutOfTimeError
from bodyshop.rules.rulebook import Rule
from bodyshop.rules.rulebook.remedy import driver_path

__all__ = ["limit_lines"]

_REACH_MM: Final = 30.0
"""Limits further off than this are of no use to a hand."""

_PROBE_MM: Final = 0.5
_STILL: Final = 1e-6
_MET_MM: Final = 0.002
_ROUNDS: Final = 5
_SECONDS: Final = 1.5
_MOST: Final = 6


@dataclass(frozen=True, slots=True)
class _Bound:
    """One end of a rule; `inside` is +1 where more is inside."""

    rule: Rule
    limit: float
    inside: int


def limit_lines(checked: Checked, handle_id: str) -> list[Data]:
    """The limits that a handle can be brought to, nearest first.

    Each has `view`, `axis` (0 or 1 of the view) and `at` in mm there, `clause`, `title` and `value`, the
    limit. A place is on the side of the limit where the rule is kept, as the number is written.
    """
    opened = checked.opened
    numbers = Numbers(opened.source)
    handle = find_handle(opened, numbers, handle_id)
    if handle is None or handle.fixed:
        return []
    ground = Baseline(opened.source, opened.rulebook, Clock(_SECONDS), opened.design, opened.car)
    found: list[tuple[float, Data]] = []
    try:
        for move in handle.moves:
            if move.bulge is None:
                found.extend(_Seeking(checked, ground, handle, move).lines())
    except OutOfTimeError:
        pass
    return [line for _, line in sorted(found, key=lambda each: each[0])[:_MOST]]


class _Seeking:
    """One number of a handle, and the rules that hang on it."""

    def __init__(self, checked: Checked, ground: Baseline, handle: Handle, move: Move) -> None:
        self.checked = checked
        self.ground = ground
        self.handle = handle
        self.move = move
        numbers = Numbers(checked.opened.source)
        self.grain_mm = MM_PER_IN / 64 if numbers.unit is LengthUnit.IN and numbers.tape else 0.01

    def lines(self) -> Iterator[tuple[float, Data]]:
        here = self.move.value_mm
        bounds = list(self._bounds())
        for way in (1, -1):
            if not bounds:
                return
            near = self._written_mm(here + way * max(_PROBE_MM, self.grain_mm))
            trial = None if near is None else self._trial(near)
            if near is None or trial is None:
                continue
            later: list[_Bound] = []
            for bound in bounds:
                gap, probed = self._gap(bound, self.checked.readings.get(bound.rule.measure)), None
                probed = self._gap(bound, trial.reading(bound.rule.measure))
                if gap is None or probed is None or abs(probed - gap) < _STILL:
                    later.append(bound)
                    continue
                value = self._seek(bound, (here, gap), (near, probed))
                if value is not None:
                    yield abs(value - here), self._line(bound, value)
            bounds = later

    def _bounds(self) -> Iterator[_Bound]:
        design = self.checked.opened.design
        for verdict in self.checked.judgement.verdicts:
            rule = verdict.rule
            measure = self.checked.measures.get(rule.measure)
            if measure is None or rule.kind is not QuantityKind.LENGTH or rule.limits is None:
                continue
            if not any(_beside(driver_path(key, design), self.move.path) for key in measure.drivers):
                continue
            low, high = rule.limits.ends
            if math.isfinite(low):
                yield _Bound(rule, low, 1)
            if math.isfinite(high) and high != low:
                yield _Bound(rule, high, -1)

    def _gap(self, bound: _Bound, reading: object) -> float | None:
        """How far inside a bound a reading is, mm; below zero outside."""
        if not isinstance(reading, Reading):
            return None
        return bound.inside * (reading.value - bound.rule.past - bound.limit)

    def _seek(self, bound: _Bound, first: tuple[float, float], second: tuple[float, float]) -> float | None:
        """The value at which the bound is just kept; None where it is out of reach or never comes."""
        (a, ga), (b, gb) = first, second
        here = self.move.value_mm
        for _ in range(_ROUNDS):
            goal = b - gb * (b - a) / (gb - ga) if abs(gb - ga) >= _STILL else math.inf
            found = self._look(bound, goal) if abs(goal - here) <= _REACH_MM else None
            if found is None:
                return None
            inward = 1 if (gb - ga) * (b - a) > 0 else -1
            value, gap = found
            if gap < 0 and abs(value - goal) <= self.grain_mm:
                # The mark beside it, on the side where the rule is kept.
                beside = self._look(bound, value + inward * self.grain_mm)
                if beside is not None and 0 <= beside[1] < 4 * self.grain_mm + _MET_MM:
                    return beside[0]
            if 0 <= gap <= _MET_MM + 2 * self.grain_mm or abs(value - b) < _STILL:
                return value if gap >= 0 else None
            (a, ga), (b, gb) = (b, gb), (value, gap)
        return None

    def _look(self, bound: _Bound, value: float) -> tuple[float, float] | None:
        written = self._written_mm(value)
        trial = None if written is None else self._trial(written)
        if written is None or trial is None:
            return None
        gap = self._gap(bound, trial.reading(bound.rule.measure))
        return None if gap is None else (written, gap)

    def _put(self, value: float) -> Numbers | None:
        if self.move.least_mm is not None and value < self.move.least_mm:
            return None
        numbers = Numbers(self.checked.opened.source)
        try:
            numbers.put(self.move.path, Fraction(value))
        except RefusedError:
            return None
        return numbers

    def _written_mm(self, value: float) -> float | None:
        """The value as the text would say it."""
        numbers = self._put(value)
        return None if numbers is None else numbers.mm(self.move.path)

    def _trial(self, value: float) -> Candidate | None:
        numbers = self._put(value)
        if numbers is None:
            return None
        trial = self.ground.trial({path: numbers.raw(path) for path in numbers.texts})
        return trial if trial.design is not None else None

    def _line(self, bound: _Bound, value: float) -> Data:
        handle, move = self.handle, self.move
        u, v = handle.way if handle.way is not None else (abs(move.du), abs(move.dv))
        axis = 0 if abs(u) >= abs(v) else 1
        rate = move.du * u + move.dv * v
        at = handle.at[axis] + (value - move.value_mm) / rate * (u, v)[axis]
        return {
            "view": handle.sheet.value,
            "axis": axis,
            "at": round(at, 4),
            "clause": bound.rule.clause,
            "title": bound.rule.title,
            "value": bound.limit,
        }


def _beside(driver: KeyPath, path: KeyPath) -> bool:
    """Whether a measure that one key drives hangs on the number at a path: they are of one part."""
    same = 2 if path[0] in ("axles", "screw_eye") else 1
    return driver[:same] == path[:same] or (len(driver) == 1 and driver[0] == path[0])
