"""Which predictions of a car were made before anybody had seen a time of it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Entry, FrozenPrediction, TrackRun

__all__ = ["counted_predictions"]


def counted_predictions(book: Book, car: str) -> tuple[Entry[FrozenPrediction], ...]:
    """The frozen predictions of a car that came into the book before its first time did, in their order.

    The order of the book decides, since a clock can be set back. A time counts as seen although its record
    was struck or corrected later, unless the correction says that it was another car's. A prediction that
    the moments put after the first run is left out as well: then the book itself says that it came later.
    """
    frozen = sorted(book.records(FrozenPrediction, car=car), key=lambda entry: entry.order)
    seen = list(_seen(book, car)) if frozen else []
    if not seen:
        return tuple(frozen)
    order, at = min(order for order, _ in seen), min(at for _, at in seen)
    return tuple(entry for entry in frozen if entry.order < order and entry.at <= at)


def _seen(book: Book, car: str) -> Iterator[tuple[int, datetime]]:
    """When each time of a car came into the book, and the moment noted with it."""
    for entry in book.records(TrackRun, car=car, history=True):
        versions = (entry,) if entry.origin == entry.id and entry.counts else book.history(TrackRun, entry.id)
        if entry.record.time_s and versions[-1].record.car == entry.record.car:
            yield versions[0].order, entry.at
