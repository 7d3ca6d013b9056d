"""A book that is looked over while somebody writes to it is read as it is at one moment."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from bodyshop.records.book import hash_chain
from bodyshop.records.book.book import Book
from bodyshop.records.book.check import check_book
from bodyshop.records.book.model import CarRecord, Event, MassReading, WeighingStage


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "class.trials"
    with Book.create(place, Event(name="Quarry Lane Sprint")) as book:
        book.add(CarRecord(name="Wren"))
        book.add(MassReading("Wren", WeighingStage.BLANK, 341.2))
    return place


@pytest.mark.parametrize("look", [lambda place: Book.open(place).close(), check_book], ids=["open", "check"])
def test_a_record_that_comes_in_meanwhile_is_no_damage(
    place: Path, monkeypatch: pytest.MonkeyPatch, look: Callable[[Path], object]
) -> None:
    writer = Book.open(place)
    end, added = hash_chain._end, []

    def end_after_another_record(connection: sqlite3.Connection) -> tuple[object, ...]:
        # every record was read by now; one more is put in before the end of the chain is
        added.append(writer.add(MassReading("Wren", WeighingStage.BLANK, 341.0)))
        return end(connection)

    monkeypatch.setattr(hash_chain, "_end", end_after_another_record)
    report = look(place)
    monkeypatch.undo()
    writer.close()
    assert added
    assert not getattr(report, "faults", ())
    assert not getattr(report, "problems", ())
