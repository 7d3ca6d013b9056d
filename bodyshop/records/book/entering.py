"""From words that somebody types to a record: `drag=12gf`, `time=1.043`, `stage=blank`.

A field is named by its own name or by that without its unit, and takes any unit of its kind.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any, Final

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.units import QuantityError
from bodyshop.foundation.units.instruments import (
    FORCE_N,
    ForceUnit,
    force_unit_of,
    parse_quantity,
    plain_number,
)
from bodyshop.records.book.book import Book
from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.csv_table import CellError, read_cell
from bodyshop.records.book.model import (
    KIND_NAMES,
    AirflowSeen,
    Entry,
    MassReading,
    R,
    Record,
    RollTest,
    TrackRun,
    TunnelReading,
)
from bodyshop.records.book.value_codecs import check_record

__all__ = [
    "ENTERED_BY_HAND",
    "asked_fields",
    "read_field",
    "record_from_words",
    "with_changes",
    "with_defaults",
]

ENTERED_BY_HAND: Final[Mapping[str, type[Record]]] = {
    "mass": MassReading,
    "airflow": AirflowSeen,
    "drag": TunnelReading,
    "roll": RollTest,
    "run": TrackRun,
}
"""The kinds that are measured, and so entered one by one."""

_BARE: Final[Mapping[type[Record], tuple[str, ...]]] = {
    MassReading: ("mass_g", "stage"),
    AirflowSeen: ("where", "seen"),
    TunnelReading: ("drag_n",),
    RollTest: ("run_out_mm",),
    TrackRun: ("time_s",),
}
"""Fields that a word without a name fills, in order."""

_MOST_PHOTO: Final = 200_000_000


def asked_fields(kind: type[Record]) -> tuple[RecordColumn, ...]:
    """The fields that a person is asked for, those that have to be told first."""
    columns = [each for each in columns_of(kind) if each.name not in ("car", "heat", "place", "photo_sha256")]
    return tuple(sorted(columns, key=lambda column: not column.required))


def record_from_words(
    kind: type[R], words: Iterable[str], *, car: str = "", defaults: Mapping[str, Any] | None = None
) -> R:
    """A record from `name=value` words and bare values.

    `defaults` fill fields that no word names. A force without a unit is in that of `unit=`, or else in N;
    where `unit` is not named it is the one that the drag is written in.

    Raises:
        ProblemsError: every word that makes no sense, and every field that is missing.
    """
    problems: list[Problem] = []
    texts = _texts(kind, words, problems)
    values: dict[str, Any] = {**({"car": car} if car else {}), **(defaults or {})}
    unit = _force_unit(kind, texts)
    if unit is not None:
        values["unit"] = unit
    for column in columns_of(kind):
        if column.name not in texts:
            continue
        try:
            values[column.name] = read_field(column, texts[column.name], unit or ForceUnit.N)
        except CellError as error:
            problems.append(_slip(column.name, f"{column.plain}: {error.message}", texts[column.name], error))
    missing = [each for each in columns_of(kind) if each.required and each.name not in values]
    told = {each.key for each in problems}
    problems += [
        Problem(
            "trial-missing",
            f"{each.plain} is missing ({each.about.rstrip('.').lower()})",
            key=each.name,
            expected=_example(each),
        )
        for each in missing
        if each.name not in told
    ]
    if problems:
        raise ProblemsError(problems)
    record = _with_photo(kind(**values))
    check_record(record)
    return record


def with_changes(record: R, words: Iterable[str]) -> R:
    """A record with some fields read anew from `name=value` words.

    Raises:
        ProblemsError: as `record_from_words`, or there is no word.
    """
    kind = type(record)
    words = list(words)
    if not words:
        names = ", ".join(each.plain for each in columns_of(kind))
        raise ProblemsError(
            [
                Problem(
                    "trial-words",
                    "nothing to change was given",
                    expected=f"name=value; the names are {names}",
                )
            ]
        )
    have = {each.name: getattr(record, each.name) for each in fields(record)}  # type: ignore[arg-type]
    if any("=" not in word for word in words):
        bare = next(word for word in words if "=" not in word)
        raise ProblemsError(
            [Problem("trial-words", f'"{bare}" names no field', found=bare, expected="name=value")]
        )
    return record_from_words(kind, words, defaults=have)


def read_field(column: RecordColumn, text: str, unit: ForceUnit = ForceUnit.N) -> Any:
    """One field from what was typed for it. A bare force is in `unit`. Raises `CellError`."""
    try:
        if column.unit == "N" and column.shape is ValueType.NUMBER and text.strip():
            if force_unit_of(text) is None:
                return plain_number(text) * FORCE_N[unit]
            return parse_quantity(text, "N")
    except QuantityError as error:
        raise CellError(error.message, error.expected, error.nearest) from None
    return read_cell(column, text.replace(",", ";") if _is_row_of_gates(column, text) else text)


def _is_row_of_gates(column: RecordColumn, text: str) -> bool:
    """`5000=0.4,10000=0.7` typed with commas: no number has an equals sign behind a comma's digits."""
    return column.shape is ValueType.PAIRS and ";" not in text and text.count("=") > 1


def with_defaults(book: Book, kind: type[Record], car: str) -> dict[str, Any]:
    """What a new record of a kind may take over: the track's length, and the instrument's step used last."""
    found: dict[str, Any] = {}
    if kind is TrackRun and book.event.record.track_mm is not None:
        found["length_mm"] = book.event.record.track_mm
    last: tuple[Entry[Any], ...] = book.records(kind, newest=1)
    for name in ("resolution_g", "resolution_n", "resolution_mm", "resolution_s", "instrument"):
        if last and hasattr(last[0].record, name):
            found[name] = getattr(last[0].record, name)
    if kind is TrackRun and book.event.record.timing_s is not None:
        found["resolution_s"] = book.event.record.timing_s
    if car:
        found["car"] = book.car(car).record.name
    return found


# ---------------------------------------------------------------- below


def _texts(kind: type[Record], words: Iterable[str], problems: list[Problem]) -> dict[str, str]:
    columns = {each.name: each for each in columns_of(kind) if each.name != "photo_sha256"}
    short = {each.plain: name for name, each in columns.items()}
    bare = [name for name in _BARE.get(kind, ()) if name in columns]
    texts: dict[str, str] = {}
    for word in words:
        name, mark, value = word.partition("=")
        key = name.strip().casefold().replace("-", "_")
        if not mark:
            left = [each for each in bare if each not in texts]
            if not left:
                problems.append(
                    Problem("trial-words", f'"{word}" names no field', found=word, expected="name=value")
                )
                continue
            texts[left[0]] = word
            continue
        found = key if key in columns else short.get(key)
        if found is None:
            known = [*short, *columns]
            close = nearest(key, known)
            problems.append(
                Problem(
                    "trial-field",
                    f'a record of {KIND_NAMES[kind]} has no "{name.strip()}"',
                    found=word,
                    expected="" if close else f"one of {', '.join(short)}",
                    nearest=close,
                )
            )
        elif found in texts:
            problems.append(Problem("trial-field", f"{name.strip()} is given twice", found=word))
        else:
            texts[found] = value
    return texts


def _force_unit(kind: type[Record], texts: Mapping[str, str]) -> ForceUnit | None:
    if kind is not TunnelReading or "unit" in texts:
        words = {each.value.casefold(): each for each in ForceUnit}
        return words.get(texts.get("unit", "").strip().casefold()) if kind is TunnelReading else None
    found = [force_unit_of(text) for name, text in texts.items() if name.endswith("_n")]
    return next((unit for unit in found if unit is not None), None)


def _with_photo(record: R) -> R:
    """The record with the fingerprint of its photo."""
    if not isinstance(record, AirflowSeen) or not record.photo:
        return record
    path = Path(record.photo)
    try:
        if path.stat().st_size > _MOST_PHOTO:
            message = "the photo is too large"
        else:
            return replace(record, photo_sha256=hashlib.sha256(path.read_bytes()).hexdigest())
    except (OSError, ValueError):
        message = "there is no such photo"
    raise ProblemsError([Problem("trial-photo", message, file=record.photo, key="photo")])


def _slip(key: str, message: str, found: str, error: CellError) -> Problem:
    return Problem(
        "trial-word", message, key=key, found=found, expected=error.expected, nearest=error.nearest
    )


def _example(column: RecordColumn) -> str:
    name = column.plain
    if column.choices is not None:
        return f"{name}=, one of {', '.join(str(each.value) for each in column.choices)}"
    return f"{name}= and a number in {column.unit}" if column.unit else f"{name}= and its value"
