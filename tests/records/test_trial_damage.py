"""Damaged books, many of them: each gets its words, and none opens with a record altered.

`tests/benchmarks/damaged_books.py` does the same with 20,000 of them.
"""

from __future__ import annotations

import shutil
import sqlite3
import struct
from collections import Counter
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Event, MassReading, TrackRun, WeighingStage
from bodyshop.records.book.repair import UNSURE
from bodyshop.records.book.salvage import salvage
from tests.app.running import run_here
from tests.records import damaging
from tests.records.damaging import Chance, checked, class_book, damage, opened, salvaged
from tests.records.trial_books import small_book

SEED = 7


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory):
    place = tmp_path_factory.mktemp("whole") / "a.trials"
    wanted = class_book(place)
    return place.read_bytes(), wanted


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_no_damaged_book_opens_altered_and_nothing_crashes(tmp_path: Path, whole, first: int) -> None:
    data, wanted = whole
    seen: Counter[str] = Counter()
    for case in range(first, first + 20):
        folder = tmp_path / str(case)
        folder.mkdir()
        place = folder / "a.trials"
        how = damage(Chance(SEED, case), data, place)
        for name in ("b.trials", "c.trials"):
            shutil.copy(place, folder / name)
        became, more = opened(place, wanted)
        assert became in ("unaltered", "refused"), (case, how, more)
        check, more = checked(folder / "b.trials", became)
        assert check in ("unaltered", "faults", "refused"), (case, how, more)
        brought, more = salvaged(folder / "c.trials", folder / "new.trials", wanted)
        assert brought in ("whole", "part", "refused"), (case, how, more)
        seen.update((became, brought))
    assert seen["refused"] > 5
    assert seen["part"] > 3


def test_the_look_for_alterations_finds_them(tmp_path: Path, whole, monkeypatch: pytest.MonkeyPatch) -> None:
    """The counter-case: without the chain, altered records are read as if nothing had been."""
    data, wanted = whole
    nothing = SimpleNamespace(faults=())
    monkeypatch.setattr("bodyshop.records.book.database_file.examine", lambda _: nothing)
    monkeypatch.setattr("bodyshop.records.book.book.is_as_entered", lambda *_: True)
    place = tmp_path / "a.trials"
    place.write_bytes(data)
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("DROP TRIGGER mass_kept")
        connection.execute("UPDATE mass SET mass_g = 85.5 WHERE id = 5")
        connection.commit()
    assert opened(place, wanted)[0] == "altered"
    monkeypatch.undo()
    assert opened(place, wanted)[0] == "refused"


@pytest.mark.parametrize("number", [0, 2, 3, -1, -(2**31), 2**31 - 1])
def test_a_forged_form_gets_its_words_and_leaves_no_copies(tmp_path: Path, whole, number: int) -> None:
    data, wanted = whole
    place = tmp_path / "a.trials"
    place.write_bytes(data[:60] + struct.pack(">i", number) + data[64:])  # user_version in a file of SQLite
    for _ in range(2):
        assert opened(place, wanted)[0] == "refused"
    assert not list(tmp_path.glob("a.trials.form*"))
    assert salvaged(place, tmp_path / "new.trials", wanted)[0] == "whole"


ODD = {
    "a text that is no text": ("mass", "note = CAST(x'c3' AS TEXT)"),
    "a time zone of 1e308": ("mass", "zone_min = 1e308"),
    "a time zone of ten days": ("mass", "zone_min = 14400"),
    "a moment that is none": ("mass", "at_utc = 'yesterday'"),
    "a moment of bytes": ("mass", "at_utc = x'00ff'"),
    "a reason of bytes": ("mass", "reason = x'00ff'"),
}


@pytest.mark.parametrize("what", ODD)
def test_what_made_the_program_stumble(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    monkeypatch.chdir(tmp_path)
    place = tmp_path / "class.trials"
    with small_book(place) as book:
        for k in range(3):
            book.add(MassReading("Wren", WeighingStage.COMPLETE, 80.0 + k))
    kind, change = ODD[what]
    with closing(sqlite3.connect(place)) as connection:
        connection.execute(f"DROP TRIGGER {kind}_kept")
        connection.execute(f"UPDATE {kind} SET {change} WHERE id = 2")  # noqa: S608 - words of this test
        connection.commit()
    for words in (("list", "mass"), ("show", "Wren"), ("export",)):
        ran = run_here(capsys, "trial", *words)
        assert ran.code == 2
        assert "the book is damaged" in " ".join(ran.err.split())
        assert "mass record 2 is not as it was entered" in " ".join(ran.err.split())
    ran = run_here(capsys, "trial", "salvage", "class.trials", "new.trials")
    assert ran.code == 0
    assert "3, 1 of them in doubt" in ran.out
    with Book.open("new.trials") as book:
        masses = book.records(MassReading)
        assert sorted(entry.record.mass_g for entry in masses) == [80.0, 81.0, 82.0]
        assert [entry.id for entry in masses if entry.doubt] == [2]


def test_salvage_says_what_is_missing(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with small_book(place) as book:
        for k in range(3):
            book.add(MassReading("Wren", WeighingStage.COMPLETE, 80.0 + k))
        run = book.add(TrackRun("Wren", 20000.0, 1.04))
        book.strike(TrackRun, run.id, "another car")
    with closing(sqlite3.connect(place)) as connection:
        for kind, number in (("mass", 2), ("run", 2), ("event", 1)):
            connection.execute(f"DROP TRIGGER {kind}_stays")
            connection.execute(f"DELETE FROM {kind} WHERE id = ?", (number,))  # noqa: S608
        connection.commit()
    done = salvage(place, tmp_path / "new.trials")
    assert done.missing == 3
    assert done.saved == {"car": 2, "mass": 2, "run": 1}
    with Book.open(tmp_path / "new.trials") as book:
        assert book.event.record == Event("Salvaged book")
        # It was struck, and that is lost: it does not count again as if nothing had been.
        (again,) = book.records(TrackRun)
        assert (again.supersedes, again.doubt) == (run.id, UNSURE)


def test_salvage_needs_no_names_of_columns(tmp_path: Path, whole) -> None:
    data, wanted = whole
    place = tmp_path / "a.trials"
    place.write_bytes(data.replace(b"noted_by TEXT NOT NULL", b"nxted_by TEXT NOT NULL"))
    with pytest.raises(ProblemsError):
        Book.open(place)
    assert salvaged(place, tmp_path / "new.trials", wanted)[0] == "whole"


def test_every_way_to_damage_is_used(tmp_path: Path, whole) -> None:
    seen = set()
    for case in range(120):
        seen.update(damage(Chance(SEED, case), whole[0], tmp_path / "a.trials").split("+"))
    assert seen == {how.__name__ for how in (*damaging.BYTES, *damaging.SQL)}
