"""Trial books for tests, all figures invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    CarRecord,
    Event,
    MassReading,
    RollTest,
    TrackRun,
    TunnelReading,
    WeighingStage,
)

BEFORE = datetime(2031, 5, 14, 9, 0, tzinfo=UTC)
RACE = BEFORE + timedelta(hours=3)
CARS = ("Kestrel", "Wren", "Swift")


def new_book(folder: Path, cars: tuple[str, ...] = CARS, *, designs: bool = True) -> Book:
    """A book with some of the samples, a lane of 20 m and a gate at 5 m."""
    book = Book.create(
        folder / "class.trials",
        Event("Quarry Lane Sprint", rulebook="quarry-lane", track_mm=20_000.0, gates_mm=(5000.0,)),
        at=BEFORE,
    )
    with book.writing() as writer:
        for name in cars:
            text = (
                (samples_folder() / f"{name.casefold()}.toml").read_text(encoding="utf-8") if designs else ""
            )
            writer.add(CarRecord(name, bench="Bench 4", design_text=text), at=BEFORE)
    return book


def measure(book: Book, car: str) -> None:
    """A balance, a tunnel and a roll test, as a class would note them."""
    records: list[MassReading | TunnelReading | RollTest] = [
        MassReading(car, WeighingStage.COMPLETE, grams) for grams in (121.4, 121.5, 121.4)
    ]
    records += [
        TunnelReading(
            car,
            12.0,
            shown + 0.004,
            drag_zero_n=0.004,
            drag_lowest_n=shown,
            drag_highest_n=shown + 0.008,
            front_lift_n=front,
            rear_lift_n=rear,
            resolution_n=0.001,
            temperature_c=19.5,
            pressure_hpa=1004.0,
        )
        for shown, front, rear in ((0.126, 0.020, 0.055), (0.121, 0.018, 0.060), (0.124, 0.021, 0.058))
    ]
    records += [
        RollTest(car, 150.0, 579.6, 6616.0 + error + slope, direction=way)
        for error, slope, way in (
            (10.0, -250.0, "south"),
            (-15.0, 250.0, "north"),
            (5.0, -250.0, "south"),
            (20.0, 250.0, "north"),
        )
    ]
    with book.writing() as writer:
        for record in records:
            writer.add(record, at=BEFORE)


def run(book: Book, car: str, seconds: float, minutes: int = 0, **more: object) -> None:
    """A timed run over 20 m."""
    record = TrackRun(car, 20_000.0, time_s=seconds, **more)  # type: ignore[arg-type]
    book.add(record, at=RACE + timedelta(minutes=minutes))
