"""A class as a whole: how its cars stand, what they break most, which are alike, what they take."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bodyshop.foundation.problems import Problem
from bodyshop.records.classroom.discovery import (
    AppliedRulebook,
    CarRow,
    CarState,
    Row,
    SkippedRow,
    UnreadRow,
    natural,
)
from bodyshop.records.classroom.stock_plan import StockPlan, Supplies, stock_plan

__all__ = ["SameShapeCars", "BrokenRuleCount", "ClassReport", "class_report"]


@dataclass(frozen=True, slots=True)
class BrokenRuleCount:
    """How many cars break one rule, of those that are judged by its book."""

    book: AppliedRulebook
    clause: str
    title: str
    cars: int
    of: int

    @property
    def share(self) -> float:
        """The part of the cars that break it, 0 to 1."""
        return self.cars / self.of


@dataclass(frozen=True, slots=True)
class SameShapeCars:
    """Cars of one shape. `same` says that their designs agree in everything, name and all."""

    cars: tuple[CarRow, ...]
    same: bool


@dataclass(frozen=True, slots=True)
class ClassReport:
    """Everything that any report on a class tells.

    `cars` are worst first, cars of one standing by bench and name; `unread` and `skipped` by file; `closed`
    are folders that could not be looked into; `broken` the rules broken most, first; `books` those that cars
    were judged by, the one of most cars first.
    """

    folder: str
    cars: tuple[CarRow, ...]
    unread: tuple[UnreadRow, ...]
    skipped: tuple[SkippedRow, ...]
    closed: tuple[Problem, ...]
    books: tuple[AppliedRulebook, ...]
    broken: tuple[BrokenRuleCount, ...]
    alike: tuple[SameShapeCars, ...]
    plan: StockPlan

    @property
    def designs(self) -> int:
        """Files that are or ought to be designs."""
        return len(self.cars) + len(self.unread)

    def standing(self, *which: CarState) -> int:
        """How many cars stand so."""
        return sum(car.standing in which for car in self.cars)

    @property
    def passing(self) -> int:
        """Cars that break no rule and could be judged by all."""
        return self.standing(CarState.PASSES)

    @property
    def failing(self) -> int:
        """Cars that break a rule, be it for a point."""
        return self.standing(CarState.FAILS, CarState.SHOW_ONLY, CarState.POINTS_OFF)

    @property
    def probably_failing(self) -> int:
        """Cars of which an estimate is outside a limit, but not with its whole range."""
        return self.standing(CarState.PROBABLY_FAILS)

    @property
    def unknown(self) -> int:
        """Cars that could not be judged by every rule, and break none of the others."""
        return self.standing(CarState.NOT_JUDGED)

    @property
    def all_read(self) -> bool:
        """Whether every file and folder could be read, and every car judged."""
        return not (self.unread or self.closed or self.unknown)


def class_report(
    folder: str,
    rows: Sequence[Row],
    books: Mapping[str, AppliedRulebook],
    figures: Supplies,
    closed: Iterable[Problem] = (),
) -> ClassReport:
    """The report on rows as `check_files` gives them."""
    cars = sorted((row for row in rows if isinstance(row, CarRow)), key=_worst_first)
    judged = Counter(car.book for car in cars)
    in_use = sorted((book for book in books.values() if judged[book.key]), key=lambda book: -judged[book.key])
    return ClassReport(
        folder=folder,
        cars=tuple(cars),
        unread=tuple(row for row in rows if isinstance(row, UnreadRow)),
        skipped=tuple(row for row in rows if isinstance(row, SkippedRow)),
        closed=tuple(closed),
        books=tuple(in_use),
        broken=tuple(_broken(cars, in_use, judged)),
        alike=tuple(_alike(cars)),
        plan=stock_plan(cars, figures),
    )


def _worst_first(car: CarRow) -> tuple[object, ...]:
    return (
        car.standing.rank,
        -len(car.failed),
        natural(car.bench),
        natural(car.name),
        natural(car.file),
    )


def _broken(
    cars: Sequence[CarRow], books: Sequence[AppliedRulebook], judged: Counter[str]
) -> list[BrokenRuleCount]:
    counts = Counter((car.book, clause) for car in cars for clause in car.failed)
    found = [
        BrokenRuleCount(book, clause.clause, clause.title, count, judged[book.key])
        for book in books
        for clause in book.clauses
        if (count := counts[book.key, clause.clause])
    ]
    # Like ones stay in the order of their books.
    return sorted(found, key=lambda each: (-each.cars, -each.share))


def _alike(cars: Sequence[CarRow]) -> list[SameShapeCars]:
    by_shape: dict[str, list[CarRow]] = {}
    for car in sorted(cars, key=lambda each: natural(each.file)):
        by_shape.setdefault(car.shape, []).append(car)
    found: list[SameShapeCars] = []
    for group in by_shape.values():
        by_mark: dict[str, list[CarRow]] = {}
        for car in group:
            by_mark.setdefault(car.fingerprint, []).append(car)
        if len(by_mark) > 1:
            found.append(SameShapeCars(tuple(group), same=False))
        found += [SameShapeCars(tuple(same), same=True) for same in by_mark.values() if len(same) > 1]
    return found
