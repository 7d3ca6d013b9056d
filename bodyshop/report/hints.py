"""What a report can say of several broken rules at once, in sentences ready to be set."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Hints", "Together"]


@dataclass(frozen=True, slots=True)
class Together:
    """Broken rules whose changes act against each other: they are told once, with the order that works."""

    clauses: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hints:
    """`together` are rules that pull against each other; `best` the one change that mends most, or empty."""

    together: tuple[Together, ...] = ()
    best: str = ""
