"""The order of work as a table: which steps a car needs, in the order they are done."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from bodyshop.foundation.toml.rows import read_rows

__all__ = ["WorkStep", "read_steps", "steps_for"]


@dataclass(frozen=True, slots=True)
class WorkStep:
    """A row of the table: its text, what must hold and must not for it to be done, and its cautions' ids."""

    id: str
    text: str
    when: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@cache
def read_steps(file: Path) -> tuple[WorkStep, ...]:
    """The steps of a table, in order.

    Raises:
        ProblemsError: the table is damaged.
    """
    return read_rows(file, "step", WorkStep)


def steps_for(file: Path, flags: Collection[str]) -> list[WorkStep]:
    """The steps of a table for a car of which all `flags` hold."""
    return [
        step
        for step in read_steps(file)
        if all(flag in flags for flag in step.when) and not any(flag in flags for flag in step.unless)
    ]
