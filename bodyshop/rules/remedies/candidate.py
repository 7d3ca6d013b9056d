"""A design tried with other numbers: read, put together, measured and judged as far as is asked for.

Trials go through the same reading as a file, on values instead of text. What the changed numbers leave as
it was is taken over from the design they are tried on.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.body import Body, body_faults
from bodyshop.car.design import Design, read_design
from bodyshop.car.measures import NotKnown, Reading, catalogue
from bodyshop.foundation.problems import Problem, ProblemsError, Severity, Span
from bodyshop.foundation.toml import KeyPath, Source
from bodyshop.foundation.toml.places import Range
from bodyshop.foundation.toml.splice import patched
from bodyshop.rules.rulebook import Judgement, Rulebook, judge

__all__ = ["Clock", "Baseline", "OutOfTimeError", "Candidate", "put_together"]

_NOWHERE: Final = Span(1, 1, 1, 1)


class OutOfTimeError(Exception):
    """The time allowed for a search is used up."""


class Clock:
    """Counts trials and stops them when their time is up, or so many are made; None never does."""

    def __init__(self, seconds: float | None, most: int | None = None) -> None:
        self._most = most
        self._end = None if seconds is None else time.perf_counter() + seconds
        self.trials = 0

    def tick(self) -> None:
        """One more trial. Raises `OutOfTimeError` when there is no time for it."""
        if self._end is not None and time.perf_counter() > self._end:
            raise OutOfTimeError
        if self._most is not None and self.trials >= self._most:
            raise OutOfTimeError
        self.trials += 1


class _Tried(Source):
    """Values that stand in no text: places are not asked for, and are all alike."""

    def value_range(self, path: KeyPath) -> Range | None:  # noqa: ARG002 - the same answer for all
        return None

    def span(self, path: KeyPath) -> Span:  # noqa: ARG002
        return _NOWHERE

    def key_span(self, path: KeyPath) -> Span:  # noqa: ARG002
        return _NOWHERE

    def inner_span(self, path: KeyPath, start: int, end: int) -> Span:  # noqa: ARG002
        return _NOWHERE


class Candidate:
    """One set of values. `design` is None where they are no design, and `slips` tell why."""

    def __init__(self, ground: Baseline, values: dict[str, object]) -> None:
        self._book = ground.book
        self._taken: dict[str, Reading | NotKnown] = {}
        self.slips: tuple[Problem, ...] = ()
        self.design: Design | None = None
        self._car: Car | None = None
        source = _Tried(ground.source.name, "", values)
        try:
            design = read_design(source, ground.book.kit, ground.design.rulebook)
        except ProblemsError as error:
            self.slips = error.problems
            return
        self.design, self._car = put_together(design, ground.car)

    def reading(self, measure: str) -> Reading | NotKnown:
        """One measure of the car."""
        found = self._taken.get(measure)
        if found is None:
            known = catalogue().get(measure)
            if self._car is None or known is None:
                found = NotKnown("there is no such car" if self._car is None else "it cannot be measured")
            else:
                found = known.take(self._car)
            self._taken[measure] = found
        return found

    def readings(self) -> dict[str, Reading | NotKnown]:
        """Every measure that the rulebook names."""
        return {name: self.reading(name) for name in self._book.measures}

    @cached_property
    def faults(self) -> tuple[Problem, ...]:
        """Why there is no such car: slips in the design, holes without wood round them."""
        if self._car is None:
            return self.slips
        return _errors(self._car)

    @cached_property
    def judgement(self) -> Judgement:
        """The verdicts on it."""
        return judge(self._book, self.readings())


class Baseline:
    """A design that trials start from.

    `source` is the file that it was first read from, `texts` what stands in it instead by now, by path, and
    `values` all of its values with those.
    """

    def __init__(self, source: Source, book: Rulebook, clock: Clock, design: Design, car: Car) -> None:
        self.source = source
        self.values: Mapping[str, object] = source.values
        self.texts: Mapping[KeyPath, str] = {}
        self.book = book
        self.clock = clock
        self.design = design
        self.car = car

    def after(self, values: Mapping[KeyPath, object], texts: Mapping[KeyPath, str]) -> Baseline:
        """The design with other values at some paths, to start from instead.

        Raises `ProblemsError` where that is no design.
        """
        new = patched(self.values, values)
        tried = _Tried(self.source.name, "", new)
        design, car = put_together(read_design(tried, self.book.kit, self.design.rulebook), self.car)
        ground = Baseline(self.source, self.book, self.clock, design, car)
        ground.values, ground.texts = new, {**self.texts, **texts}
        return ground

    def trial(self, changes: Mapping[KeyPath, object]) -> Candidate:
        """The design with other values at some paths. Raises `OutOfTimeError`."""
        self.clock.tick()
        return Candidate(self, patched(self.values, changes))

    @cached_property
    def readings(self) -> Mapping[str, Reading | NotKnown]:
        """Every measure that the rulebook names."""
        known = catalogue()
        return {
            name: known[name].take(self.car) if name in known else NotKnown("it cannot be measured")
            for name in self.book.measures
        }

    @cached_property
    def judgement(self) -> Judgement:
        """The verdicts on it."""
        return judge(self.book, self.readings)

    @cached_property
    def faults(self) -> tuple[Problem, ...]:
        """Holes without wood round them."""
        return _errors(self.car)

    @cached_property
    def warned(self) -> frozenset[tuple[str, str]]:
        """Code and key of each warning that the design has as it is."""
        return frozenset((warning.code, warning.key) for warning in self.design.warnings)


def _errors(car: Car) -> tuple[Problem, ...]:
    return tuple(fault for fault in body_faults(car.body) if fault.severity is Severity.ERROR)


# What of a body follows from which part of a design. Each is worked out once for the ground.
_OF_PROFILE: Final = ("thinnest_side",)
_OF_PLAN: Final = ("thinnest_top", "narrowest")
_OF_SHAPE: Final = (
    "sections",
    "bounds",
    "pieces",
    "undrilled",
    "silhouette",
    "wetted_area",
    "base_area",
)
_OF_BORE: Final = ("mouth", "bore", "bore_in_wood", "walls")


def put_together(design: Design, like: Car) -> tuple[Design, Car]:
    """A design and its car, with what it has in common with another car taken from there."""
    old = like.design
    same_profile, same_plan = design.profile == old.profile, design.plan == old.plan
    if same_profile or same_plan:
        design = replace(
            design,
            profile=old.profile if same_profile else design.profile,
            plan=old.plan if same_plan else design.plan,
        )
    car = Car(design)
    names: tuple[str, ...] = (*(_OF_PROFILE if same_profile else ()), *(_OF_PLAN if same_plan else ()))
    if same_profile and same_plan and design.edge_round_mm == old.edge_round_mm:
        names += _OF_SHAPE
        if design.bore == old.bore:
            names += _OF_BORE
    _take_over(names, like.body, car.body)
    return design, car


def _take_over(names: tuple[str, ...], old: Body, new: Body) -> None:
    known = vars(old)
    for name in names:
        if name in known:
            setattr(new, name, known[name])
