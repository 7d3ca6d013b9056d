"""The smallest change of one number that makes one rule pass.

Every knob is first moved by about a millimetre to either side, once for all rules, to see what it does.
For the promising ones, nearest first, the least move that meets the rule is found on a fine grid by secant
steps within a bracket; it is then rounded outward to a number that a person writes, if that is accepted.
A knob that could not beat the best one found so far is left alone. A measure is taken to answer a knob
without turning back; where it does turn back, a smaller move on the far side of the turn is not found.

Preferred, in this order: what a person draws, at one place of the file; a length that stands in several
places; the size of something bought. Within each the least move in mm wins; of equal ones the key that
sets the measure most directly. What makes something else worse without breaking it (a broken rule broken
by more, an advice no longer met) is taken where whatever does not would move three times as far; what
leaves the two views of different lengths, where nothing else is found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from bodyshop.fixing.accept import Harm, Trade, weigh
from bodyshop.fixing.bracket import Bracket, outward
from bodyshop.fixing.goal import Goal, Hit
from bodyshop.fixing.knobs import Knob, Uses, patched
from bodyshop.fixing.model import Conflict, Edit, Fix, Obstacle
from bodyshop.fixing.probes import Probes
from bodyshop.fixing.trial import Ground, OutOfTimeError
from bodyshop.measures import catalogue
from bodyshop.rulebook import driver_path

__all__ = ["FARTHEST_MM", "Search", "edits_of"]

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

    knob: Knob
    way: int
    mm: float


@dataclass(frozen=True, slots=True)
class _Choice:
    """A change that passes the rule, with what it costs."""

    knob: Knob
    value: Fraction
    least: Fraction
    moved_mm: float
    least_mm: float
    rank: int
    trade: Trade

    @property
    def order(self) -> tuple[float, int, float, int]:
        return (round(self.least_mm, 6), self.rank, round(self.moved_mm, 6), self.knob.order)


@dataclass
class _Best:
    """The best so far at each harm: none, something gets worse, the two views differ in length."""

    by_harm: dict[Harm, _Choice] = field(default_factory=dict)
    obstacles: list[Obstacle] = field(default_factory=list)

    @property
    def free(self) -> _Choice | None:
        return self.by_harm.get(Harm.NONE)

    @property
    def choice(self) -> _Choice | None:
        return next((self.by_harm[harm] for harm in Harm if harm in self.by_harm), None)

    @property
    def bound_mm(self) -> float:
        """Nothing farther away is of use."""
        free, worse = self.free, self.by_harm.get(Harm.WORSE)
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

    def __init__(self, ground: Ground, knobs: Sequence[Knob], shared: Sequence[Knob]) -> None:
        self._ground = ground
        self._classes = (
            [knob for knob in knobs if not knob.bought],
            list(shared),
            [knob for knob in knobs if knob.bought],
        )
        self._uses = Uses(ground.values, ground.design.unit)

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

    def _among(self, goal: Goal, probes: Probes, knobs: Sequence[Knob], best: _Best) -> None:
        aims = sorted(
            self._aims(goal, probes, knobs),
            key=lambda aim: (round(aim.mm, 6), self._rank(goal, aim.knob), aim.knob.order),
        )
        for aim in aims:
            if aim.mm > _SLACK * best.bound_mm:
                break
            self._pursue(goal, aim, best)

    # ------------------------------------------------------------ promising knobs

    def _aims(self, goal: Goal, probes: Probes, knobs: Sequence[Knob]) -> Iterator[_Aim]:
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

    def _wide_aims(self, goal: Goal, knobs: Sequence[Knob]) -> Iterator[_Aim]:
        """For what does not answer to small moves: a count, or a measure that jumps."""
        for knob in knobs:
            for way in (1, -1):
                for mm in _WIDE_MM:
                    far = Fraction(way * mm / knob.mm_per_unit).limit_denominator(1000)
                    trial = self._ground.trial(knob.changes(outward(knob.value + far, knob.grids[0], way)))
                    if goal.hit(trial.reading(goal.measure)) is Hit.MET:
                        yield _Aim(knob, way, mm)
                        break

    def _rank(self, goal: Goal, knob: Knob) -> int:
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
            if value != least and goal.hit(trial.reading(goal.measure)) is not Hit.MET:
                continue
            trade = weigh(self._ground, trial, goal.verdict.rule.clause)
            if trade.allowed:
                moved, shortest = self.moved_mm(knob, value), self.moved_mm(knob, least)
                choice = _Choice(knob, value, least, moved, shortest, self._rank(goal, knob), trade)
                found = choice if found is None or choice.trade.harm < found.trade.harm else found
                if trade.harm is Harm.NONE:
                    break
            elif value == least and found is None:
                self._note(knob, value, trade.breaks, trade.faults, best)
        if found is not None:
            best.take(found)

    def _note(
        self, knob: Knob, value: Fraction, breaks: tuple[str, ...], faults: tuple[str, ...], best: _Best
    ) -> None:
        edits = edits_of(self._ground, knob, value)
        best.obstacles.append(Obstacle(edits, self.moved_mm(knob, value), breaks, faults))

    def moved_mm(self, knob: Knob, value: Fraction) -> float:
        """How far a knob moves the design: itself, or the length that a named dimension moves most."""
        if knob.named:
            return self._uses.moved_mm(patched(self._ground.values, knob.changes(value)))
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


def edits_of(ground: Ground, knob: Knob, value: Fraction) -> tuple[Edit, ...]:
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
