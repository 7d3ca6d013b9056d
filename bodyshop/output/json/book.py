"""Entries of the book as plain data, for JSON."""

from __future__ import annotations

from enum import Enum
from typing import Any

from bodyshop.foundation.statistics import CONFIDENCE
from bodyshop.records.book.columns import columns_of
from bodyshop.records.book.model import Entry
from bodyshop.records.book.repeats import RepeatGroup

__all__ = ["entry_data", "group_data"]


def entry_data(entry: Entry[Any]) -> dict[str, Any]:
    """One entry. Units stand in the names of the values."""
    return {
        "kind": entry.kind,
        "id": entry.id,
        "origin": entry.origin,
        "at": entry.at.isoformat(timespec="milliseconds"),
        "by": entry.by,
        "note": entry.note,
        "doubt": entry.doubt,
        "supersedes": entry.supersedes,
        "superseded_by": entry.superseded_by,
        "reason": entry.reason,
        "struck": entry.struck,
        "order": entry.order,
        "values": {
            column.name: _plain(getattr(entry.record, column.name))
            for column in columns_of(type(entry.record))
        },
    }


def group_data(group: RepeatGroup) -> dict[str, Any]:
    """Repeats with their sum. `interval` is null for a single reading: it shows no spread."""
    summed = group.repeats
    known = summed.low is not None
    return {
        "kind": group.kind,
        "what": group.what,
        "when": group.when,
        "unit": group.unit,
        "ids": [entry.id for entry in group.entries],
        "values": list(summed.values),
        "mean": summed.mean,
        "spread": summed.spread,
        "interval": [summed.low, summed.high] if known else None,
        "confidence": CONFIDENCE if known else None,
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value
