"""Doubts about a clause that the book answers itself: `accept = "the sheet prints it so"`.

A warning belongs to the rule, or to the change, within whose lines it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from bodyshop.problems import Problem, Severity
from bodyshop.rulebook.cells import Cell
from bodyshop.rulebook.layers import Layers, RawChange, RawRule

__all__ = ["Sifted", "sift"]

_KEY = "accept"


@dataclass(frozen=True, slots=True)
class Sifted:
    """Problems as they are left, the warnings that a clause accepts, and cells that accept none."""

    left: tuple[Problem, ...]
    accepted: tuple[Problem, ...]
    idle: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """The lines of a table that accepts doubts."""

    cell: Cell
    first: int
    last: int

    def holds(self, problem: Problem) -> bool:
        at = problem.span
        return problem.file == self.cell.source.name and at is not None and self.first <= at.line <= self.last


def sift(layers: Layers, problems: Iterable[Problem]) -> Sifted:
    """The problems without the warnings that their own clauses accept. An error is never accepted."""
    stretches = list(_stretches(layers))
    left: list[Problem] = []
    accepted: list[Problem] = []
    used: set[int] = set()
    for problem in problems:
        doubtful = problem.severity is Severity.WARNING
        by = [n for n, stretch in enumerate(stretches) if doubtful and stretch.holds(problem)]
        used.update(by)
        (accepted if by else left).append(problem)
    idle = tuple(stretch.cell for n, stretch in enumerate(stretches) if n not in used)
    return Sifted(tuple(left), tuple(accepted), idle)


def _stretches(layers: Layers) -> Iterator[_Stretch]:
    tables: list[RawRule | RawChange] = [*layers.rules, *layers.changes]
    for table in tables:
        cell = table.cells.get(_KEY)
        if cell is None:
            continue
        lines = [home.spot.span.line for home in (table.home, *_all_cells(table.cells.values()))]
        yield _Stretch(cell, min(lines), max(lines))


def _all_cells(cells: Iterable[Cell]) -> Iterator[Cell]:
    """The cells, and those within their lists."""
    for cell in cells:
        yield cell
        if isinstance(cell.value, list):
            for number, value in enumerate(cell.value):
                yield Cell(value, cell.source, (*cell.path, number), cell.unit)
