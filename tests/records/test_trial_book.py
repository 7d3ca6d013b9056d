"""The trial book: what is put in is there, unchanged, and nothing is ever altered or averaged away."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.records.book.book import Book, kind_named
from bodyshop.records.book.columns import columns_of, unit_of
from bodyshop.records.book.model import (
    KIND_NAMES,
    KINDS,
    CarRecord,
    Event,
    Heat,
    HeatLane,
    InspectedValue,
    MassReading,
    Record,
    Ruling,
    TrackRun,
    WeighingStage,
)
from bodyshop.records.book.tables import TABLES
from tests.records.trial_books import DAY, EVENT, WINTER_DAY, full_book, small_book

BLANK = MassReading("Kestrel", WeighingStage.BLANK, 341.2)


def everything(book: Book) -> dict[str, tuple[object, ...]]:
    return {name: book.records(kind, history=True) for name, kind in KINDS.items()}


def codes(error: ProblemsError) -> list[str]:
    return [problem.code for problem in error.problems]


def test_what_was_added_is_read_back_the_same_in_another_opening(tmp_path: Path) -> None:
    with full_book(tmp_path / "class.trials") as book:
        written = everything(book)
    assert all(written.values())
    with Book.open(tmp_path / "class.trials") as book:
        assert everything(book) == written


def test_add_returns_what_is_in_the_book(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        entry = book.add(replace(BLANK, car="kestrel"), at=DAY, by="Bench 4", note="warm", doubt="odd")
        assert entry.record == BLANK  # the car is spelt as the book spells it
        assert book.record(MassReading, entry.id) == entry
        assert (entry.by, entry.note, entry.doubt, entry.counts) == ("Bench 4", "warm", "odd", True)


def test_a_moment_keeps_its_clock(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        for at in (DAY, WINTER_DAY):
            kept = book.add(BLANK, at=at).at
            assert (kept, kept.utcoffset()) == (at, at.utcoffset())
        now = book.add(BLANK).at
        assert now.utcoffset() is not None
        assert abs((datetime.now(tz=now.tzinfo) - now).total_seconds()) < 600


def test_records_come_in_the_order_of_measuring(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        later = book.add(BLANK, at=DAY)
        earlier = book.add(BLANK, at=WINTER_DAY)
        assert [each.id for each in book.records(MassReading)] == [earlier.id, later.id]
        assert [each.id for each in book.records(MassReading, newest=1)] == [later.id]


def test_records_are_picked_by_car_and_by_field(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        book.add(replace(BLANK, car="Wren"))
        book.add(replace(BLANK, stage=WeighingStage.SAWN, mass_g=140.0))
        assert {each.record.car for each in book.records(MassReading, car="wren")} == {"Wren"}
        assert {each.record.stage for each in book.records(MassReading, stage=WeighingStage.SAWN)} == {
            WeighingStage.SAWN
        }
        heat = book.records(Heat)[-1]
        assert [each.record.car for each in book.records(HeatLane, heat=heat.id)] == ["Kestrel"]
        with pytest.raises(ValueError, match="cannot be picked"):
            book.records(MassReading, colour="red")


def test_a_correction_takes_the_place_and_both_stay(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        old = book.add(BLANK, at=DAY)
        new = book.correct(MassReading, old.id, replace(BLANK, mass_g=314.2), "digits swapped", by="Bench 2")
        assert [each.id for each in book.records(MassReading)] == [new.id]
        assert (new.supersedes, new.origin, new.at, new.reason) == (old.id, old.id, old.at, "digits swapped")
        history = book.history(MassReading, new.id)
        assert [each.record.mass_g for each in history] == [341.2, 314.2]
        assert history[0].superseded_by == new.id
        again = book.correct(MassReading, new.id, BLANK, "it was right at first")
        assert [each.id for each in book.history(MassReading, old.id)] == [old.id, new.id, again.id]
        assert book.current(MassReading, old.id) == again
        assert book.count(MassReading) == 1


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_correction_without_a_reason_is_refused(tmp_path: Path, reason: str) -> None:
    with small_book(tmp_path / "a.trials") as book:
        old = book.add(BLANK)
        with pytest.raises(ProblemsError) as caught:
            book.correct(MassReading, old.id, BLANK, reason)
        assert codes(caught.value) == ["book-reason"]
        assert len(book.records(MassReading, history=True)) == 1


def test_what_is_corrected_or_struck_is_not_corrected_again(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        old = book.add(BLANK)
        new = book.correct(MassReading, old.id, BLANK, "once")
        with pytest.raises(ProblemsError) as caught:
            book.correct(MassReading, old.id, BLANK, "twice")
        assert codes(caught.value) == ["book-corrected"]
        struck = book.strike(MassReading, new.id, "fell off")
        assert (struck.struck, struck.counts, struck.record) == (True, False, new.record)
        assert book.records(MassReading) == ()
        with pytest.raises(ProblemsError) as caught:
            book.strike(MassReading, struck.id, "again")
        assert codes(caught.value) == ["book-struck"]


def test_the_file_itself_refuses_to_alter_or_remove_a_record(tmp_path: Path) -> None:
    full_book(tmp_path / "a.trials").close()
    statements = ("UPDATE \"{}\" SET note = note || 'x'", 'UPDATE "{}" SET struck = 0', 'DELETE FROM "{}"')
    with closing(sqlite3.connect(tmp_path / "a.trials", isolation_level=None)) as raw:
        for kind in KINDS:
            for statement in statements:
                with pytest.raises(sqlite3.IntegrityError, match="never altered"):
                    raw.execute(statement.format(kind))


def test_the_mark_of_a_correction_is_set_once(tmp_path: Path) -> None:
    full_book(tmp_path / "a.trials").close()
    with closing(sqlite3.connect(tmp_path / "a.trials", isolation_level=None)) as raw:
        marked = "UPDATE mass SET superseded_by = NULL WHERE superseded_by IS NOT NULL"
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            raw.execute(marked)


@pytest.mark.parametrize(
    ("record", "key"),
    [
        (replace(BLANK, mass_g=float("nan")), "mass_g"),
        (replace(BLANK, mass_g=-1.0), "mass_g"),
        (replace(BLANK, mass_g=True), "mass_g"),
        (replace(BLANK, mass_g=None), "mass_g"),  # type: ignore[arg-type]
        (replace(BLANK, stage="blank"), "stage"),  # type: ignore[arg-type]
        (replace(BLANK, instrument="two\nlines"), "instrument"),
        (replace(BLANK, instrument="x" * 81), "instrument"),
        (replace(BLANK, instrument="\ud800"), "instrument"),
        (TrackRun("Kestrel", 20000.0, lane=0), "lane"),
        (TrackRun("Kestrel", 20000.0, temperature_c=100.0), "temperature_c"),
        (TrackRun("Kestrel", 20000.0, gates_mm_s=((1.0, 2.0, 3.0),)), "gates_mm_s"),  # type: ignore[arg-type]
        (CarRecord(""), "name"),
    ],
)
def test_a_value_that_is_none_of_its_kind_is_refused(tmp_path: Path, record: Record, key: str) -> None:
    with small_book(tmp_path / "a.trials") as book:
        with pytest.raises(ProblemsError) as caught:
            book.add(record)
        assert [problem.key for problem in caught.value.problems] == [key]
        assert book.count(type(record)) == (2 if isinstance(record, CarRecord) else 0)


def test_an_unknown_car_is_refused_with_the_nearest(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        for call in (lambda: book.add(replace(BLANK, car="Kestrle")), lambda: book.car("Kestrle")):
            with pytest.raises(ProblemsError) as caught:
                call()
            assert [(each.code, each.nearest) for each in caught.value.problems] == [("book-car", "Kestrel")]


def test_a_record_that_is_not_there_cannot_be_referred_to(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        with pytest.raises(ProblemsError) as caught:
            book.add(InspectedValue(99, "body.length", 285.0))
        assert codes(caught.value) == ["book-record"]
        with pytest.raises(ProblemsError):
            book.add(Ruling("void", heat=99))
        with pytest.raises(ProblemsError) as caught:
            book.record(MassReading, 99)
        assert codes(caught.value) == ["book-record"]


def test_records_name_the_first_version_of_what_they_refer_to(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        heat = book.records(Heat)[0]
        later = book.correct(Heat, heat.id, replace(heat.record, name="heat one"), "named anew")
        with pytest.raises(ProblemsError) as caught:
            book.add(Ruling("void", heat=later.id))
        assert caught.value.problems[0].nearest == str(heat.origin)
        assert book.add(Ruling("void", heat=later.origin)).record.heat == heat.origin


def test_names_of_cars_are_there_once_and_can_be_corrected(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        book.add(BLANK)
        with pytest.raises(ProblemsError) as caught:
            book.add(CarRecord("KESTREL"))
        assert codes(caught.value) == ["book-car"]
        with pytest.raises(ProblemsError):
            book.add(CarRecord(" Swift"))
        kestrel = book.car("Kestrel")
        book.correct(CarRecord, kestrel.id, replace(kestrel.record, name="Merlin"), "the builder renamed it")
        assert [each.record.name for each in book.cars()] == ["Merlin", "Wren"]
        assert [each.record.car for each in book.records(MassReading, car="merlin")] == ["Merlin"]
        book.add(CarRecord("Kestrel"))  # the name is free again
        with pytest.raises(ProblemsError):
            book.correct(CarRecord, book.car("Wren").id, CarRecord("Merlin"), "a name that is taken")


def test_a_book_has_one_event(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        with pytest.raises(ProblemsError) as caught:
            book.add(Event("Another"))
        assert codes(caught.value) == ["book-event"]
        book.correct(Event, book.event.id, replace(EVENT, lanes=3), "three lanes this year")
        assert book.event.record.lanes == 3
        with pytest.raises(ProblemsError):
            book.strike(Event, book.event.id, "no more")


def test_several_records_go_in_together_or_not_at_all(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:

        def two(second: str) -> None:
            with book.writing() as writer:
                writer.add(BLANK)
                writer.add(replace(BLANK, car=second))

        with pytest.raises(ProblemsError):
            two("nobody")
        assert book.count(MassReading) == 0
        two("Wren")
        assert book.count(MassReading) == 2


def test_the_stamp_tells_that_something_was_added(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book, Book.open(tmp_path / "a.trials") as other:
        before = book.stamp()
        assert before == book.stamp()
        other.add(BLANK)
        assert book.stamp() != before


def test_threads_share_a_book(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        failures: list[BaseException] = []

        def work() -> None:
            try:
                for _ in range(10):
                    book.add(BLANK)
                    book.records(MassReading, car="Kestrel")
            except BaseException as error:  # noqa: BLE001 - told to the test
                failures.append(error)

        threads = [threading.Thread(target=work) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert failures == []
        assert [each.id for each in book.records(MassReading)] == list(range(1, 41))


def test_a_book_is_never_made_over_a_file(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    place.write_bytes(b"somebody's own")
    with pytest.raises(WriteRefusedError):
        Book.create(place, EVENT)
    assert place.read_bytes() == b"somebody's own"
    with pytest.raises(WriteRefusedError):
        Book.create(tmp_path / "nowhere" / "a.trials", EVENT)
    with pytest.raises(ProblemsError):
        Book.create(tmp_path / "b.trials", Event(""))
    assert [each.name for each in tmp_path.iterdir()] == ["a.trials"]


def test_every_kind_is_named_and_every_field_explained() -> None:
    assert set(KIND_NAMES) == set(KINDS.values())
    assert set(TABLES) == set(KINDS)
    for kind in KINDS.values():
        for column in columns_of(kind):
            assert column.about.endswith(".")
    with pytest.raises(ProblemsError) as caught:
        kind_named("mas")
    assert caught.value.problems[0].nearest == "mass"


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("drag_n", "N"),
        ("speed_m_s", "m/s"),
        ("time_s", "s"),
        ("mass_g", "g"),
        ("gates_mm_s", "mm and s"),
        ("lane", ""),
    ],
)
def test_the_end_of_a_name_is_its_unit(name: str, unit: str) -> None:
    assert unit_of(name) == unit
