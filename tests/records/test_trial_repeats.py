"""Repeats: all kept, their mean, their spread, and the interval of the mean."""

from __future__ import annotations

import math
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.dialects import sqlite as dialect

from bodyshop.foundation.statistics import repeats
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    KINDS,
    MassReading,
    RollTest,
    RunEnd,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.book.repeats import groups_of
from bodyshop.records.book.tables import TABLES
from tests.records.trial_books import DAY, small_book


def test_a_worked_example() -> None:
    # By hand: mean 1.052, deviations -0.009, 0.009, 0: s = 0.009; t(0.975, 2) = 4.303 (NIST/SEMATECH
    # e-Handbook, 1.3.6.7.2), so half = 4.303 * 0.009 / sqrt(3) = 0.02236.
    found = repeats([1.043, 1.061, 1.052])
    assert found.mean == pytest.approx(1.052)
    assert found.spread == pytest.approx(0.009)
    assert found.half_width == pytest.approx(0.02236, abs=2e-5)
    assert found.values == (1.043, 1.061, 1.052)


def test_equal_readings_of_a_coarse_balance_are_not_exact() -> None:
    found = repeats([84.0] * 10, resolution=1.0)
    assert found.spread == 0.0
    assert found.half_width == pytest.approx(1.959964 / math.sqrt(12))
    assert repeats([84.0] * 10).half_width == 0.0


def test_one_reading_shows_no_spread() -> None:
    found = repeats([84.0], 0.1)
    assert (found.spread, found.low, found.high, found.half_width) == (None, None, None, None)
    with pytest.raises(ValueError, match="no values"):
        repeats([])


def test_repeats_are_grouped_by_what_they_measure(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        with book.writing() as write:
            for mass in (341.2, 341.4):
                write.add(MassReading("Kestrel", WeighingStage.BLANK, mass), at=DAY)
            write.add(MassReading("Kestrel", WeighingStage.COMPLETE, 84.0), at=DAY)
            write.add(MassReading("Wren", WeighingStage.BLANK, 300.0), at=DAY)
            for speed, drag in ((20.0, 0.18), (20.3, 0.19), (15.0, 0.1)):
                write.add(TunnelReading("Kestrel", speed, drag, drag_zero_n=0.01), at=DAY)
            write.add(RollTest("Kestrel", 150.0, 580.0, 6600.0), at=DAY)
            write.add(RollTest("Kestrel", 150.0, 580.0, 6700.0, direction="back"), at=DAY)
            write.add(TrackRun("Kestrel", 20000.0, 1.04), at=DAY)
            write.add(TrackRun("Kestrel", 20000.0, 1.06), at=DAY)
            write.add(TrackRun("Kestrel", 20000.0, None, end=RunEnd.STOPPED), at=DAY)
        found = [(group.what, group.when, group.repeats.count) for group in groups_of(book, "Kestrel")]
        assert found == [
            ("mass", "blank", 2),
            ("mass", "complete", 1),
            ("drag", "at 15 m/s", 1),
            ("drag", "at 20.1 m/s", 2),
            ("run-out", "ramp 150 by 580 mm, from the foot of the ramp", 1),
            ("run-out", "ramp 150 by 580 mm, from the foot of the ramp, back", 1),
            ("time", "20 m", 2),
        ]
        drags = groups_of(book, "Kestrel")[3]
        assert drags.repeats.values == pytest.approx((0.17, 0.18))


def test_a_corrected_reading_is_no_repeat(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        wrong = book.add(MassReading("Kestrel", WeighingStage.BLANK, 314.2))
        book.correct(
            MassReading, wrong.id, MassReading("Kestrel", WeighingStage.BLANK, 341.2), "digits swapped"
        )
        gone = book.add(MassReading("Kestrel", WeighingStage.BLANK, 500.0))
        book.strike(MassReading, gone.id, "another car")
        (group,) = groups_of(book, "Kestrel")
        assert group.repeats.values == (341.2,)


@pytest.mark.parametrize("kind", [name for name in KINDS if name != "event"])
def test_questions_of_a_large_book_use_an_index(kind: str, plan: dict[str, list[str]]) -> None:
    assert plan[kind]
    for step in plan[kind]:
        assert "USING" in step, step
        assert "SCAN" not in step or "INDEX" in step, step
        assert "TEMP B-TREE" not in step, step


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """How the database goes about the usual questions: of one car or parent, the newest, the history."""
    place = tmp_path_factory.mktemp("plan") / "a.trials"
    small_book(place).close()
    found: dict[str, list[str]] = {}
    with closing(sqlite3.connect(place)) as raw:
        for kind, table in TABLES.items():
            standing = select(table).where(table.c.superseded_by.is_(None), table.c.struck == 0)
            order = (table.c.at_utc, table.c.id)
            queries = [
                standing.order_by(table.c.at_utc.desc(), table.c.id.desc()).limit(30),
                select(table).where(table.c.id == 1),
                select(table).where(table.c.origin == 1),
            ]
            queries += [
                standing.where(table.c[column.name] == 1).order_by(*order)
                for column in table.c
                if column.name.endswith("_id")
            ]
            found[kind] = []
            for query in queries:
                text = query.compile(dialect=dialect.dialect(), compile_kwargs={"literal_binds": True})
                found[kind] += [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {text}")]
    return found


def test_a_book_may_be_asked_while_it_is_written(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with small_book(place) as book, book.writing() as writer, Book.open(place) as other:
        writer.add(MassReading("Kestrel", WeighingStage.BLANK, 341.2))
        assert other.count(MassReading) == 0
    with Book.open(place) as book:
        assert book.count(MassReading) == 1
