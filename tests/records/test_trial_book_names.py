"""A car's name stands once in a book, whatever its capitals, and the file itself sees to it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, Event


def test_the_file_itself_refuses_a_second_car_of_the_name(tmp_path: Path) -> None:
    place = tmp_path / "class.trials"
    with Book.create(place, Event(name="Quarry Lane Sprint")) as book:
        book.add(CarRecord(name="Wren"))
        book.add(CarRecord(name="Heron"))
    with sqlite3.connect(place) as raw:
        columns = [row[1] for row in raw.execute("PRAGMA table_info(car)") if row[1] != "id"]
        listed = ", ".join(columns)
        copied = ", ".join("'wREN'" if name == "name" else name for name in columns)
        with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
            # the book's own column names, nothing from outside
            raw.execute(f"INSERT INTO car ({listed}) SELECT {copied} FROM car WHERE name = 'Heron'")  # noqa: S608
    raw.close()
