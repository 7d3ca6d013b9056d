"""Rows of the book's tables to entries, and entries to rows."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bodyshop.trials.columns import Shape, columns_of
from bodyshop.trials.model import Entry, R
from bodyshop.trials.values import from_store, moment_text, read_moment, to_store

__all__ = ["entry_of", "row_of"]


def entry_of(kind: type[R], row: Mapping[Any, Any], cars: Mapping[int, str]) -> Entry[R]:
    """The entry that a row holds. Raises `ValueError` or `KeyError` for a row that we never wrote."""
    values: dict[str, Any] = {}
    for column in columns_of(kind):
        stored = row[column.stored_as]
        if column.shape is Shape.CAR and stored is not None:
            values[column.name] = cars[stored]
        else:
            values[column.name] = from_store(column, stored)
    return Entry(
        id=row["id"],
        origin=row["origin"],
        at=read_moment(row["at_utc"], row["zone_min"]),
        record=kind(**values),
        by=row["noted_by"],
        note=row["note"],
        doubt=row["doubt"],
        reason=row["reason"],
        supersedes=row["supersedes"],
        superseded_by=row["superseded_by"],
        struck=bool(row["struck"]),
        order=row["book_order"],
    )


def row_of(
    number: int,
    origin: int,
    at: datetime,
    record: R,
    numbers: Mapping[str, int],
    **more: Any,
) -> dict[str, Any]:
    """The row of a new entry. `numbers` are the cars' numbers by folded name, `more` columns of our own."""
    utc, zone_min = moment_text(at)
    row: dict[str, Any] = {
        "id": number,
        "origin": origin,
        "at_utc": utc,
        "zone_min": zone_min,
        "noted_by": "",
        "note": "",
        "doubt": "",
        "supersedes": None,
        "superseded_by": None,
        "reason": "",
        "struck": 0,
        **more,
    }
    for column in columns_of(type(record)):
        value = getattr(record, column.name)
        if column.shape is Shape.CAR and value is not None:
            row[column.stored_as] = numbers[value.casefold()]
        else:
            row[column.stored_as] = to_store(column, value)
    return row
