"""All checks on one file, in all its divisions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from bodyshop.measures.catalogue import Measure
from bodyshop.problems import Problem, Severity
from bodyshop.rulebook.accepted import sift
from bodyshop.rulebook.cells import Cell
from bodyshop.rulebook.layers import Layers, RawRule, lay
from bodyshop.rulebook.lint.checks import conflicts, never_fail, said_twice, wrong_side
from bodyshop.rulebook.load import read_layers

__all__ = ["Linted", "lint_rulebook", "look_over"]


@dataclass(frozen=True, slots=True)
class Linted:
    """What is wrong or doubtful, in reading order, and the warnings that their clauses accept."""

    findings: tuple[Problem, ...]
    accepted: tuple[Problem, ...]


def lint_rulebook(path: Path | str, catalogue: Mapping[str, Measure] | None = None) -> tuple[Problem, ...]:
    """The findings of `look_over`."""
    return look_over(path, catalogue).findings


def look_over(path: Path | str, catalogue: Mapping[str, Measure] | None = None) -> Linted:
    """Everything that is wrong or doubtful in a rulebook.

    Errors are what keeps it from being read or from being kept by any car; all else is a warning.
    `catalogue` holds the measures that rules can name: all there are, when it is left out. Raises
    `ProblemsError` when there is no reading the file at all.
    """
    if catalogue is None:
        from bodyshop.measures import catalogue as every_measure

        catalogue = every_measure()
    found: list[Problem] = []
    layers = lay(Path(path), found)
    for division in ("", *layers.divisions):
        # Rules that could not be read are told, and left out of what follows.
        book = read_layers(layers, catalogue, division, found)
        found += [*conflicts(book, catalogue), *never_fail(book, catalogue)]
        found += [*said_twice(book), *wrong_side(book)]
    found += _changes_nothing(layers)
    found += _unused_divisions(layers)
    sifted = sift(layers, found)
    idle = [_accepts_nothing(cell) for cell in sifted.idle if cell.source is layers.source]
    left = tuple(sorted(dict.fromkeys((*sifted.left, *idle)), key=Problem.sort_key))
    return Linted(left, tuple(sorted(dict.fromkeys(sifted.accepted), key=Problem.sort_key)))


def _accepts_nothing(cell: Cell) -> Problem:
    """A reason that stands for no doubt: the one it was for has gone."""
    return cell.problem(
        "lint-accept",
        "there is no doubt here to accept",
        at_key=True,
        expected="accept only where lint warns of the clause",
        severity=Severity.WARNING,
    )


def _changes_nothing(layers: Layers) -> Iterable[Problem]:
    """Changes that put back what stands in the clause already."""
    now: dict[str, RawRule] = {rule.clause: rule for rule in layers.rules if rule.clause}
    for change in layers.changes:
        rule = now.get(change.clause)
        if rule is None or change.dropped:
            continue
        same = [
            cell
            for key, cell in change.cells.items()
            if key in rule.cells and (rule.cells[key].value, rule.cells[key].unit) == (cell.value, cell.unit)
        ]
        if same and len(same) == len(change.cells):
            yield same[0].problem(
                "lint-changes-nothing",
                f"clause {change.clause} says this already",
                expected="another value, or no change",
                severity=Severity.WARNING,
            )
        if not change.divisions:
            now[change.clause] = change.applied(rule)


def _unused_divisions(layers: Layers) -> Iterable[Problem]:
    """Divisions that no rule and no change is for."""
    named = {name for rule in layers.rules for name in rule.divisions}
    named |= {name for change in layers.changes for name in change.divisions}
    for name, cell in layers.divisions.items():
        if name not in named:
            yield cell.problem(
                "lint-division",
                f'division "{name}" differs from the book in nothing',
                expected="a rule or a change for it",
                severity=Severity.WARNING,
            )
