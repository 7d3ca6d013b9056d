"""What goes wrong under a book: full disks, damage, several programs at once, a blow in mid-entry."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import event

from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import KINDS, Entry, MassReading, TrackRun, WeighingStage
from bodyshop.records.book.salvage import salvage
from tests.records.trial_books import full_book, small_book

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
BLANK = MassReading("Kestrel", WeighingStage.BLANK, 341.2)


def started(script: str, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(HERE / script), *words],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )


def ended(process: subprocess.Popen[str]) -> list[str]:
    out, err = process.communicate(timeout=300)
    assert process.returncode == 0, err
    return out.splitlines()


@pytest.mark.slow
def test_every_acknowledged_record_outlives_two_hundred_kills(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    lives = 200 if hasattr(os, "fork") else 8
    (line,) = ended(started("trials_dying.py", str(place), str(lives), "6"))
    told = json.loads(line)
    assert told["missing"] == []
    assert told["broken"] == 0
    assert told["lives"] == lives
    assert told["acknowledged"] > lives
    assert told["in_book"] >= told["acknowledged"]
    if hasattr(os, "fork"):
        assert told["unheard"] > 10  # some blows did fall between the commit and the word of it
    with Book.open(place) as book:
        assert book.count(MassReading) == told["in_book"]


def test_two_programs_write_one_book_at_once(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    count = 60
    both = [started("adding.py", str(place), str(count)) for _ in range(2)]
    numbers = [int(line) for process in both for line in ended(process)]
    assert sorted(numbers) == list(range(1, 2 * count + 1))
    with Book.open(place) as book:
        assert [entry.id for entry in book.records(MassReading, history=True)] == sorted(numbers)


def test_a_program_that_keeps_the_book_is_waited_for_and_then_told(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    with (
        closing(sqlite3.connect(place, isolation_level=None)) as other,
        Book.open(place, wait_s=0.05) as book,
    ):
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(WriteRefusedError, match="another program"):
            book.add(BLANK)
        assert len(book.cars()) == 2  # reading goes on
        other.execute("ROLLBACK")
        assert book.add(BLANK).id == 1


def test_a_full_disk_loses_nothing(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    with Book.open(place) as book:

        @event.listens_for(book._engine, "connect")
        def _small(connection: sqlite3.Connection, _: object) -> None:
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
            connection.execute(f"PRAGMA max_page_count = {pages + 3}")

        book._engine.dispose()
        stored: list[Entry[MassReading]] = []

        def fill() -> None:
            while len(stored) < 1000:
                stored.append(book.add(BLANK, note="x" * 900))

        with pytest.raises(WriteRefusedError, match="the disk is full") as caught:
            fill()
        assert caught.value.path == str(place)
        assert stored
        assert book.records(MassReading) == tuple(stored)
        event.remove(book._engine, "connect", _small)
        book._engine.dispose()
        stored.append(book.add(BLANK))
    with Book.open(place) as book:
        assert book.records(MassReading) == tuple(stored)


@pytest.mark.skipif(os.name == "nt", reason="no limit of the size of files there")
def test_a_file_that_may_not_grow_loses_nothing(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    *numbers, last = ended(started("adding.py", str(place), "10000", "120000"))
    assert last.startswith("refused: the disk")
    assert "still there" in last
    assert len(numbers) > 5
    with Book.open(place) as book:
        assert [entry.id for entry in book.records(MassReading)] == [int(number) for number in numbers]
        book.add(BLANK)


def test_a_new_book_on_a_full_disk_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class FullError(sqlite3.OperationalError):
        sqlite_errorcode = sqlite3.SQLITE_FULL

    def full(_: sqlite3.Connection) -> int:
        raise FullError("database or disk is full")

    monkeypatch.setattr("bodyshop.records.book.database_file.bring_up", full)
    with pytest.raises(WriteRefusedError, match="the disk is full"):
        small_book(tmp_path / "a.trials")
    assert list(tmp_path.iterdir()) == []


# ---------------------------------------------------------------- damage


def damage(place: Path, chance: np.random.Generator, how: str) -> None:
    data = bytearray(place.read_bytes())
    if how == "cut":
        data = data[: int(chance.integers(200, len(data) - 100))]
    elif how == "noise":
        at = int(chance.integers(100, len(data) - 400))
        data[at : at + 300] = chance.integers(0, 256, 300, dtype=np.uint8).tobytes()
    elif how == "page":
        page = int(chance.integers(1, len(data) // 4096))
        data[page * 4096 : (page + 1) * 4096] = bytes(4096)
    else:
        data[16:100] = chance.integers(0, 256, 84, dtype=np.uint8).tobytes()
    place.write_bytes(bytes(data))


@pytest.mark.parametrize("how", ["cut", "noise", "page", "head"])
def test_a_damaged_book_is_told_or_still_whole_and_never_a_traceback(tmp_path: Path, how: str) -> None:
    whole = tmp_path / "whole.trials"
    with full_book(whole) as book, book.writing() as writer:
        for k in range(120):
            writer.add(MassReading("Wren", WeighingStage.SANDED, 80.0 + k / 10))
    chance = np.random.default_rng(11)
    found = 0
    for case in range(6):
        folder = tmp_path / str(case)
        folder.mkdir()
        place = folder / "a.trials"
        place.write_bytes(whole.read_bytes())
        damage(place, chance, how)
        spoilt = place.read_bytes()
        try:
            with Book.open(place) as book:
                for kind in KINDS.values():
                    book.records(kind, history=True)
        except ProblemsError as error:
            found += 1
            (problem,) = error.problems
            assert problem.code in ("book-damaged", "book-foreign", "book-newer", "book-unreadable")
            if problem.code == "book-damaged":
                (kept,) = folder.glob("a.trials.damaged*")
                assert kept.read_bytes() == spoilt
                assert kept.name in problem.message
                assert "salvage" in problem.message
        assert place.read_bytes()[:100] == spoilt[:100] or how == "noise"
    assert found >= (1 if how == "noise" else 3)  # noise may fall where nothing is kept


def test_the_same_damage_is_copied_once(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    full_book(place).close()
    data = place.read_bytes()
    place.write_bytes(data[: len(data) // 2])
    for _ in range(3):
        with pytest.raises(ProblemsError):
            Book.open(place)
    assert len(list(tmp_path.glob("a.trials.damaged*"))) == 1


def test_damage_is_told_with_the_last_whole_copy(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    full_book(place).close()
    Book.open(place).close()
    data = place.read_bytes()
    place.write_bytes(data[: len(data) // 2])
    with pytest.raises(ProblemsError) as caught:
        Book.open(place)
    assert "a.trials.backup" in caught.value.problems[0].message
    with Book.open(tmp_path / "a.trials.backup") as book:
        assert book.count(TrackRun) == 1


def test_salvage_brings_out_what_can_be_read(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with full_book(place) as book:
        with book.writing() as writer:
            for k in range(400):
                writer.add(MassReading("Wren", WeighingStage.SANDED, 80.0 + k / 10))
        wanted = {
            name: {entry.id: entry for entry in book.records(kind, history=True)}
            for name, kind in KINDS.items()
        }
    data = bytearray(place.read_bytes())
    with closing(sqlite3.connect(place)) as raw:
        root = raw.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'mass'").fetchone()[0]
        leaves = (
            [
                row[0]
                for row in raw.execute("SELECT pageno FROM dbstat WHERE name = 'mass' AND pagetype = 'leaf'")
            ]
            if _has_dbstat(raw)
            else [root + 40]
        )
    spoilt = leaves[len(leaves) // 2]
    data[(spoilt - 1) * 4096 : spoilt * 4096] = b"\x7f" * 4096
    place.write_bytes(bytes(data))
    with pytest.raises(ProblemsError):
        Book.open(place)
    done = salvage(place, tmp_path / "new.trials")
    with Book.open(tmp_path / "new.trials") as book:
        assert {name: done.saved.get(name, 0) for name in KINDS} == {
            name: len(book.records(kind, history=True)) for name, kind in KINDS.items()
        }
        for name, kind in KINDS.items():
            for entry in book.records(kind, history=True):
                assert entry.record == wanted[name][entry.id].record
        assert 250 < book.count(MassReading) < 402
        assert book.count(TrackRun) == 1
        book.add(BLANK)
    assert place.read_bytes() == bytes(data)


def _has_dbstat(raw: sqlite3.Connection) -> bool:
    try:
        raw.execute("SELECT 1 FROM dbstat LIMIT 1").fetchone()
    except sqlite3.Error:
        return False
    return True


def test_salvage_of_a_whole_book_loses_nothing(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with full_book(place) as book:
        wanted = [book.records(kind, history=True) for kind in KINDS.values()]
    done = salvage(place, tmp_path / "new.trials")
    assert done.lost == {}
    with Book.open(tmp_path / "new.trials") as book:
        assert [book.records(kind, history=True) for kind in KINDS.values()] == wanted


def test_salvage_of_nothing_makes_no_book(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    place.write_bytes(b"SQLite format 3\x00" + b"\x00" * 5000)
    with pytest.raises(ProblemsError) as caught:
        salvage(place, tmp_path / "new.trials")
    assert caught.value.problems[0].code == "book-damaged"
    assert not (tmp_path / "new.trials").exists()
    small_book(tmp_path / "b.trials").close()
    (tmp_path / "taken").write_text("mine", encoding="utf-8")
    with pytest.raises(WriteRefusedError):
        salvage(tmp_path / "b.trials", tmp_path / "taken")
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine"
