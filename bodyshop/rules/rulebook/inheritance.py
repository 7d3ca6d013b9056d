"""The files a rulebook is made of, one laid over the other: what it inherits, its own, its division's.

Nothing is understood here but which cell stands where; so a limit that a book inherits is still read,
and faulted, at its own place.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.values import quoted, shown
from bodyshop.foundation.toml import Source, read_source
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_unit
from bodyshop.rules.rulebook.find import find_rulebook
from bodyshop.rules.rulebook.language import (
    CHANGE,
    CHANGE_KEYS,
    COST_KEYS,
    FORMAT,
    HEAD,
    KIT,
    READING,
    RULE,
    SCORE,
)
from bodyshop.rules.rulebook.limits import rivals
from bodyshop.rules.rulebook.table_reader import PlacedValue, ProblemList, RulebookTable

__all__ = ["InheritedBook", "RawChange", "RawRule", "lay"]

_MOST_PARENTS: Final = 8


@dataclass(frozen=True, slots=True)
class RawRule:
    """A rule's cells by key, and where the rule itself stands."""

    home: PlacedValue
    cells: Mapping[str, PlacedValue]
    divisions: tuple[str, ...]

    @property
    def clause(self) -> str:
        """Its clause label; empty when that is missing or wrong."""
        cell = self.cells.get("clause")
        return " ".join(cell.value.split()) if cell is not None and isinstance(cell.value, str) else ""


@dataclass(frozen=True, slots=True)
class RawChange:
    """A change to a clause: the cells that replace others, or that the clause is dropped."""

    home: PlacedValue
    clause: str
    divisions: tuple[str, ...]
    cells: Mapping[str, PlacedValue]
    dropped: bool
    because: str

    def applied(self, rule: RawRule) -> RawRule:
        """The rule with the change made."""
        gone = set(rivals(self.cells))
        if "fails" in self.cells:
            # Points of the old consequence mean nothing under a new one.
            gone |= set(COST_KEYS) - {"fails"}
        kept = {key: cell for key, cell in rule.cells.items() if key not in gone}
        return RawRule(rule.home, {**kept, **self.cells}, rule.divisions)


@dataclass(slots=True)
class InheritedBook:
    """A book with all it inherits, before its cells are read.

    `sound` is false when a file it inherits from could not be had: then a clause that is not found may
    well be in there.
    """

    source: Source
    unit: LengthUnit
    head: dict[str, PlacedValue]
    sources: list[Source]
    divisions: dict[str, PlacedValue] = field(default_factory=dict)
    reading: dict[str, PlacedValue] = field(default_factory=dict)
    kit: dict[str, PlacedValue] = field(default_factory=dict)
    score: dict[str, PlacedValue] = field(default_factory=dict)
    stock: list[PlacedValue] = field(default_factory=list)
    rules: list[RawRule] = field(default_factory=list)
    changes: list[RawChange] = field(default_factory=list)
    sound: bool = True

    @property
    def home(self) -> PlacedValue:
        """The file as a whole."""
        return PlacedValue(self.source.values, self.source, (), self.unit)

    def merged(self, division: str) -> tuple[list[RawRule], list[tuple[RawChange, RawRule]]]:
        """The rules of a division with every change made that touches them, and those changes, each with
        the rule as it was before.
        """
        rules: list[RawRule | None] = [
            rule for rule in self.rules if not rule.divisions or division in rule.divisions
        ]
        where: dict[str, int] = {}
        for number, rule in enumerate(rules):
            where.setdefault(rule.clause if rule is not None else "", number)
        made: list[tuple[RawChange, RawRule]] = []
        for change in self.changes:
            at = where.get(change.clause)
            rule = rules[at] if at is not None else None
            if at is None or rule is None or (change.divisions and division not in change.divisions):
                continue
            rules[at] = None if change.dropped else change.applied(rule)
            made.append((change, rule))
        return [rule for rule in rules if rule is not None], made


def lay(path: Path, problems: ProblemList) -> InheritedBook:
    """The layers of the file at `path`. Raises `ProblemsError` when that file itself cannot be had."""
    return _lay(path, problems, ())


def _lay(path: Path, problems: ProblemList, below: tuple[Path, ...]) -> InheritedBook:
    source = read_source(path)
    _refuse_design(source)
    top = PlacedValue(source.values, source, (), LengthUnit.MM)
    _check_format(top)
    form = RulebookTable.of(top, HEAD.names, problems, "a rulebook")
    layers = _begin(form, *_parent(form, path, (*below, path.resolve())))
    _divisions(form, layers)
    for key, known in (("reading", READING), ("kit", KIT), ("score", SCORE)):
        cell = form.cell(key)
        if cell is not None:
            table: dict[str, PlacedValue] = getattr(layers, key)
            table.update(RulebookTable.of(_in(cell, layers.unit), known.names, problems, f"[{key}]").cells)
    layers.stock += _tables(form, "stock", layers.unit)
    _rules(form, layers)
    _changes(form, layers)
    return layers


def _refuse_design(source: Source) -> None:
    """Stop at a design that was taken for a rulebook: one fault says more than one a key."""
    drawn = next((key for key in ("profile", "plan", "axles", "bore") if key in source.values), None)
    if drawn is None or {"rule", "change", "inherits"} & source.values.keys():
        return
    message = "this file is a design, not a rulebook"
    expected = "a rulebook, with a name and [[rule]]"
    raise ProblemsError([source.problem((drawn,), "not-a-rulebook", message, at_key=True, expected=expected)])


def _check_format(top: PlacedValue) -> None:
    """Stop at a file of another format: what else it says would be misread."""
    home = RulebookTable.of(top, HEAD.names, [], "")
    cell = home.cell("format")
    expected = f"format = {FORMAT}"
    if cell is None:
        message = "this does not say that it is a rulebook: there is no format"
        raise ProblemsError([top.problem("rulebook-format", message, expected=expected)])
    number = cell.value if isinstance(cell.value, int) and not isinstance(cell.value, bool) else 0
    if number == FORMAT:
        return
    message = f"format is {quoted(cell.value)}, which is not known here"
    if number > FORMAT:
        message = f"format {shown(cell.value)} is newer than this program"
    raise ProblemsError(
        [cell.problem("rulebook-format", message, found=shown(cell.value), expected=expected)]
    )


def _parent(form: RulebookTable, path: Path, chain: tuple[Path, ...]) -> tuple[InheritedBook | None, bool]:
    """The layers inherited, if any, and whether all went well."""
    cell = form.cell("inherits")
    if cell is None:
        return None, True
    name = form.text("inherits")
    if not name:
        return None, False
    try:
        return _inherited(cell, name, path, chain, form.problems), True
    except ProblemsError as error:
        for problem in error.problems:
            form.note(problem)
        return None, False


def _inherited(
    cell: PlacedValue, name: str, path: Path, chain: tuple[Path, ...], problems: ProblemList
) -> InheritedBook:
    file = find_rulebook(name, path.parent, at=(cell.source, cell.path))
    message = ""
    if file.resolve() == chain[-1]:
        message = "a rulebook cannot inherit from itself"
    elif file.resolve() in chain:
        message = f'"{name}" inherits from this rulebook again'
    elif len(chain) > _MOST_PARENTS:
        message = f"more than {_MOST_PARENTS} rulebooks inherit from each other here"
    if message:
        raise ProblemsError([cell.problem("rulebook-loop", message, found=name)])
    return _lay(file, problems, chain)


def _begin(form: RulebookTable, parent: InheritedBook | None, sound: bool) -> InheritedBook:
    source = form.home.source
    unit = _unit(form, parent.unit if parent is not None else None)
    own = {key: _in(cell, unit) for key, cell in form.cells.items()}
    if parent is None:
        return InheritedBook(source, unit, own, [source], sound=sound)
    return InheritedBook(
        source,
        unit,
        {**parent.head, **own},
        [source, *parent.sources],
        divisions=dict(parent.divisions),
        reading=dict(parent.reading),
        kit=dict(parent.kit),
        score=dict(parent.score),
        stock=list(parent.stock),
        rules=list(parent.rules),
        changes=list(parent.changes),
        sound=parent.sound and sound,
    )


def _unit(form: RulebookTable, inherited: LengthUnit | None) -> LengthUnit:
    if form.has("inherits") and not form.has("units"):
        return inherited or LengthUnit.MM
    cell = form.require("units", "a rulebook", 'units = "mm" or units = "in"')
    text = form.text("units")
    if cell is None or not text:
        return inherited or LengthUnit.MM
    try:
        return parse_unit(text)
    except QuantityError as error:
        form.note(cell.quantity_problem(error))
        return inherited or LengthUnit.MM


def _in(cell: PlacedValue, unit: LengthUnit) -> PlacedValue:
    """The cell with its plain lengths in `unit`, which is known only once the file's head is read."""
    return PlacedValue(cell.value, cell.source, cell.path, unit)


def _divisions(form: RulebookTable, layers: InheritedBook) -> None:
    for cell in form.texts("divisions"):
        name = form.text_of(cell, "divisions")
        if name:
            layers.divisions.setdefault(name, cell)


def _tables(form: RulebookTable, key: str, unit: LengthUnit) -> list[PlacedValue]:
    cell = form.cell(key)
    if cell is None:
        return []
    if not isinstance(cell.value, list):
        form.note(
            cell.problem(
                "rulebook-type",
                f"[{key}] is one table, and there may be many",
                expected=f"[[{key}]], with two brackets",
            )
        )
        return []
    return [
        PlacedValue(value, cell.source, (*cell.path, number), unit) for number, value in enumerate(cell.value)
    ]


def _rules(form: RulebookTable, layers: InheritedBook) -> None:
    seen = {rule.clause.casefold(): rule for rule in layers.rules if rule.clause}
    for home in _tables(form, "rule", layers.unit):
        rule_form = RulebookTable.of(home, RULE.names, form.problems, "a rule")
        if not isinstance(home.value, dict):
            continue
        divisions = _named_divisions(rule_form, layers)
        rule = RawRule(home, rule_form.cells, divisions)
        cell = rule_form.cell("clause")
        earlier = seen.get(rule.clause.casefold()) if rule.clause else None
        if earlier is not None and cell is not None:
            inherited = earlier.home.source is not home.source
            place = earlier.cells["clause"].spot
            form.note(
                cell.problem(
                    "rulebook-clause-repeated",
                    f'there is a clause "{rule.clause}" already{place.elsewhere(cell.source)}',
                    found=rule.clause,
                    expected="[[change]] to alter a clause that is inherited"
                    if inherited
                    else "another label",
                    related=place.beside("the first is here", cell.source),
                )
            )
        elif rule.clause:
            seen[rule.clause.casefold()] = rule
        layers.rules.append(rule)


def _named_divisions(form: RulebookTable, layers: InheritedBook) -> tuple[str, ...]:
    names: list[str] = []
    for cell in form.texts("division"):
        name = form.text_of(cell, "division")
        if name in layers.divisions:
            names.append(name)
        elif name:
            form.note(_no_division(cell, name, layers.divisions))
    return tuple(names)


def _no_division(cell: PlacedValue, name: str, divisions: Iterable[str]) -> Problem:
    names = tuple(divisions)
    close = nearest(name, names)
    if not names:
        expected = 'divisions = ["beginner", "open"] at the top of the book'
    else:
        expected = "" if close else "one of " + ", ".join(names)
    return cell.problem(
        "rulebook-division", f'there is no division "{name}"', found=name, expected=expected, near=close
    )


def _changes(form: RulebookTable, layers: InheritedBook) -> None:
    clauses = {rule.clause: rule for rule in layers.rules if rule.clause}
    for home in _tables(form, "change", layers.unit):
        change = RulebookTable.of(home, CHANGE.names, form.problems, "a change")
        if isinstance(home.value, dict):
            _change(change, layers, clauses)


def _change(form: RulebookTable, layers: InheritedBook, clauses: dict[str, RawRule]) -> None:
    form.require("because", "a change", 'because = "the reason, in a sentence"')
    because, dropped = form.text("because"), form.flag("drop")
    divisions = _named_divisions(form, layers)
    cells = {key: cell for key, cell in form.cells.items() if key in CHANGE_KEYS}
    if dropped and cells:
        message = "a clause that is dropped cannot be altered as well"
        form.note(next(iter(cells.values())).problem("rulebook-change", message, at_key=True))
    elif not dropped and not cells:
        expected = "a limit, or drop = true"
        form.note(form.home.problem("rulebook-change", "this changes nothing", expected=expected))
    cell = form.require("clause", "a change", "the clause it alters")
    clause = form.text("clause")
    if cell is None or not clause:
        return
    if clause not in clauses:
        if layers.sound:
            form.note(_no_clause(cell, clause, clauses))
        return
    if clauses[clause].home.source is layers.source and not form.has("division"):
        form.note(
            cell.problem(
                "rulebook-change",
                f"clause {clause} is in this very file",
                found=clause,
                expected="the limit altered there, or a division",
                related=(("it is here", clauses[clause].home.spot.span),),
            )
        )
    layers.changes.append(RawChange(form.home, clause, divisions, cells, dropped, because))


def _no_clause(cell: PlacedValue, clause: str, clauses: Iterable[str]) -> Problem:
    names = [name for name in clauses if name]
    close = nearest(clause, names)
    return cell.problem(
        "rulebook-change",
        f'there is no clause "{clause}" to change',
        found=clause,
        expected="" if close else "a clause that the book inherits or holds",
        near=close,
    )
