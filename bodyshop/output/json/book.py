"""Entries of the trial book for other programs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated, Any

from msgspec import Meta

from bodyshop.foundation.statistics import CONFIDENCE
from bodyshop.output.json.document import HEAD, Document, JsonRecord, about
from bodyshop.records.book.check import BookCheck
from bodyshop.records.book.columns import columns_of
from bodyshop.records.book.model import Entry
from bodyshop.records.book.repeats import RepeatGroup

__all__ = [
    "BookDocument",
    "EntryDocument",
    "ListDocument",
    "ShowDocument",
    "book_check_data",
    "entries_data",
    "entry_data",
    "group_data",
    "list_data",
]

_Number = Annotated[int, Meta(ge=1)]


class EntryData(JsonRecord, frozen=True):
    """A record in the book."""

    kind: str
    id: _Number
    origin: Annotated[_Number, about("The number of the record's first version.")]
    at: Annotated[str, Meta(description="Date and time.", extra_json_schema={"format": "date-time"})]
    by: str
    note: str
    doubt: Annotated[str, about("What was asked about it at entry, and confirmed.")]
    supersedes: int | None
    superseded_by: int | None
    reason: str
    struck: bool
    order: Annotated[
        _Number,
        about("Its number among all records of the book, in the order in which they came in."),
    ]
    values: Annotated[
        Mapping[str, Any],
        about("The fields of its kind: bodyshop trial columns KIND explains them. Units stand in the names."),
    ]


class GroupData(JsonRecord, frozen=True):
    """Repeats with their sum."""

    kind: str
    what: str
    when: str
    unit: str
    ids: tuple[int, ...]
    values: Annotated[tuple[float, ...], Meta(min_length=1)]
    mean: float
    spread: Annotated[float | None, about("Standard deviation of one reading; null for a single one.")]
    interval: Annotated[tuple[float, float] | None, about("Where the mean lies; null for a single reading.")]
    confidence: float | None


class BrokenLinkData(JsonRecord, frozen=True):
    """Something that is not as it was entered."""

    kind: Annotated[str, about("The kind of the record; empty for a fault of the book as a whole.")]
    id: Annotated[int | None, about("The number of the record.")]
    message: str


class BookDocument(Document, frozen=True, tag="trial-book"):
    """What a trial book has: `bodyshop trial list`."""

    event: EntryData
    cars: tuple[EntryData, ...]
    records: Annotated[Mapping[str, int], about("How many of each kind.")]


class ListDocument(Document, frozen=True, tag="trial-list"):
    """Records of a trial book: `bodyshop trial list KIND`, `bodyshop inspect CAR --history`."""

    entries: tuple[EntryData, ...]


class EntryDocument(Document, frozen=True, tag="trial-add"):
    """A record as it was noted: `bodyshop trial add`."""

    entry: EntryData


class ShowDocument(Document, frozen=True, tag="trial-show"):
    """A car of a trial book: `bodyshop trial show CAR`."""

    car: EntryData
    repeats: tuple[GroupData, ...]
    airflow: tuple[EntryData, ...]
    inspections: tuple[EntryData, ...]
    predictions: tuple[EntryData, ...]
    runs: tuple[EntryData, ...]
    doubts: tuple[EntryData, ...]
    corrected: tuple[EntryData, ...]


class BookCheckDocument(Document, frozen=True, tag="trial-check"):
    """Check of a trial book: `bodyshop trial check`."""

    book: str
    form: Annotated[int, Meta(ge=1, description="The form of the file.")]
    records: Annotated[
        int,
        Meta(ge=0, description="How many records the book has, corrected and struck ones included."),
    ]
    whole: Annotated[bool, about("Whether no fault was found.")]
    code: Annotated[str, about("What to write down: it stands for all records up to the last one.")]
    hash: Annotated[str, about("The whole hash of the last record, of which the code is the beginning.")]
    since: Annotated[
        int | None,
        about(
            "How many records came in after the one with the code that was asked about; null where none was, "
            "or no record has it."
        ),
    ]
    faults: tuple[BrokenLinkData, ...]


def entry_data(entry: Entry[Any]) -> EntryData:
    """One entry. Units stand in the names of the values."""
    return EntryData(
        kind=entry.kind,
        id=entry.id,
        origin=entry.origin,
        at=entry.at.isoformat(timespec="milliseconds"),
        by=entry.by,
        note=entry.note,
        doubt=entry.doubt,
        supersedes=entry.supersedes,
        superseded_by=entry.superseded_by,
        reason=entry.reason,
        struck=entry.struck,
        order=entry.order,
        values={column.name: getattr(entry.record, column.name) for column in columns_of(type(entry.record))},
    )


def list_data(entries: Iterable[Entry[Any]]) -> ListDocument:
    """Several entries as a document."""
    return ListDocument(*HEAD, entries_data(entries))


def entries_data(entries: Iterable[Entry[Any]]) -> tuple[EntryData, ...]:
    """Several entries."""
    return tuple(entry_data(entry) for entry in entries)


def group_data(group: RepeatGroup) -> GroupData:
    """Repeats with their sum. `interval` is None for a single reading: it shows no spread."""
    summed = group.repeats
    low, high = summed.low, summed.high
    known = low is not None and high is not None
    return GroupData(
        kind=group.kind,
        what=group.what,
        when=group.when,
        unit=group.unit,
        ids=tuple(entry.id for entry in group.entries),
        values=summed.values,
        mean=summed.mean,
        spread=summed.spread,
        interval=(low, high) if low is not None and high is not None else None,
        confidence=CONFIDENCE if known else None,
    )


def book_check_data(book: str, found: BookCheck) -> BookCheckDocument:
    """What a whole look at a book found."""
    return BookCheckDocument(
        *HEAD,
        book=book,
        form=found.form,
        records=found.records,
        whole=not found.faults,
        code=found.code,
        hash=found.end,
        since=found.since,
        faults=tuple(BrokenLinkData(each.kind, each.id, each.message) for each in found.faults),
    )
