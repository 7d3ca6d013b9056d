"""The order in which records of several tables came into a book, where the book does not say it all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.model import KINDS

__all__ = ["in_order"]

Row = dict[str, Any]


def in_order(
    found: Mapping[str, Sequence[Row]], key: Callable[[str, Sequence[Row]], Sequence[Any]]
) -> list[tuple[str, Row]]:
    """All rows with their kinds, sorted by the keys that `key` gives to those of a kind.

    None comes before one that it refers to: then its own key gives way.
    """
    keys: dict[tuple[str, Any], Any] = {}
    placed: list[tuple[Any, int, int, str, Row]] = []
    for rank, kind in enumerate(KINDS):
        refers = [
            (column.stored_as, "car" if column.shape is ValueType.CAR else column.field.refers)
            for column in columns_of(KINDS[kind])
            if column.shape in (ValueType.CAR, ValueType.RECORD)
        ]
        refers += [("origin", kind), ("supersedes", kind)]
        rows = found.get(kind, ())
        for place, (row, own) in enumerate(zip(rows, key(kind, rows), strict=True)):
            others = (keys.get((other, row.get(name))) for name, other in refers)
            latest = max([own, *(each for each in others if each is not None)])
            keys[kind, row["id"]] = latest
            placed.append((latest, rank, place, kind, row))
    placed.sort(key=lambda each: each[:3])
    return [(kind, row) for *_, kind, row in placed]
