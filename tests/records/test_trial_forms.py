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
from bodyshop.records.book.hash_chain import examine
from bodyshop.records.book.migrations import (
    APPLICATION_ID,
    Step,
    bring_up,
    columns_in,
    columns_now,
    form_of,
    newest,
)
from bodyshop.records.book.model import (
    KINDS,
    MassReading,
    WeighingStage,
)
from bodyshop.records.book.tables import CHAIN_END, METADATA, TABLES
from tests.records.trial_books import full_book, small_book

BLANK = MassReading("Kestrel", WeighingStage.BLANK, 341.2)


# A form that no bodyshop has had: cars get a colour, and there is a table of teams.
INVENTED = Step(
    (
        "ALTER TABLE car ADD COLUMN colour TEXT",
        "CREATE TABLE team (id INTEGER PRIMARY KEY, name TEXT NOT NULL)",
    )
)


def older_book(place: Path, monkeypatch: pytest.MonkeyPatch, *steps: Step) -> Path:
    """A book of today, and from now on a program that has taken further steps."""
    full_book(place).close()
    monkeypatch.setattr("bodyshop.records.book.migrations.STEPS", steps)
    return place


def refusal(place: Path) -> tuple[str, str]:
    with pytest.raises(ProblemsError) as caught:
        Book.open(place)
    (problem,) = caught.value.problems
    assert problem.file == str(place)
    return problem.code, problem.sentence


def test_an_older_book_is_brought_up_to_date_and_a_copy_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = older_book(tmp_path / "old.trials", monkeypatch, INVENTED)
    with closing(sqlite3.connect(place)) as raw:
        before = list(raw.iterdump())
    with Book.open(place) as book:
        assert (book.migrated_from, book.backup) == (1, tmp_path / "old.trials.form1")
        records = [entry for kind in KINDS.values() for entry in book.records(kind, history=True)]
        copy = book.backup
    assert copy is not None
    with closing(sqlite3.connect(copy)) as raw:
        assert list(raw.iterdump()) == before
        assert form_of(raw) == 1
    with Book.open(place) as book:
        assert (book.migrated_from, book.backup) == (None, None)
        assert [entry for kind in KINDS.values() for entry in book.records(kind, history=True)] == records
    # Every record is still as it was entered: an empty column is no part of its hash.
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        assert form_of(raw) == 2
        assert examine(raw).faults == ()
        assert raw.execute("SELECT count(*) FROM team").fetchone() == (0,)
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            raw.execute("UPDATE roll SET direction = 'out'")
        with pytest.raises(sqlite3.IntegrityError, match="never altered"):
            raw.execute("DELETE FROM heat_lane")


def test_a_book_is_brought_up_through_every_step_between(tmp_path: Path) -> None:
    steps = (INVENTED, Step(("ALTER TABLE team ADD COLUMN school TEXT",)))
    place = tmp_path / "old.trials"
    full_book(place).close()
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        assert [bring_up(raw, steps[:1]), bring_up(raw, steps), bring_up(raw, steps)] == [1, 2, 3]
        assert columns_in(raw)["team"] == ("id", "name", "school")
        assert columns_in(raw)["car"] == (*columns_now()["car"], "colour")


def test_copies_of_older_books_never_take_each_others_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for expected in ("old.trials.form1", "old.trials.form1-2"):
        monkeypatch.undo()
        place = older_book(tmp_path / "old.trials", monkeypatch, INVENTED)
        with Book.open(place) as book:
            assert book.backup == tmp_path / expected
        for end in ("", "-wal", "-shm"):
            Path(f"{place}{end}").unlink(missing_ok=True)


def test_two_that_bring_up_at_once_do_it_once(tmp_path: Path) -> None:
    place = tmp_path / "old.trials"
    full_book(place).close()
    one, two = (sqlite3.connect(place, isolation_level=None) for _ in range(2))
    with closing(one), closing(two):
        assert bring_up(one, [INVENTED]) == 1
        assert bring_up(two, [INVENTED]) == 2


def test_a_book_brought_up_half_way_is_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = Step(("CREATE TABLE extra (id INTEGER)", "CREATE TABLE car (id INTEGER)"))
    place = older_book(tmp_path / "old.trials", monkeypatch, broken)
    with closing(sqlite3.connect(place)) as raw:
        before = list(raw.iterdump())
    with pytest.raises(ProblemsError) as caught:
        Book.open(place)
    (problem,) = caught.value.problems
    assert problem.code == "book-damaged"
    assert "already exists" in problem.found
    assert not list(tmp_path.glob("old.trials.form*"))
    with closing(sqlite3.connect(place)) as raw:
        assert list(raw.iterdump()) == before


def test_tables_of_a_book_are_those_the_program_reads(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
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
        raw.execute(f"PRAGMA user_version = {newest() + 1}")
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = place.read_bytes()
    code, sentence = refusal(place)
    assert code == "book-newer"
    assert "newer bodyshop" in sentence
    assert f"form {newest() + 1}" in sentence
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


def test_an_older_book_that_is_read_only_says_that_it_has_to_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = older_book(tmp_path / "a.trials", monkeypatch, INVENTED)
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
