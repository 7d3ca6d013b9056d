"""Reading a rulebook whole, with the warnings that its writer accepts."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Final

from bodyshop.car.measures.catalogue import Measure, QuantityKind
from bodyshop.car.stock.cautions import Operation
from bodyshop.foundation.problems import Problem, ProblemsError, Severity, nearest
from bodyshop.foundation.text.values import quoted, shown
from bodyshop.foundation.units import QuantityError, parse_distance
from bodyshop.rules.rulebook.event_hardware import read_brought, read_kit
from bodyshop.rules.rulebook.inheritance import InheritedBook, RawChange, RawRule, lay
from bodyshop.rules.rulebook.model import ClauseChange, Doubt, ReadingSteps, Rule, Rulebook, Score
from bodyshop.rules.rulebook.quantities import read_quantity, read_step
from bodyshop.rules.rulebook.rules import read_rule
from bodyshop.rules.rulebook.table_reader import PlacedValue, RulebookTable

__all__ = ["RemainingProblems", "read_layers", "read_rulebook", "sift"]


_KEY = "accept"


@dataclass(frozen=True, slots=True)
class RemainingProblems:
    """Problems as they are left, the warnings that a clause accepts, and cells that accept none."""

    left: tuple[Problem, ...]
    accepted: tuple[Problem, ...]
    idle: tuple[PlacedValue, ...]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """The lines of a table that accepts doubts."""

    cell: PlacedValue
    first: int
    last: int

    def holds(self, problem: Problem) -> bool:
        at = problem.span
        return problem.file == self.cell.source.name and at is not None and self.first <= at.line <= self.last


def sift(layers: InheritedBook, problems: Iterable[Problem]) -> RemainingProblems:
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
    return RemainingProblems(tuple(left), tuple(accepted), idle)


def _stretches(layers: InheritedBook) -> Iterator[_Stretch]:
    tables: list[RawRule | RawChange] = [*layers.rules, *layers.changes]
    for table in tables:
        cell = table.cells.get(_KEY)
        if cell is None:
            continue
        lines = [home.spot.span.line for home in (table.home, *_all_cells(table.cells.values()))]
        yield _Stretch(cell, min(lines), max(lines))


def _all_cells(cells: Iterable[PlacedValue]) -> Iterator[PlacedValue]:
    """The cells, and those within their lists."""
    for cell in cells:
        yield cell
        if isinstance(cell.value, list):
            for number, value in enumerate(cell.value):
                yield PlacedValue(value, cell.source, (*cell.path, number), cell.unit)


_READING: Final = (
    (QuantityKind.LENGTH, "resolution", "near"),
    (QuantityKind.MASS, "mass_resolution", "mass_near"),
    (QuantityKind.ANGLE, "angle_resolution", "angle_near"),
)
_DEFAULT_RESOLUTION: Final = {QuantityKind.MASS: 0.1, QuantityKind.ANGLE: math.radians(0.1)}
_DEFAULT_NEAR: Final = {QuantityKind.LENGTH: 0.5}
"""What a sawn and sanded line may be out by, mm: ISO 2768-1:1989, class v, sizes over 3 up to 6 mm."""

_SHORTEST_TRACK_MM: Final = 1000.0
_MOST_SCORE: Final = 1e6
_FINGERPRINT_LENGTH: Final = 12


def read_rulebook(
    path: Path | str, catalogue: Mapping[str, Measure] | None = None, division: str = ""
) -> Rulebook:
    """The rulebook in a file, for one of its divisions.

    `catalogue` holds the measures that rules can name: all there are, when it is left out. Raises
    `ProblemsError` with every problem of the file and of those it inherits from.

    >>> from bodyshop.rules.rulebook.find import find_rulebook
    >>> read_rulebook(find_rulebook("quarry-lane")).name
    'Quarry Lane Sprint'
    """
    if catalogue is None:
        from bodyshop.car.measures import catalogue as every_measure

        catalogue = every_measure()
    problems: list[Problem] = []
    layers = lay(Path(path), problems)
    if division and division not in layers.divisions:
        problems.append(_no_such_division(layers, division))
    book = read_layers(layers, catalogue, division, problems)
    left = sift(layers, problems).left
    told = sorted(dict.fromkeys(left), key=Problem.sort_key)
    if any(problem.severity is Severity.ERROR for problem in told):
        raise ProblemsError(told)
    return replace(book, warnings=tuple(told))


def read_layers(
    layers: InheritedBook, catalogue: Mapping[str, Measure], division: str, problems: list[Problem]
) -> Rulebook:
    """The rulebook that the layers make for a division, without what is wrong: that is noted."""
    head = RulebookTable(layers.home, layers.head, problems)
    head.require("name", "a rulebook", 'name = "what the event calls it"')
    reads = _reads(layers, problems)
    rules, changes = _rules(layers, catalogue, reads, division, problems)
    brought = read_brought(layers.stock, problems)
    return Rulebook(
        source=layers.source,
        stem=Path(layers.source.name).stem,
        name=head.text("name"),
        event=head.text("event"),
        note=head.text("note"),
        unit=layers.unit,
        division=division,
        divisions=tuple(layers.divisions),
        parents=tuple(Path(source.name).stem for source in layers.sources[1:]),
        reads=reads,
        kit=read_kit(RulebookTable(layers.home, layers.kit, problems), brought),
        track_mm=_track(head),
        score=_score(layers, problems),
        rules=rules,
        changes=changes,
        fingerprint=_fingerprint(layers),
        cautions=_cautions(head),
    )


def _rules(
    layers: InheritedBook,
    catalogue: Mapping[str, Measure],
    reads: ReadingSteps,
    division: str,
    problems: list[Problem],
) -> tuple[tuple[Rule, ...], tuple[ClauseChange, ...]]:
    """The rules of the division; those of the others are read as well, for what is wrong with them."""
    raws, changes = layers.merged(division)
    if not raws and not problems:
        message = "this rulebook has no rules" + (f" for {division}" if division else "")
        problems.append(layers.home.problem("rulebook-empty", message, expected="[[rule]]"))
    rules = [read_rule(raw.home, raw.cells, catalogue, reads, problems) for raw in raws]
    seen = {id(raw) for raw in raws}
    for other in ("", *layers.divisions):
        for raw in layers.merged(other)[0] if other != division else ():
            if id(raw) not in seen:
                read_rule(raw.home, raw.cells, catalogue, reads, problems)
    made = tuple(_change(change, before, catalogue, reads) for change, before in changes)
    return tuple(rule for rule in rules if rule is not None), made


def _change(
    change: RawChange, before: RawRule, catalogue: Mapping[str, Measure], reads: ReadingSteps
) -> ClauseChange:
    # What is wrong with the rule as it was is told where it still holds.
    return ClauseChange(
        clause=change.clause,
        keys=tuple(change.cells),
        dropped=change.dropped,
        because=change.because,
        divisions=change.divisions,
        spot=change.home.spot,
        before=read_rule(before.home, before.cells, catalogue, reads, []),
    )


def _no_such_division(layers: InheritedBook, division: str) -> Problem:
    names = tuple(layers.divisions)
    close = nearest(division, names)
    expected = "one of " + ", ".join(names) if names else "none: this rulebook has no divisions"
    return layers.home.source.problem(
        ("divisions",),
        "rulebook-division",
        f'there is no division "{division}"',
        found=division,
        expected="" if close else expected,
        nearest=close,
    )


def _reads(layers: InheritedBook, problems: list[Problem]) -> ReadingSteps:
    form = RulebookTable(layers.home, layers.reading, problems)
    if not form.has("resolution") and layers.sound:
        home = layers.head.get("reading", layers.home)
        expected = 'resolution = "0.1 mm" in [reading]: the step to which lengths are read'
        problems.append(
            home.problem("rulebook-missing-key", "a rulebook needs a resolution", expected=expected)
        )
    resolution, near = dict(_DEFAULT_RESOLUTION), dict(_DEFAULT_NEAR)
    for kind, step_key, near_key in _READING:
        _step(form, step_key, kind, resolution)
        _step(form, near_key, kind, near)
    doubt = form.word("doubt", Doubt, Doubt.OPEN)
    return ReadingSteps(MappingProxyType(resolution), MappingProxyType(near), doubt)


def _step(form: RulebookTable, key: str, kind: QuantityKind, into: dict[QuantityKind, float]) -> None:
    cell = form.cell(key)
    if cell is None:
        return
    read = read_step(cell, kind, key)
    if isinstance(read, Problem):
        form.note(read)
    else:
        into[kind] = read


def _track(head: RulebookTable) -> float | None:
    cell = head.cell("track_length")
    if cell is None:
        return None
    try:
        # A track is in feet or metres as often as not.
        read = (
            parse_distance(cell.value, cell.unit)
            if isinstance(cell.value, str)
            else read_quantity(cell, QuantityKind.LENGTH, "the track")
        )
    except QuantityError as error:
        read = cell.quantity_problem(error)
    if isinstance(read, Problem):
        head.note(read)
        return None
    if read < _SHORTEST_TRACK_MM:
        what = "not above zero" if read <= 0.0 else shown(cell.value)
        message = f"track_length is {what}"
        expected = "what is raced over, such as 20000 or 65.6"
        head.note(cell.problem("rulebook-range", message, found=shown(cell.value), expected=expected))
        return None
    return read


def _cautions(head: RulebookTable) -> tuple[Operation, ...]:
    """The operations that are named; those of an event where none are."""
    words = {operation.value: operation for operation in Operation}
    found: list[Operation] = []
    for cell in head.texts("cautions"):
        if cell.value in words:
            found.append(words[str(cell.value)])
            continue
        close = nearest(str(cell.value), words)
        message = f"cautions is {quoted(cell.value)}"
        expected = "one of " + ", ".join(f'"{word}"' for word in words)
        head.note(
            cell.problem("rulebook-word", message, found=shown(cell.value), expected=expected, near=close)
        )
    return tuple(found) or (Operation.CARTRIDGE, Operation.RACE)


def _score(layers: InheritedBook, problems: list[Problem]) -> Score | None:
    if not layers.score:
        return None
    home = layers.head.get("score", layers.home)
    form = RulebookTable(home, layers.score, problems)
    form.require("full", "[score]", "the points a car starts with, such as full = 100")
    full = form.number("full", 0.0, _MOST_SCORE, 0.0)
    least = form.number("least", 0.0, _MOST_SCORE, 0.0)
    cell = form.cell("least")
    if cell is not None and form.has("full") and least > full:
        related = layers.score["full"].spot.beside("full is here", cell.source)
        message = f"least is {least:g}, above the full score of {full:g}"
        form.note(cell.problem("rulebook-limits", message, found=f"{least:g}", related=related))
    return Score(full, least)


def _fingerprint(layers: InheritedBook) -> str:
    digest = hashlib.sha256()
    for source in layers.sources:
        digest.update(source.text.replace("\r\n", "\n").encode())
        digest.update(b"\0")
    return digest.hexdigest()[:_FINGERPRINT_LENGTH]
