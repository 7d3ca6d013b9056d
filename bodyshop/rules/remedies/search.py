"""The smallest change of one number that makes one rule pass: bracketed, then closed in."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from bodyshop.car.editing.quantities import WorkedOut
from bodyshop.car.measures import NotKnown, Reading, catalogue
from bodyshop.foundation.toml import KeyPath
from bodyshop.foundation.toml.splice import patched
from bodyshop.rules.remedies.accept import ChangeOutcome, Drawback, Goal, GoalSide, weigh
from bodyshop.rules.remedies.candidate import Baseline, OutOfTimeError
from bodyshop.rules.remedies.knobs import DesignNumber, farthest_mm
from bodyshop.rules.remedies.model import Conflict, Edit, Fix, Obstacle
from bodyshop.rules.rulebook import driver_path

__all__ = ["Bracket", "FARTHEST_MM", "Probes", "Search", "edits_of", "outward"]


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
        self, ground: Baseline, goal: Goal, knob: DesignNumber, way: int, grid: Fraction, bound_mm: float
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
        end_hit, end_gap = GoalSide.LOST, None
        count = self._count(guess_mm)
        for step in range(_MOST_STEPS):
            count = min(max(count, short + 1), self._most if end is None else end - 1)
            hit, new_gap = self._look(count)
            if hit is GoalSide.SHORT:
                gained = (new_gap or 0.0) - gap
                if end is None and (count >= self._most or gained <= 0.0):
                    return None
                slope = gained / (self._mm(count) - self._mm(short))
                short, gap = count, new_gap or 0.0
            else:
                end, end_hit, end_gap = count, hit, new_gap
                met = count if hit is GoalSide.MET else met
                slope = 0.0
            if end is not None and (
                end - short == 1 or (end_hit is GoalSide.LOST and self._in_vain(short, gap, slope, end))
            ):
                break
            count = self._next(short, gap, end, end_gap, slope, step)
        if met is not None:
            return self._at(met)
        self.stepped_over = end_hit is GoalSide.BEYOND
        if end_hit is GoalSide.LOST and end is not None:
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

    def _look(self, count: int) -> tuple[GoalSide, float | None]:
        trial = self._ground.trial(self._knob.changes(self._at(count)))
        if trial.design is None:
            self.slips = tuple(dict.fromkeys(slip.message for slip in trial.slips))
            return GoalSide.LOST, None
        reading = trial.reading(self._goal.measure)
        return self._goal.hit(reading), self._goal.gap(reading)

    def _at(self, count: int) -> Fraction:
        return self._first + self._way * self._grid * (count - 1)

    def _mm(self, count: int) -> float:
        return self._first_mm + self._mark_mm * (count - 1) if count else 0.0

    def _count(self, mm: float) -> int:
        """The first mark at least so far away."""
        return 1 + math.ceil(min((mm - self._first_mm) / self._mark_mm, 1e6) - 1e-6)


_STEP_MM: Final = 1.0


class Probes:
    """Small moves of one design, tried when first asked for and kept: each serves every broken rule."""

    def __init__(self, ground: Baseline, measures: Iterable[str]) -> None:
        self._ground = ground
        self._measures = tuple(dict.fromkeys(measures))
        self._seen: dict[tuple[KeyPath, int, int], dict[str, Reading | NotKnown] | None] = {}

    def are_of(self, ground: Baseline) -> bool:
        """Whether they are of this very design, not of one that it was made from."""
        return ground is self._ground

    def step_mm(self, knob: DesignNumber) -> float:
        """How far a probe moves the knob."""
        return float(_step(knob)) * knob.mm_per_unit

    def seen(self, knob: DesignNumber, way: int) -> dict[str, Reading | NotKnown] | None:
        """The measures after a small move up (`way` 1) or down (-1); None where that makes no car."""
        key = (knob.path, len(knob.marks), way)
        if key not in self._seen:
            trial = self._ground.trial(knob.changes(knob.value + way * _step(knob)))
            made = trial.design is not None
            self._seen[key] = {m: trial.reading(m) for m in self._measures} if made else None
        return self._seen[key]

    def base(self, measure: str) -> Reading | NotKnown:
        """The measure before any move."""
        return self._ground.readings[measure]


def _step(knob: DesignNumber) -> Fraction:
    """About a millimetre, in the unit of the knob, on a mark of its grids."""
    whole = Fraction(_STEP_MM / knob.mm_per_unit).limit_denominator(100_000)
    return outward(whole, knob.grids[-1], 1)


FARTHEST_MM: Final = 150.0
"""No number is moved farther: beyond that it is another car."""

# A knob's slope near the start may be this many times too small for the whole way.
_SLACK: Final = 1.6
_LEAST_SLOPE: Final = 1e-4
# A change that costs nothing may be so many times as far as one that does.
_WORTH: Final = 3.0
_WIDE_MM: Final = (5.0, 20.0)
_OBSTACLES: Final = 4


@dataclass(frozen=True, slots=True)
class _Aim:
    """A knob and a direction that bring a goal nearer, and how far it will have to go, by its slope."""

    knob: DesignNumber
    way: int
    mm: float


@dataclass(frozen=True, slots=True)
class _Choice:
    """A change that passes the rule, with what it costs."""

    knob: DesignNumber
    value: Fraction
    least: Fraction
    moved_mm: float
    least_mm: float
    rank: int
    trade: ChangeOutcome

    @property
    def order(self) -> tuple[float, int, float, int]:
        return (round(self.least_mm, 6), self.rank, round(self.moved_mm, 6), self.knob.order)


@dataclass
class _Best:
    """The best so far at each harm: none, something gets worse, the two views differ in length."""

    by_harm: dict[Drawback, _Choice] = field(default_factory=dict)
    obstacles: list[Obstacle] = field(default_factory=list)

    @property
    def free(self) -> _Choice | None:
        return self.by_harm.get(Drawback.NONE)

    @property
    def choice(self) -> _Choice | None:
        return next((self.by_harm[harm] for harm in Drawback if harm in self.by_harm), None)

    @property
    def bound_mm(self) -> float:
        """Nothing farther away is of use."""
        free, worse = self.free, self.by_harm.get(Drawback.WORSE)
        bounds = [FARTHEST_MM]
        bounds += [free.least_mm] if free is not None else []
        bounds += [_WORTH * worse.least_mm] if worse is not None else []
        return min(bounds)

    def take(self, choice: _Choice) -> None:
        harm = choice.trade.harm
        kept = self.by_harm.get(harm)
        if kept is None or choice.order < kept.order:
            self.by_harm[harm] = choice


class Search:
    """Searches for one design as it stands."""

    def __init__(
        self, ground: Baseline, knobs: Sequence[DesignNumber], shared: Sequence[DesignNumber]
    ) -> None:
        self._ground = ground
        self._classes = (
            [knob for knob in knobs if not knob.bought],
            list(shared),
            [knob for knob in knobs if knob.bought],
        )
        self._uses = WorkedOut(ground.values, ground.design.unit)

    def fix(self, goal: Goal, probes: Probes) -> Fix | Conflict:
        """The smallest change for a goal. The probes may be those of the same design a few changes ago.

        Out of time, the best found so far is returned, or a conflict marked as cut.
        """
        best = _Best()
        cut = False
        try:
            for knobs in self._classes:
                self._among(goal, probes, knobs, best)
                if best.free is not None:
                    break
        except OutOfTimeError:
            cut = True
        choice = best.choice
        if choice is not None:
            return self._fix_of(goal, choice, cut=cut)
        obstacles = sorted(best.obstacles, key=lambda each: (not each.breaks, each.moved_mm))
        return Conflict(goal.verdict, tuple(obstacles[:_OBSTACLES]), cut)

    def _among(self, goal: Goal, probes: Probes, knobs: Sequence[DesignNumber], best: _Best) -> None:
        aims = sorted(
            self._aims(goal, probes, knobs),
            key=lambda aim: (round(aim.mm, 6), self._rank(goal, aim.knob), aim.knob.order),
        )
        for aim in aims:
            if aim.mm > _SLACK * best.bound_mm:
                break
            self._pursue(goal, aim, best)

    # ------------------------------------------------------------ promising knobs

    def _aims(self, goal: Goal, probes: Probes, knobs: Sequence[DesignNumber]) -> Iterator[_Aim]:
        start = goal.gap(self._ground.readings[goal.measure])
        then = goal.gap(probes.base(goal.measure))
        if start is None or then is None:
            return
        found = False
        for knob in knobs:
            for way in (1, -1):
                seen = probes.seen(knob, way)
                gap = None if seen is None else goal.gap(seen[goal.measure])
                if gap is None or gap <= then:
                    continue
                slope = (gap - then) / probes.step_mm(knob)
                if slope >= _LEAST_SLOPE:
                    found = True
                    yield _Aim(knob, way, -start / slope)
                break
        if not found and probes.are_of(self._ground):
            yield from self._wide_aims(goal, knobs)

    def _wide_aims(self, goal: Goal, knobs: Sequence[DesignNumber]) -> Iterator[_Aim]:
        """For what does not answer to small moves: a count, or a measure that jumps."""
        for knob in knobs:
            for way in (1, -1):
                for mm in _WIDE_MM:
                    far = Fraction(way * mm / knob.mm_per_unit).limit_denominator(1000)
                    trial = self._ground.trial(knob.changes(outward(knob.value + far, knob.grids[0], way)))
                    if goal.hit(trial.reading(goal.measure)) is GoalSide.MET:
                        yield _Aim(knob, way, mm)
                        break

    def _rank(self, goal: Goal, knob: DesignNumber) -> int:
        """The place of a knob among the keys that set the measure most directly."""
        known = catalogue().get(goal.measure)
        drivers = known.drivers if known is not None else ()
        for rank, driver in enumerate(drivers):
            path = driver_path(driver, self._ground.design)
            if knob.path[: len(path)] == path:
                return rank
        return len(drivers)

    # ------------------------------------------------------------ one knob

    def _pursue(self, goal: Goal, aim: _Aim, best: _Best) -> None:
        """Take the least accepted move of a knob, or note what stands in its way."""
        knob = aim.knob
        for grid in knob.grids[min(1, len(knob.grids) - 1) :]:
            bracket = Bracket(self._ground, goal, knob, aim.way, grid, best.bound_mm)
            value = bracket.least(aim.mm)
            if value is not None:
                self._settle(goal, aim, value, best)
                return
            if not bracket.stepped_over:
                if bracket.slips and bracket.barred_at is not None:
                    self._note(knob, bracket.barred_at, (), bracket.slips, best)
                return

    def _settle(self, goal: Goal, aim: _Aim, least: Fraction, best: _Best) -> None:
        """Take the handy number next to the least one, unless the least one harms less."""
        knob = aim.knob
        found: _Choice | None = None
        for value in dict.fromkeys((outward(least, knob.grids[0], aim.way), least)):
            trial = self._ground.trial(knob.changes(value))
            if value != least and goal.hit(trial.reading(goal.measure)) is not GoalSide.MET:
                continue
            trade = weigh(self._ground, trial, goal.verdict.rule.clause)
            if trade.allowed:
                moved, shortest = self.moved_mm(knob, value), self.moved_mm(knob, least)
                choice = _Choice(knob, value, least, moved, shortest, self._rank(goal, knob), trade)
                found = choice if found is None or choice.trade.harm < found.trade.harm else found
                if trade.harm is Drawback.NONE:
                    break
            elif value == least and found is None:
                self._note(knob, value, trade.breaks, trade.faults, best)
        if found is not None:
            best.take(found)

    def _note(
        self,
        knob: DesignNumber,
        value: Fraction,
        breaks: tuple[str, ...],
        faults: tuple[str, ...],
        best: _Best,
    ) -> None:
        edits = edits_of(self._ground, knob, value)
        best.obstacles.append(Obstacle(edits, self.moved_mm(knob, value), breaks, faults))

    def moved_mm(self, knob: DesignNumber, value: Fraction) -> float:
        """How far a knob moves the design: itself, or the length that a named dimension moves most."""
        if knob.named:
            return farthest_mm(self._uses, patched(self._ground.values, knob.changes(value)))
        return abs(float(value - knob.value)) * knob.mm_per_unit

    def _fix_of(self, goal: Goal, choice: _Choice, *, cut: bool) -> Fix:
        trade = choice.trade
        return Fix(
            rule=goal.verdict.rule,
            edits=edits_of(self._ground, choice.knob, choice.value),
            moved_mm=choice.moved_mm,
            least_mm=choice.least_mm,
            least_text=choice.knob.marks[0].notation.text(choice.least),
            before=goal.verdict,
            after=trade.after[goal.verdict.rule.clause],
            effects=trade.effects,
            warnings=trade.warnings,
            cut=cut,
        )


def edits_of(ground: Baseline, knob: DesignNumber, value: Fraction) -> tuple[Edit, ...]:
    """What changes in the text where a knob is set to a value, one edit for each of its places."""
    edits: list[Edit] = []
    for mark in knob.marks:
        text = mark.notation.text(value)
        edits.append(
            Edit(
                path=mark.path,
                span=ground.source.span(mark.path),
                old_text=ground.texts.get(mark.path, mark.text),
                new_text=text,
                old=knob.value,
                new=value,
                value=mark.notation.parsed(text),
                mm=knob.mm_per_unit,
                kind=mark.notation.kind,
            )
        )
    return tuple(edits)
