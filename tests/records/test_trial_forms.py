"""Books of every form, and files that are no book: each opens, or is refused in one clear sentence."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.records.book.book import Book
from bodyshop.records.book.database_file import BACKUP
from bodyshop.records.book.migrations import APPLICATION_ID, FORM, bring_up, form_of
from bodyshop.records.book.model import (
    KINDS,
    CarRecord,
    Draw,
    Heat,
    HeatLane,
    HeatResult,
    MassReading,
    RaceFormat,
    RollTest,
    TrackRun,
    WeighingStage,
)
from bodyshop.records.book.tables import CHAIN_END, METADATA, TABLES
from tests.records.trial_books import full_book, small_book

OLDER = Path(__file__).with_name("older")
ON_RACE_DAY = {"entrant": 1, "draw": 1, "heat": 1, "heat_lane": 1, "heat_result": 1, "ruling": 1}
BLANK = MassReading("Kestrel", WeighingStage.BLANK, 341.2)


def older_book(place: Path, form: int) -> Path:
    """A book as an older bodyshop left it, from the SQL text that is kept."""
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        raw.executescript((OLDER / f"form{form}.sql").read_text(encoding="utf-8"))
        raw.execute("PRAGMA journal_mode = WAL")
    return place


def refusal(place: Path) -> tuple[str, str]:
    with pytest.raises(ProblemsError) as caught:
        Book.open(place)
    (problem,) = caught.value.problems
    assert problem.file == str(place)
    return problem.code, problem.sentence


def test_there_is_a_book_of_every_older_form() -> None:
    kept = sorted(int(file.stem.removeprefix("form")) for file in OLDER.glob("form*.sql"))
    assert kept == list(range(1, FORM))


@pytest.mark.parametrize("form", range(1, FORM))
def test_an_older_book_is_brought_up_to_date_and_a_copy_kept(tmp_path: Path, form: int) -> None:
    place = older_book(tmp_path / "old.trials", form)
    with closing(sqlite3.connect(place)) as raw:
        before = list(raw.iterdump())
    with Book.open(place) as book:
        assert (book.migrated_from, book.backup) == (form, tmp_path / f"old.trials.form{form}")
        assert [car.record.name for car in book.cars()] == ["Kestrel", "Häher"]
        assert [each.record.mass_g for each in book.history(MassReading, 2)] == [314.2, 341.2]
        run = book.records(TrackRun)[0]
        assert (run.record.gates_mm_s, run.record.cartridge_c, run.record.result) == (
            ((5000.0, 0.4),),
            None,
            None,
        )
        assert run.doubt == "The track is 20 m long, not 18 m."
        assert run.at.isoformat() == "2031-05-14T09:30:00+01:00"
        assert book.records(RollTest)[0].record.direction == ""
        assert {name: book.count(kind) for name, kind in KINDS.items() if book.count(kind)} == {
            "event": 1, "car": 2, "mass": 2, "airflow": 1, "drag": 1, "roll": 1, "inspection": 1,
            "inspected_value": 1, "eyes_answer": 1, "prediction": 1, "class_fit": 1, "run": 1,
            **(ON_RACE_DAY if form > 1 else {}),
        }  # fmt: skip
        # All records have an order, and none comes before one that it refers to.
        entries = [entry for kind in KINDS.values() for entry in book.records(kind, history=True)]
        assert sorted(entry.order for entry in entries) == list(range(1, len(entries) + 1))
        for entry in entries:
            if isinstance(entry.record, HeatResult):
                assert entry.order > book.record(Heat, entry.record.heat).order
            car = getattr(entry.record, "car", None)
            if car is not None:
                assert entry.order > book.record(CarRecord, book.car(car).origin).order
        # What the newer form has works on it.
        draw = book.add(Draw("first", RaceFormat.TIME_TRIALS, 2))
        heat = book.add(Heat(draw.id, 1, 1))
        book.add(HeatLane(heat.id, 1, "Häher"))
        book.add(BLANK)
        copy = book.backup
    assert copy is not None
    with closing(sqlite3.connect(copy)) as raw:
        assert list(raw.iterdump()) == before
        assert form_of(raw) == form
    with Book.open(place) as book:
        assert (book.migrated_from, book.backup) == (None, None)
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            raw.execute("UPDATE roll SET direction = 'out'")
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            raw.execute("DELETE FROM heat_lane")


def test_copies_of_older_books_never_take_each_others_place(tmp_path: Path) -> None:
    for expected in ("old.trials.form1", "old.trials.form1-2"):
        place = older_book(tmp_path / "old.trials", 1)
        with Book.open(place) as book:
            assert book.backup == tmp_path / expected
        for end in ("", "-wal", "-shm"):
            Path(f"{place}{end}").unlink(missing_ok=True)


def test_two_that_bring_up_at_once_do_it_once(tmp_path: Path) -> None:
    place = older_book(tmp_path / "old.trials", 1)
    one, two = (sqlite3.connect(place, isolation_level=None) for _ in range(2))
    with closing(one), closing(two):
        assert bring_up(one) == 1
        assert bring_up(two) == FORM
    Book.open(place).close()


def test_a_book_brought_up_half_way_is_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = older_book(tmp_path / "old.trials", 1)
    with closing(sqlite3.connect(place)) as raw:
        before = list(raw.iterdump())

    def broken(form: int) -> str:
        return "CREATE TABLE extra (id INTEGER);\nCREATE TABLE car (id INTEGER);\n"

    monkeypatch.setattr("bodyshop.records.book.migrations._sql", broken)
    with pytest.raises(ProblemsError) as caught:
        Book.open(place)
    (problem,) = caught.value.problems
    assert problem.code == "book-damaged"
    assert "already exists" in problem.found
    assert not list(tmp_path.glob("old.trials.form*"))
    with closing(sqlite3.connect(place)) as raw:
        assert list(raw.iterdump()) == before


@pytest.mark.parametrize("form", range(FORM))
def test_tables_of_a_book_are_those_the_program_reads(tmp_path: Path, form: int) -> None:
    place = tmp_path / "a.trials"
    if form == 0:
        small_book(place).close()
    else:
        Book.open(older_book(place, form)).close()
    with closing(sqlite3.connect(place)) as raw:
        there = {row[0] for row in raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        assert there == set(METADATA.tables) == {*TABLES, CHAIN_END.name}
        for name, table in METADATA.tables.items():
            columns = {
                row[1]: (row[2], bool(row[3]), bool(row[5]))
                for row in raw.execute(f"PRAGMA table_info({name})")
            }
            wanted = {
                column.name: (str(column.type), not column.nullable, column.primary_key) for column in table.c
            }
            assert columns == wanted
            links = {(row[3], row[2], row[4]) for row in raw.execute(f"PRAGMA foreign_key_list({name})")}
            assert links == {
                (key.parent.name, key.column.table.name, key.column.name) for key in table.foreign_keys
            }
            indexes = {row[1] for row in raw.execute(f"PRAGMA index_list({name})")}
            assert {str(index.name) for index in table.indexes} <= indexes


def test_a_newer_book_is_refused_and_not_touched(tmp_path: Path) -> None:
    place = tmp_path / "new.trials"
    small_book(place).close()
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        raw.execute(f"PRAGMA user_version = {FORM + 1}")
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = place.read_bytes()
    code, sentence = refusal(place)
    assert code == "book-newer"
    assert "newer bodyshop" in sentence
    assert f"form {FORM + 1}" in sentence
    assert place.read_bytes() == before
    assert not list(tmp_path.glob("*.damaged*"))


def test_files_that_are_no_book_are_refused(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    place.write_bytes(b"")
    assert refusal(place)[0] == "book-empty"
    place.write_bytes(b"car,mass\nKestrel,84\n" * 100)
    assert refusal(place)[0] == "book-foreign"
    place.unlink()
    place.mkdir()
    assert refusal(place)[0] == "file-folder"
    assert refusal(tmp_path / "nul\0.trials")[0] == "file-missing"


def test_another_programs_database_is_refused_and_not_touched(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with closing(sqlite3.connect(place)) as raw:
        raw.execute("CREATE TABLE car (id INTEGER)")
        raw.commit()
    before = place.read_bytes()
    code, sentence = refusal(place)
    assert code == "book-foreign"
    assert "no trial book" in sentence
    assert place.read_bytes() == before
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.trials"]


def test_a_book_that_is_not_there_is_told_with_the_one_that_is(tmp_path: Path) -> None:
    small_book(tmp_path / "class.trials").close()
    with pytest.raises(ProblemsError) as caught:
        Book.open(tmp_path / "clas.trials")
    assert caught.value.problems[0].nearest == str(tmp_path / "class.trials")


def test_a_read_only_book_is_read_and_not_written(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    place.chmod(stat.S_IREAD)
    with Book.open(place) as book:
        assert not book.writable
        assert len(book.cars()) == 2
        with pytest.raises(WriteRefusedError, match="read-only"):
            book.add(BLANK)
    assert [each.name for each in tmp_path.iterdir()] == ["a.trials"]
    place.chmod(stat.S_IREAD | stat.S_IWRITE)
    with Book.open(place) as book:
        book.add(BLANK)


@pytest.mark.skipif(os.name == "nt", reason="folders have no such mark there")
def test_a_book_in_a_read_only_folder_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    small_book(folder / "a.trials").close()
    (folder / "a.trials").chmod(0o444)
    folder.chmod(0o555)
    try:
        with Book.open(folder / "a.trials") as book:
            assert len(book.cars()) == 2
            with pytest.raises(WriteRefusedError):
                book.add(BLANK)
    finally:
        folder.chmod(0o755)


def test_an_older_book_that_is_read_only_says_that_it_has_to_be_written(tmp_path: Path) -> None:
    place = older_book(tmp_path / "a.trials", 1)
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    place.chmod(stat.S_IREAD)
    with pytest.raises(WriteRefusedError, match="older form"):
        Book.open(place)


def test_a_daily_copy_is_kept_and_renewed(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    copy = tmp_path / f"a.trials.{BACKUP}"
    small_book(place).close()
    Book.open(place).close()
    with Book.open(copy) as book:
        assert book.count(MassReading) == 0
    with Book.open(place) as book:
        book.add(BLANK)
    Book.open(place).close()
    with Book.open(copy) as book:
        assert book.count(MassReading) == 0  # not a day old yet
    day_ago = place.stat().st_mtime - 24 * 3600
    os.utime(copy, (day_ago, day_ago))
    Book.open(place).close()
    with Book.open(copy) as book:
        assert book.count(MassReading) == 1


def test_somebodys_own_file_is_never_taken_for_the_copy(tmp_path: Path) -> None:
    place, own = tmp_path / "a.trials", tmp_path / f"a.trials.{BACKUP}"
    small_book(place).close()
    own.write_text("mine", encoding="utf-8")
    os.utime(own, (0, 0))
    Book.open(place).close()
    assert own.read_text(encoding="utf-8") == "mine"


def test_the_mark_of_our_books_stays() -> None:
    assert APPLICATION_ID.to_bytes(4, "big") == b"bsTb"


def test_a_copied_book_is_the_same_book(tmp_path: Path) -> None:
    full_book(tmp_path / "a.trials").close()
    shutil.copy(tmp_path / "a.trials", tmp_path / "b.trials")
    with Book.open(tmp_path / "a.trials") as one, Book.open(tmp_path / "b.trials") as two:
        for kind in KINDS.values():
            assert one.records(kind, history=True) == two.records(kind, history=True)
