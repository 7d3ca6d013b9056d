"""Books for the tests of the trial book; every figure in them is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from bodyshop.foundation.units.instruments import ForceUnit
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    AirflowSeen,
    Answer,
    CarRecord,
    ClassFit,
    Draw,
    Entrant,
    Event,
    EyesAnswer,
    Flow,
    FrozenPrediction,
    Heat,
    HeatLane,
    InspectedValue,
    Inspection,
    MassReading,
    RaceFormat,
    RollTest,
    Ruling,
    TrackRun,
    TunnelReading,
    WeighingStage,
)

SUMMER = timezone(timedelta(hours=1))
DAY = datetime(2031, 5, 14, 9, 30, tzinfo=SUMMER)
WINTER_DAY = datetime(2031, 1, 14, 9, 30, tzinfo=UTC)
EVENT = Event(
    "Quarry Lane Sprint",
    rulebook="quarry-lane",
    track_mm=20000.0,
    gates_mm=(5000.0, 10000.0),
    owner="Larkfield School workshop",
)


def small_book(path: Path) -> Book:
    """An open book with two cars."""
    book = Book.create(path, EVENT, at=DAY)
    book.add(CarRecord("Kestrel", bench="Bench 4"), at=DAY)
    book.add(CarRecord("Wren", bench="Bench 2"), at=DAY)
    return book


def kestrel_book(path: Path) -> None:
    """A book as `trial new` and `trial add car kestrel` make it."""
    from bodyshop.rules.checking import find_design, open_car, shown_file

    opened = open_car(find_design("kestrel")[0])
    with Book.create(path, replace(EVENT, owner=""), at=DAY) as book:
        book.add(
            CarRecord(
                opened.design.name,
                opened.design.bench,
                design_file=shown_file(opened.source.name),
                fingerprint=opened.design.fingerprint,
                rulebook=opened.rulebook.stem,
                design_text=opened.source.text,
            ),
            at=DAY,
        )


def full_book(path: Path) -> Book:
    """An open book with at least one record of every kind, corrected, struck and doubtful ones among them."""
    book = small_book(path)
    with book.writing() as write:
        write.add(
            CarRecord(
                "Häher", bench="=Bench 7", design_text='format = 1\r\nname = "Häher"\n\n# a tab\there\n'
            ),
            at=WINTER_DAY,
            note="+1 for the name",
        )
        first = write.add(MassReading("Kestrel", WeighingStage.BLANK, 314.2), at=DAY, by="Bench 4")
        write.correct(
            MassReading, first.id, MassReading("Kestrel", WeighingStage.BLANK, 341.2), "digits swapped"
        )
        gone = write.add(
            MassReading("Wren", WeighingStage.COMPLETE, 81.5), at=DAY, note='\'=dropped; "once", twice'
        )
        write.strike(MassReading, gone.id, "fell off the balance")
        write.add(AirflowSeen("Kestrel", "behind the front wheel", Flow.DISTURBED, 70.0, 20.0), at=DAY)
        write.add(
            TunnelReading(
                "Kestrel",
                20.0,
                0.1814,
                ForceUnit.GF,
                0.003,
                0.17,
                0.19,
                front_lift_n=-0.02,
                rear_lift_n=0.03,
                temperature_c=21.0,
                pressure_hpa=1013.2,
                humidity_percent=45.0,
            ),
            at=DAY,
        )
        write.add(RollTest("Kestrel", 150.0, 580.0, 6600.0, surface="lino", direction="out"), at=DAY)
        seen = write.add(
            Inspection("Kestrel", "quarry-lane", "legal", passes=True, verdicts='[{"a": 1}]'), at=DAY
        )
        write.add(InspectedValue(seen.id, "body.length", 285.2, "mm", 0.5, "rule", 285.0), at=DAY)
        write.add(EyesAnswer(seen.id, "I1", Answer.YES, "One piece."), at=DAY)
        write.add(FrozenPrediction("Kestrel", 1.05, 0.98, 1.14, inputs='{"mass_g": 84.0}'), at=DAY)
        write.add(ClassFit("impulse", '{"impulse_n_s": 1.7}'), at=DAY)
        write.add(Entrant("Kestrel", seed=1), at=DAY)
        draw = write.add(Draw("first round", RaceFormat.TIME_TRIALS, 2, seed=7), at=DAY)
        heat = write.add(Heat(draw.id, 1, 1, name="heat 1"), at=DAY)
        again = write.add(Heat(draw.id, 1, 2, reruns=heat.id), at=DAY)
        write.add(HeatLane(again.id, 1, "Kestrel"), at=DAY)
        write.add(
            TrackRun(
                "Kestrel",
                20000.0,
                1.043,
                lane=1,
                gates_mm_s=((5000.0, 0.4), (10000.0, 0.6333333333333333)),
                cartridge_before_g=29.1,
                cartridge_after_g=21.2,
                cartridge_c=21.0,
                heat=again.id,
                place=1,
            ),
            at=DAY,
            doubt="It was asked about, and is so.",
        )
        write.add(Ruling("lane 2 closed", "the line sagged", heat=heat.id), at=DAY)
        write.add(Ruling("may run again", car="Wren"), at=DAY)
    return book
