"""All checks on one file, in all its divisions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from bodyshop.measures.catalogue import Measure
from bodyshop.problems import Problem, Severity
from bodyshop.rulebook.layers import Layers, RawRule, lay
from bodyshop.rulebook.lint.checks import conflicts, never_fail, said_twice, wrong_side
from bodyshop.rulebook.load import read_layers

__all__ = ["lint_rulebook"]


def lint_rulebook(path: Path | str, catalogue: Mapping[str, Measure] | None = None) -> tuple[Problem, ...]:
    """Everything that is wrong or doubtful in a rulebook, in reading order.

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
    return tuple(sorted(dict.fromkeys(found), key=Problem.sort_key))


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
