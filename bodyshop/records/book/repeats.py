"""What was measured of a car, repeats of one quantity together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from bodyshop.foundation.statistics import Repeats, repeats
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    Entry,
    MassReading,
    Record,
    RollTest,
    RunEnd,
    TrackRun,
    TunnelReading,
    WeighingStage,
)

__all__ = ["RepeatGroup", "groups_of"]

_FORCES: Final = {
    "drag": "net_drag_n",
    "front lift": "net_front_lift_n",
    "rear lift": "net_rear_lift_n",
}
_STAGES: Final = tuple(WeighingStage)
_SAME_SPEED: Final = 0.02
"""Tunnel readings whose speeds differ by no more than this share are repeats of each other."""


@dataclass(frozen=True, slots=True)
class RepeatGroup:
    """Entries of a car that measure the same thing, and their sum.

    `what` is the quantity, `when` what tells this group from others of the kind; `unit` that of the values.
    """

    kind: str
    what: str
    when: str
    unit: str
    entries: tuple[Entry[Any], ...]
    repeats: Repeats


def groups_of(book: Book, car: str) -> tuple[RepeatGroup, ...]:
    """Everything measured more than by eye on a car, repeats together, in shop order."""
    return (
        *_grouped(
            book.records(MassReading, car=car),
            "mass",
            "g",
            lambda record: record.mass_g,
            lambda record: record.stage.value,
            lambda record: record.resolution_g,
            order=lambda record: _STAGES.index(record.stage),
        ),
        *_tunnel(book.records(TunnelReading, car=car)),
        *_grouped(
            book.records(RollTest, car=car),
            "run-out",
            "mm",
            lambda record: record.run_out_mm,
            _roll_words,
            lambda record: record.resolution_mm,
        ),
        *_grouped(
            [
                entry
                for entry in book.records(TrackRun, car=car)
                if entry.record.time_s is not None and entry.record.end is RunEnd.FINISHED
            ],
            "time",
            "s",
            lambda record: record.time_s,
            lambda record: "heat" if record.length_mm is None else f"{record.length_mm / 1000:g} m",
            lambda record: record.resolution_s,
        ),
    )


def _roll_words(record: RollTest) -> str:
    words = [f"ramp {record.ramp_height_mm:g} by {record.ramp_length_mm:g} mm"]
    words += [f"from the {record.measured_from.value}"]
    words += [text for text in (record.surface, record.direction) if text]
    return ", ".join(words)


def _tunnel(entries: Sequence[Entry[TunnelReading]]) -> list[RepeatGroup]:
    groups: list[RepeatGroup] = []
    for same in _by_speed(entries):
        mean = math.fsum(entry.record.speed_m_s for entry in same) / len(same)
        when = f"at {mean:.3g} m/s"
        for what, name in _FORCES.items():
            told = [(entry, value) for entry in same if (value := getattr(entry.record, name)) is not None]
            if told:
                step = max(entry.record.resolution_n for entry, _ in told)
                summed = repeats([value for _, value in told], step)
                groups.append(RepeatGroup("drag", what, when, "N", tuple(entry for entry, _ in told), summed))
    return groups


def _by_speed(entries: Sequence[Entry[TunnelReading]]) -> list[list[Entry[TunnelReading]]]:
    groups: list[list[Entry[TunnelReading]]] = []
    for entry in sorted(entries, key=lambda each: each.record.speed_m_s):
        first = groups[-1][0].record.speed_m_s if groups else -1.0
        if groups and entry.record.speed_m_s - first <= _SAME_SPEED * first:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return [sorted(group, key=lambda each: (each.at, each.id)) for group in groups]


def _grouped(
    entries: Iterable[Entry[Any]],
    what: str,
    unit: str,
    value: Callable[[Any], float],
    when: Callable[[Any], str],
    step: Callable[[Any], float],
    order: Callable[[Any], int] | None = None,
) -> list[RepeatGroup]:
    by_words: dict[str, list[Entry[Any]]] = {}
    for entry in entries:
        by_words.setdefault(when(entry.record), []).append(entry)
    groups = [
        RepeatGroup(
            same[0].kind,
            what,
            words,
            unit,
            tuple(same),
            repeats([value(entry.record) for entry in same], max(step(entry.record) for entry in same)),
        )
        for words, same in by_words.items()
    ]
    return groups if order is None else sorted(groups, key=lambda group: order(_first(group)))


def _first(group: RepeatGroup) -> Record:
    return group.entries[0].record  # type: ignore[no-any-return]
