"""The order of work as a table: which steps a car needs, in the order they are done."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.toml.rows import read_rows

__all__ = ["WorkStep", "eyes_in_square_block", "read_steps", "steps_for"]


_ON_BOTTOM_MM: Final = 0.05


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


def eyes_in_square_block(car: Car) -> bool:
    """Whether the screw eyes' pilot holes can be drilled while the block is square: the car's underside is
    the block's own bottom wherever one goes.
    """
    pilots = car.body.eye_pilots
    return bool(pilots) and all(pilot is not None and abs(pilot.z) < _ON_BOTTOM_MM for pilot in pilots)
