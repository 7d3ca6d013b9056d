"""A trial book of 100,000 records: how long its usual questions take. Bar: each under 100 ms.

python tests/benchmarks/trial_book.py
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    CarRecord,
    Event,
    MassReading,
    Record,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.book.repeats import groups_of
from bodyshop.records.book.tables import row_of

BAR_MS = 100.0
CARS = 500
RECORDS = 100_000


def filled(place: Path) -> Book:
    """A book with records of three kinds, spread over the cars."""
    book = Book.create(place, Event("Quarry Lane Sprint", track_mm=20000.0))
    begin = datetime(2031, 5, 14, 9, 0, tzinfo=UTC)
    with book.writing() as write:
        for k in range(CARS):
            write.add(CarRecord(f"Bird {k}"), at=begin)
        rows: dict[type[Record], list[dict[str, object]]] = {MassReading: [], TrackRun: [], TunnelReading: []}
        for k in range(RECORDS):
            record = _record(k)
            mine = rows[type(record)]
            number = len(mine) + 1
            mine.append(row_of(number, number, begin + timedelta(seconds=k), record, write.car_numbers))
        for kind, made in rows.items():
            write.insert_rows(kind, made)
    return book


def _record(k: int) -> Record:
    car = f"Bird {k % CARS}"
    if k % 3 == 0:
        return MassReading(car, WeighingStage.COMPLETE, 80.0 + k % 7)
    if k % 3 == 1:
        return TrackRun(car, 20000.0, 1.0 + k % 11 / 100)
    return TunnelReading(car, 20.0, 0.18 + k % 5 / 100)


def best_ms(work: Callable[[], object], times: int = 7) -> float:
    """The quickest of some goes, ms."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return min(taken) * 1000


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "large.trials"
        begin = time.perf_counter()
        with filled(place) as book:
            size = place.stat().st_size / 1e6
            print(f"{RECORDS} records in {time.perf_counter() - begin:.1f} s, {size:.0f} MB")
            asked = {
                "all cars": book.cars,
                "one car": lambda: book.car("Bird 77"),
                "records of a car": lambda: book.records(TrackRun, car="Bird 77"),
                "the newest 30": lambda: book.records(TrackRun, newest=30),
                "one record": lambda: book.record(MassReading, 20_000),
                "its history": lambda: book.history(MassReading, 20_000),
                "how many": lambda: book.count(TrackRun),
                "stamp": book.stamp,
                "repeats of a car": lambda: groups_of(book, "Bird 77"),
                "one more record": lambda: book.add(MassReading("Bird 77", WeighingStage.COMPLETE, 80.0)),
            }
            slow = False
            for name, work in asked.items():
                taken = best_ms(work)
                slow |= taken > BAR_MS
                print(f"{name:20} {taken:7.1f} ms{'  TOO SLOW' if taken > BAR_MS else ''}")
        taken = best_ms(lambda: Book.open(place).close(), 3)
        print(f"{'opening the book':20} {taken:7.1f} ms (looks it all over)")
        sys.exit(1 if slow else 0)


if __name__ == "__main__":
    main()
