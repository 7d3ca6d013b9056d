"""The chain through all records: whatever is altered, taken out or put in shows."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.book import database_file as filing
from bodyshop.records.book import hash_chain as chain
from bodyshop.records.book.book import Book
from bodyshop.records.book.check import check_book
from bodyshop.records.book.csv_in import create_from_csv, import_csv, kind_of_file
from bodyshop.records.book.csv_table import export_tables
from bodyshop.records.book.database_file import GENERATIONS
from bodyshop.records.book.model import KINDS, FrozenPrediction, MassReading, TrackRun, WeighingStage
from bodyshop.records.book.tables import TABLES
from tests.app.running import run_here
from tests.documents import valid
from tests.records.trial_books import DAY, full_book, small_book

DAY_S = 24 * 3600.0


def raw(place: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(place, isolation_level=None)
    for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
        connection.execute(f'DROP TRIGGER "{name}"')
    return connection


def altered(place: Path, *statements: str) -> Path:
    """The book after somebody went at it with another program."""
    with closing(raw(place)) as connection:
        for statement in statements:
            connection.execute(statement)
    return place


def test_hashes_are_those_that_the_rule_gives(tmp_path: Path) -> None:
    """The rule in DEVELOPERS.md, followed here by hand with the standard library alone."""
    place = tmp_path / "a.trials"
    full_book(place).close()
    rows = []
    with closing(sqlite3.connect(place)) as connection:
        for kind in KINDS:
            rows += [(row["book_order"], kind, row) for row in chain.read_rows(connection, kind)]
        end = tuple(connection.execute("SELECT records, kind, id, hash FROM chain_end").fetchone())
    before = "0" * 64
    for place_in_book, (order, kind, row) in enumerate(sorted(rows, key=lambda each: each[0]), 1):
        assert order == place_in_book
        assert row["hash_before"] == before
        values = {
            name: value
            for name, value in sorted(row.items())
            if name not in ("superseded_by", "hash_before", "hash") and value not in (None, "")
        }
        text = json.dumps([before, kind, values], separators=(",", ":"))
        assert row["hash"] == hashlib.sha256(text.encode()).hexdigest()
        before = row["hash"]
        assert end[0] == len(rows)
    assert end == (len(rows), kind, row["id"], before)


def test_a_record_of_a_mass_has_this_hash() -> None:
    """`sha256sum` of GNU coreutils gives this for the text that the rule makes."""
    row = {"id": 1, "origin": 1, "note": "", "mass_g": 84.0, "zone_min": -0.0, "car_id": None, "hash": "x"}
    assert chain.hash_of("mass", row, chain.START) == SUM_OF_THE_TEXT


SUM_OF_THE_TEXT = "18c2314994d287cff484164f6846c5ecf94df96098980d884a2b0478247c3e5b"


ALTERED = {
    "a figure": "UPDATE mass SET mass_g = 84.5 WHERE id = 3",
    "a digit far down": "UPDATE run SET time_s = time_s + 1e-12",
    "a moment": "UPDATE prediction SET at_utc = '2031-01-01T08:30:00.000Z'",
    "a time zone": "UPDATE run SET zone_min = 1e308",
    "a text": "UPDATE ruling SET because = 'the line was wet' WHERE id = 1",
    "a text that is none": "UPDATE mass SET note = CAST(x'ff41fe' AS TEXT) WHERE id = 3",
    "a blob": "UPDATE inspection SET verdicts = x'00ff'",
    "another car": "UPDATE run SET car_id = 2",
    "nothing in place of a text": "UPDATE car SET bench = '' WHERE id = 1",
    "an empty text in place of no figure": "UPDATE run SET mass_g = '' WHERE mass_g IS NULL",
    "an empty text in place of no number": "UPDATE heat SET reruns_id = '' WHERE reruns_id IS NULL",
    "a struck record": "UPDATE mass SET struck = 0 WHERE struck = 1",
    "its place": "UPDATE run SET book_order = book_order + 1000",
    "a hash": "UPDATE run SET hash = 'abc'",
    "a record taken out": "DELETE FROM run",
    "the last record taken out": "DELETE FROM ruling WHERE id = 2",
    "a mark of a correction gone": "UPDATE mass SET superseded_by = NULL WHERE id = 1",
    "a mark of no correction": "UPDATE roll SET superseded_by = 1",
    "the end": "UPDATE chain_end SET records = records - 1",
    "no end": "DELETE FROM chain_end",
    "an end of nothing": "UPDATE chain_end SET kind = 'nothing'",
}


@pytest.mark.parametrize("large", [False, True], ids=["small book", "large book"])
@pytest.mark.parametrize("what", ALTERED)
def test_whatever_was_altered_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str, large: bool
) -> None:
    place = tmp_path / "a.trials"
    full_book(place).close()
    if large:
        monkeypatch.setattr(chain, "WHOLE_AT_OPENING", 0)
        monkeypatch.setattr(filing, "WHOLE_AT_OPENING", 0)
        Book.open(place).close()  # the daily copy is made
    altered(place, ALTERED[what])
    assert check_book(place).faults
    with pytest.raises(ProblemsError) as caught:
        _read_all(place)
    (problem,) = caught.value.problems
    assert problem.code == "book-damaged"
    assert "salvage" in problem.message


def _read_all(place: Path) -> None:
    with Book.open(place) as book:
        for kind in KINDS.values():
            book.records(kind, history=True)
        # What a large book does not look at when it is opened shows before its next copy.
        stamp = place.stat().st_mtime - 2 * DAY_S
        os.utime(f"{place}.backup", (stamp, stamp))
    Book.open(place).close()


def test_an_unaltered_book_is_whole(tmp_path: Path) -> None:
    """The counter-case: the same tools, and nothing altered."""
    place = tmp_path / "a.trials"
    full_book(place).close()
    altered(place, "UPDATE run SET time_s = time_s", "UPDATE car SET bench = bench")
    assert check_book(place).faults == ()
    _read_all(place)


def test_a_form_that_is_not_its_own_shows(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    full_book(place).close()
    altered(place, "ALTER TABLE car ADD COLUMN colour TEXT")
    assert "its tables are not those of that form" in check_book(place).faults[0].message
    altered(place, "PRAGMA user_version = 0")
    with pytest.raises(ProblemsError, match="damaged"):
        Book.open(place)


def test_a_record_put_in_between_shows(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    full_book(place).close()
    with closing(raw(place)) as connection:
        connection.row_factory = sqlite3.Row
        row = dict(connection.execute("SELECT * FROM prediction").fetchone())
        # As if it had been made in the place of the very first record, with a hash that fits.
        row |= {"id": 2, "origin": 2, "time_s": 1.043, "book_order": 1, "hash_before": chain.START}
        row["hash"] = chain.hash_of("prediction", row, chain.START)
        names, marks = ", ".join(f'"{name}"' for name in row), ", ".join("?" * len(row))
        connection.execute(f"INSERT INTO prediction ({names}) VALUES ({marks})", tuple(row.values()))  # noqa: S608 - names of ours
        connection.execute("UPDATE chain_end SET records = records + 1")
    assert any("in the book, after number" in fault.message for fault in check_book(place).faults)
    with pytest.raises(ProblemsError):
        Book.open(place)


def test_a_book_whose_end_was_cut_off_does_not_have_the_code_of_its_end(tmp_path: Path) -> None:
    """Somebody who makes the whole chain anew is found by a code that was written down."""
    place = tmp_path / "a.trials"
    with full_book(place) as book:
        code = check_book(place).code
        book.add(MassReading("Wren", WeighingStage.BLANK, 300.0))
    assert check_book(place, code).since == 1
    assert check_book(place, code).faults == ()
    with closing(raw(place)) as connection:
        connection.execute("DELETE FROM mass WHERE book_order = (SELECT max(book_order) FROM mass)")
        connection.execute("DELETE FROM ruling WHERE id = 2")
        last = connection.execute("SELECT book_order, id, hash FROM ruling").fetchone()
        connection.execute("UPDATE chain_end SET records = ?, kind = 'ruling', id = ?, hash = ?", last)
    assert check_book(place).faults == ()
    (fault,) = check_book(place, code).faults
    assert code in fault.message


def test_adding_goes_on_from_the_end_and_not_from_a_damaged_one(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    with small_book(place) as book:
        entries = [book.add(MassReading("Wren", WeighingStage.BLANK, 300.0 + k), at=DAY) for k in range(3)]
        assert [entry.order for entry in entries] == [4, 5, 6]
        altered(place, "UPDATE mass SET mass_g = 1 WHERE id = 3")
        with pytest.raises(ProblemsError, match="damaged"):
            book.add(MassReading("Wren", WeighingStage.BLANK, 310.0))
    with closing(sqlite3.connect(place)) as connection:
        assert connection.execute("SELECT count(*) FROM mass").fetchone() == (3,)


def test_one_more_record_reads_no_other_but_the_last(tmp_path: Path) -> None:
    """The same work however long the book is: counted in rows, not in time."""
    place = tmp_path / "a.trials"
    steps = []
    with small_book(place) as book:
        for count in (10, 400):
            with book.writing() as writer:
                for k in range(count):
                    writer.add(MassReading("Wren", WeighingStage.BLANK, 300.0 + k), at=DAY)
            with book.writing() as writer:
                connection = writer.connection.connection.driver_connection
                assert connection is not None
                taken = [0]

                def step(taken: list[int] = taken) -> None:
                    taken[0] += 1

                connection.set_progress_handler(step, 1)
                writer.add(MassReading("Wren", WeighingStage.BLANK, 400.0), at=DAY)
                connection.set_progress_handler(None, 0)
            steps.append(taken[0])
    assert steps[1] <= 1.1 * steps[0]


# ---------------------------------------------------------------- tables


def exported(place: Path) -> list:
    with Book.open(place) as book:
        return [(kind_of_file(name), data, name) for name, data in export_tables(book).items()]


def test_tables_read_in_again_make_the_very_same_chain(tmp_path: Path) -> None:
    full_book(tmp_path / "a.trials").close()
    create_from_csv(tmp_path / "b.trials", exported(tmp_path / "a.trials"))
    assert check_book(tmp_path / "b.trials") == check_book(tmp_path / "a.trials")


def test_tables_that_tell_no_order_bring_predictions_last(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        assert book.records(FrozenPrediction)[0].order < book.records(TrackRun)[0].order
    tables = []
    for kind, data, name in exported(tmp_path / "a.trials"):
        head, *lines = data.decode("utf-8-sig").splitlines(keepends=True)
        tables.append((kind, (head.replace(",order,", ",,") + "".join(lines)).encode(), name))
    create_from_csv(tmp_path / "b.trials", tables)
    with Book.open(tmp_path / "b.trials") as book:
        last = max(entry.order for kind in KINDS.values() for entry in book.records(kind, history=True))
        assert book.records(FrozenPrediction)[0].order == last


def test_what_is_read_in_comes_after_what_is_there(tmp_path: Path) -> None:
    full_book(tmp_path / "a.trials").close()
    tables = exported(tmp_path / "a.trials")
    with small_book(tmp_path / "b.trials") as book:
        import_csv(
            book, [each for each in tables if each[0] in (FrozenPrediction, TrackRun)][:1], confirm=True
        )
        assert book.records(FrozenPrediction)[0].order == 4


# ---------------------------------------------------------------- trial check


@pytest.fixture
def trial(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable:
    monkeypatch.chdir(tmp_path)
    full_book(tmp_path / "class.trials").close()
    return lambda *words: run_here(capsys, "trial", *words)


def test_check_says_that_all_is_well(trial, tmp_path: Path) -> None:
    ran = trial("check")
    assert ran.code == 0
    assert "all as they were entered" in ran.out
    code = check_book(tmp_path / "class.trials").code
    assert code in ran.out
    trial("add", "mass", "Wren", "84.5g", "complete", "--confirm")
    since = trial("check", "--code", f"{code[:8]} {code[8:]}")
    assert since.code == 0
    assert "New records since: 1." in " ".join(since.out.split())
    assert trial("check", "--code", "0123456789").code == 1
    assert trial("check", "--code", "no code").code == 2
    assert sorted(each.name for each in tmp_path.iterdir() if "damaged" in each.name) == []


def test_check_lists_every_fault_and_changes_nothing(trial, tmp_path: Path) -> None:
    place = tmp_path / "class.trials"
    altered(place, ALTERED["a figure"], ALTERED["a moment"])
    before = place.read_bytes()
    ran = trial("check")
    assert ran.code == 1
    assert "mass record 3 is not as it was entered" in ran.out
    assert "prediction record 1 is not as it was entered" in ran.out
    assert "salvage" in ran.out
    document = valid(trial("check", "--json").out)
    assert [(each["kind"], each["id"]) for each in document["faults"]] == [("mass", 3), ("prediction", 1)]
    assert document["whole"] is False
    assert place.read_bytes() == before
    place.write_bytes(b"no book at all")
    assert trial("check").code == 2


# ---------------------------------------------------------------- copies


def test_three_generations_of_copies(tmp_path: Path) -> None:
    place = tmp_path / "a.trials"
    small_book(place).close()
    names = [f"a.trials.{ending}" for ending, _ in GENERATIONS]
    assert names == ["a.trials.backup", "a.trials.backup-week", "a.trials.backup-month"]
    seen: list[tuple[int | None, ...]] = []
    for _ in range(45):
        with Book.open(place) as book:
            book.add(MassReading("Wren", WeighingStage.BLANK, 300.0))
        for name in names:  # a day goes by
            copy = tmp_path / name
            if copy.exists():
                stamp = copy.stat().st_mtime - DAY_S
                os.utime(copy, (stamp, stamp))
        seen.append(tuple(_masses(tmp_path / name) for name in names))
    # Each day's copy holds what there was that morning.
    assert [each[0] for each in seen] == list(range(45))
    assert seen[0][1:] == (None, None)
    for day, (_, week, month) in enumerate(seen):
        assert week is None or 1 <= day - week <= 8
        assert month is None or day - month <= 37
    assert len({week for _, week, _ in seen}) >= 6
    assert len({month for *_, month in seen if month is not None}) >= 2


def _masses(copy: Path) -> int | None:
    if not copy.exists():
        return None
    with closing(sqlite3.connect(f"file:{copy}?mode=ro", uri=True)) as connection:
        return int(connection.execute("SELECT count(*) FROM mass").fetchone()[0])


def test_no_copy_is_made_of_an_altered_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chain, "WHOLE_AT_OPENING", 0)
    monkeypatch.setattr(filing, "WHOLE_AT_OPENING", 0)
    place = tmp_path / "a.trials"
    full_book(place).close()
    Book.open(place).close()
    whole = (tmp_path / "a.trials.backup").read_bytes()
    altered(place, ALTERED["a figure"])
    stamp = place.stat().st_mtime - 2 * DAY_S
    os.utime(tmp_path / "a.trials.backup", (stamp, stamp))
    with pytest.raises(ProblemsError, match=r"earlier copies, whole when they were made: a\.trials\.backup;"):
        Book.open(place)
    assert (tmp_path / "a.trials.backup").read_bytes() == whole


def test_every_table_is_in_the_chain(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        orders = [entry.order for kind in KINDS.values() for entry in book.records(kind, history=True)]
    assert sorted(orders) == list(range(1, len(orders) + 1))
    assert all(set(chain.CHAIN_COLUMNS) <= set(table.c.keys()) for table in TABLES.values())
