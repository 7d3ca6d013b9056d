"""A row of a damaged book made into one that a book takes, if any sense can be made of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, Final

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.model import KINDS
from bodyshop.records.book.tables import OWN_COLUMNS, entry_of, row_of
from bodyshop.records.book.value_codecs import check_record, check_text, moment_text, read_moment

__all__ = ["UNSURE", "loosened", "mended"]

UNSURE: Final = "Salvaged: it may not be as it was entered."
"""The doubt of a record that does not match its hash, or had to be mended."""

_LONGEST: Final = 2000
_TEXTS: Final = ("noted_by", "note", "doubt", "reason")


def mended(
    kind: str,
    row: Mapping[str, Any],
    there: Mapping[str, Mapping[int, int]],
    before: Mapping[str, Any] | None,
    *,
    sure: bool,
) -> dict[str, Any] | None:
    """A row to put into a new book; None where no sense can be made of it.

    `there` are the numbers that the new book has of each kind, each with that of its first version; `before`
    is the last row of this kind that went in. A row that had to be mended gets a doubt, and so does one that
    is not `sure` to be as it was entered.
    """
    record = KINDS[kind]
    full = dict.fromkeys(OWN_COLUMNS) | {each.stored_as: None for each in columns_of(record)}
    full |= row
    for column in columns_of(record):
        refers = "car" if column.shape is ValueType.CAR else column.field.refers
        value = full[column.stored_as]
        if refers and value is not None and there[refers].get(value) != value:
            return None
        if value is None and column.shape is ValueType.TEXT and not column.optional:
            full[column.stored_as] = ""
    own = _own(kind, full, there, before)
    cars = [full[each.stored_as] for each in columns_of(record) if each.shape is ValueType.CAR]
    names = {int(number): str(int(number)) for number in cars if number is not None}
    numbers = {name: number for number, name in names.items()}
    try:
        entry = entry_of(record, {**full, **own, "book_order": 0}, names)
        check_record(entry.record)
        made = row_of(entry.id, entry.origin, entry.at, entry.record, numbers)
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, ProblemsError):
        return None
    made |= {name: own[name] for name in (*_TEXTS, "supersedes", "struck")}
    if not sure or any(made[name] != row.get(name, made[name]) for name in made if name != "superseded_by"):
        return _doubted(made)
    return made


def loosened(kind: str, made: Mapping[str, Any]) -> dict[str, Any]:
    """The same row without its ties to others, where the book does not take it with them."""
    free = {**made, "origin": made["id"], "supersedes": None}
    if kind == "car":
        free["name"] = f"{made['name'][:300]} (salvaged {made['id']})"
    return _doubted(free)


def _doubted(made: dict[str, Any]) -> dict[str, Any]:
    if UNSURE in made["doubt"]:
        return made
    return {**made, "doubt": f"{made['doubt'][: _LONGEST - len(UNSURE) - 1]} {UNSURE}".strip()}


def _own(
    kind: str,
    row: Mapping[str, Any],
    there: Mapping[str, Mapping[int, int]],
    before: Mapping[str, Any] | None,
) -> dict[str, Any]:
    """The columns that every table has, so that nothing can be wrong with them."""
    utc, zone_min = _moment(row, before)
    supersedes, origin = row["supersedes"], row["origin"]
    if supersedes is None or there[kind].get(supersedes) != origin:
        supersedes, origin = None, row["id"]
    return {
        "at_utc": utc,
        "zone_min": zone_min,
        "origin": int(origin),
        "supersedes": None if supersedes is None else int(supersedes),
        "superseded_by": None,
        "struck": int(row["struck"] == 1),
        **{name: _text(row[name]) for name in _TEXTS},
    }


def _moment(row: Mapping[str, Any], before: Mapping[str, Any] | None) -> tuple[str, int]:
    """When it was noted; in Greenwich where the zone is lost, or when the record before it was."""
    for zone_min in (row["zone_min"], 0):
        try:
            read_moment(row["at_utc"], zone_min).astimezone(UTC)
        except (ValueError, TypeError, OverflowError, AttributeError):
            continue
        return row["at_utc"], zone_min
    if before is not None:
        return before["at_utc"], before["zone_min"]
    return moment_text(datetime(1970, 1, 1, tzinfo=UTC))


def _text(value: object) -> str:
    if not isinstance(value, str):
        return ""
    if not check_text(value, _LONGEST, lines=True):
        return value
    return "".join(letter for letter in value if not check_text(letter, lines=True))[:_LONGEST]
