"""One rule's cells to a `Rule`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures.catalogue import Measure, MeasuringState, QuantityKind
from bodyshop.foundation.problems import Problem, nearest
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.rules.rulebook.consequences import read_consequences
from bodyshop.rules.rulebook.language import LIMIT_KEYS
from bodyshop.rules.rulebook.limits import limit_cells, read_limits
from bodyshop.rules.rulebook.model import CheckedBy, CountedAs, Doubt, Limits, ReadingSteps, Rule, Times
from bodyshop.rules.rulebook.plausible import doubts
from bodyshop.rules.rulebook.quantities import (
    A_KIND,
    read_quantity,
    read_step,
    written_mass_unit,
    written_unit,
)
from bodyshop.rules.rulebook.table_reader import PlacedValue, ProblemList, RulebookTable
from bodyshop.rules.rulebook.words import RuleWords, amount_text

__all__ = ["RuleSubject", "read_rule"]

_MEASURED: Final = {
    MeasuringState.BODY: "on the bare body",
    MeasuringState.WHEELS: "with the car on its wheels",
    MeasuringState.NO_CARTRIDGE: "on the complete car, without cartridge",
    MeasuringState.WITH_CARTRIDGE: "on the complete car, with a full cartridge",
}


@dataclass(frozen=True, slots=True)
class RuleSubject:
    """What a rule bounds: measures of the catalogue, all of one kind, or a thing an inspector checks."""

    measures: tuple[Measure, ...]
    item: str
    kind: QuantityKind | None

    @property
    def measure(self) -> Measure | None:
        """The first measure."""
        return self.measures[0] if self.measures else None

    @property
    def name(self) -> str:
        """What to call it in a message."""
        return self.measures[0].id if self.measures else "the item"

    @property
    def title(self) -> str:
        """What to call it in print."""
        titles = [measure.title for measure in self.measures]
        return listed(titles)


def read_rule(
    home: PlacedValue,
    cells: Mapping[str, PlacedValue],
    catalogue: Mapping[str, Measure],
    reads: ReadingSteps,
    problems: ProblemList,
) -> Rule | None:
    """The rule that the cells state; None when it is not good, with every problem noted."""
    faults: list[Problem] = []
    form = RulebookTable(home, cells, faults)
    clause = _clause(form)
    subject = _subject(form, catalogue)
    checked_by = _checked_by(form, subject)
    limits = _limits(form, subject)
    kind = subject.kind if subject is not None else None
    first = _first(form, subject)
    measures = _named(subject, first)
    costs = read_consequences(form, kind, limits, measures)
    reason = _reason(form)
    instruction = _instruction(form, checked_by)
    state = _state(form, subject)
    resolution = _step(form, "resolution", kind, reads.resolution)
    near = _step(form, "near", kind, reads.near)
    past = _past(form, kind)
    unit, mass_unit = _units(form)
    shown = mass_unit if kind is QuantityKind.MASS else unit
    words = RuleWords(form, limits, kind, shown, costs, past, first)
    title = subject.title if subject is not None else ""
    title += f", first {amount_text(first, QuantityKind.LENGTH, unit)} from the mouth" if first else ""
    title += f", past {amount_text(past, QuantityKind.LENGTH, unit)}" if past else ""
    title = words.filled("title", form.text("title", title))
    rule = Rule(
        clause=clause,
        title=title,
        section=form.text("section"),
        measure=measures[0] if measures else "",
        item=words.filled("item", subject.item if subject is not None else ""),
        kind=kind,
        state=state,
        limits=limits,
        unit=unit,
        resolution=resolution,
        near=near,
        fails=costs.fails,
        points=costs.points,
        per=costs.per,
        rounding=costs.rounding,
        checked_by=checked_by,
        reason=words.filled("reason", reason),
        instruction=words.filled("instruction", instruction),
        spot=form.cells["clause"].spot if form.has("clause") else home.spot,
        spots={key: cell.spot for key, cell in cells.items()},
        past=past,
        first=first,
        source=form.text("source"),
        mass_unit=mass_unit,
        several=measures if len(measures) > 1 else (),
        together=_together(form, measures, costs.times),
        times=costs.times,
        also=costs.also,
        ballast=costs.ballast,
        most_points=costs.most_points,
        award=costs.award,
        doubt=form.word("doubt", Doubt, reads.doubt),
        accept=form.text("accept"),
    )
    if limits is not None and kind is not None:
        faults.extend(doubts(form, rule))
    for fault in faults:
        problems.append(fault)
    return rule if all(fault.severity.value != "error" for fault in faults) else None


def _clause(form: RulebookTable) -> str:
    form.require("clause", "a rule", 'the label on the printed sheet, such as clause = "4.2"')
    return form.text("clause")


def _subject(form: RulebookTable, catalogue: Mapping[str, Measure]) -> RuleSubject | None:
    measure, item = form.cell("measure"), form.cell("item")
    if measure is not None and item is not None:
        form.note(
            item.problem(
                "rulebook-subject",
                "a rule has either a measure or an item",
                at_key=True,
                expected="a title for more words, or a rule of its own",
                related=(("the measure is here", measure.spot.span),),
            )
        )
        return None
    if measure is None and item is None:
        form.require("measure", "a rule", "the id of a measure, or item with what an inspector looks for")
        return None
    if item is not None:
        return RuleSubject((), form.text("item"), _item_kind(form))
    found = _measures(form, catalogue)
    if not found:
        return None
    if (cell := form.cell("kind")) is not None:
        message = f"the kind of {found[0].id} is known: {found[0].kind.value}"
        form.note(cell.problem("rulebook-kind", message, at_key=True, expected="kind with an item only"))
    return RuleSubject(found, "", found[0].kind)


def _measures(form: RulebookTable, catalogue: Mapping[str, Measure]) -> tuple[Measure, ...]:
    """The measures that are named, all of one kind; none where one of them is wrong."""
    found: list[Measure] = []
    cells = form.texts("measure")
    for cell in cells:
        name = form.text_of(cell, "measure")
        measure = catalogue.get(name)
        if name and measure is None:
            form.note(_no_measure(cell, name, catalogue))
        if measure is None:
            continue
        found.append(measure)
        if measure.kind is not found[0].kind:
            form.note(
                cell.problem(
                    "rulebook-kind",
                    f"{name} is {A_KIND[measure.kind]}, but {found[0].id} is {A_KIND[found[0].kind]}",
                    found=name,
                    expected="measures of one kind, or a rule for each",
                )
            )
    return tuple(found) if len(found) == len(cells) else ()


def _together(form: RulebookTable, measures: tuple[str, ...], times: Times) -> CountedAs:
    """How several measures count; each of them where it is counted by the wheel."""
    each = CountedAs.EACH if times is Times.WHEEL else CountedAs.WORST
    found = form.word("together", CountedAs, each)
    cell = form.cell("together")
    if cell is not None and len(measures) < 2:
        message = "together has no use here: the rule has one measure"
        expected = 'a list of measures, such as measure = ["front_wheel.width", "rear_wheel.width"]'
        form.note(cell.problem("rulebook-together", message, at_key=True, expected=expected))
    elif cell is not None and found is CountedAs.WORST and times is Times.WHEEL:
        message = "what counts for every wheel cannot count for the worst alone"
        form.note(cell.problem("rulebook-together", message, found="worst", expected='together = "each"'))
    return found


def _no_measure(cell: PlacedValue, name: str, catalogue: Mapping[str, Measure]) -> Problem:
    close = nearest(name, catalogue)
    if not close:  # the last part may be right
        last = name.rpartition(".")[2]
        close = next((known for known in catalogue if known.rpartition(".")[2] == last), "")
    if not close:
        close = nearest(name, [measure.title for measure in catalogue.values()])
        close = next((known for known, measure in catalogue.items() if measure.title == close), "")
    expected = "" if close else "an id that `bodyshop measures` lists"
    return cell.problem(
        "rulebook-measure", f'there is no measure "{name}"', found=name, expected=expected, near=close
    )


def _item_kind(form: RulebookTable) -> QuantityKind | None:
    bounds = [cell for key in LIMIT_KEYS if (cell := form.cell(key)) is not None]
    if not bounds and (cell := form.cell("kind")) is not None:
        form.note(
            cell.problem("rulebook-kind", "kind stands without a limit", at_key=True, expected="a limit too")
        )
        return None
    if not bounds:
        return None
    if form.has("kind"):
        return form.word("kind", QuantityKind, QuantityKind.LENGTH)
    form.note(
        bounds[0].problem(
            "rulebook-kind",
            "an item with a limit needs its kind",
            at_key=True,
            expected="kind = " + ", ".join(f'"{kind.value}"' for kind in QuantityKind),
        )
    )
    return None


def _checked_by(form: RulebookTable, subject: RuleSubject | None) -> CheckedBy:
    measured = subject is None or subject.measure is not None
    default = CheckedBy.PROGRAM if measured else CheckedBy.EYES
    found = form.word("checked_by", CheckedBy, default)
    cell = form.cell("checked_by")
    if cell is not None and found is CheckedBy.PROGRAM and not measured:
        form.note(
            cell.problem(
                "rulebook-checked-by",
                "the program cannot check an item: it has no measure",
                found="program",
                expected='"gauge" or "eyes", or a measure',
            )
        )
    return found


def _limits(form: RulebookTable, subject: RuleSubject | None) -> Limits | None:
    if subject is None or subject.kind is None:
        # Without a kind its numbers mean nothing; which keys go together can be told all the same.
        if subject is not None and subject.measures:
            return read_limits(form, QuantityKind.LENGTH, subject.name)
        return None
    return read_limits(form, subject.kind, subject.name)


def _reason(form: RulebookTable) -> str:
    form.require("reason", "a rule", "a sentence that tells a student why")
    return form.text("reason")


def _instruction(form: RulebookTable, checked_by: CheckedBy) -> str:
    cell = form.cell("instruction")
    if cell is not None and checked_by is CheckedBy.PROGRAM:
        form.note(
            cell.problem(
                "rulebook-checked-by",
                "an instruction is for a gauge or for eyes",
                at_key=True,
                expected='checked_by = "gauge" or "eyes"',
            )
        )
    return form.text("instruction")


def _state(form: RulebookTable, subject: RuleSubject | None) -> MeasuringState | None:
    measure = subject.measure if subject is not None else None
    states = {each.state for each in subject.measures} if subject is not None else set()
    own = states.pop() if len(states) == 1 else None
    cell = form.cell("state")
    if cell is None:
        return own
    found = form.word("state", MeasuringState, own or MeasuringState.BODY)
    if measure is not None and isinstance(cell.value, str) and found is not own and cell.value == found.value:
        form.note(
            cell.problem(
                "rulebook-state",
                f"{measure.id} is measured {_MEASURED[measure.state]}",
                found=found.value,
                expected=f'"{measure.state.value}", or the measure for the other state',
            )
        )
    return found


def _step(
    form: RulebookTable, key: str, kind: QuantityKind | None, book: Mapping[QuantityKind, float]
) -> float:
    """The rule's own resolution or near margin, or the book's."""
    cell = form.cell(key)
    if kind is None:
        return 0.0
    if cell is None:
        return book.get(kind, 0.0)
    read = read_step(cell, kind, key)
    if isinstance(read, Problem):
        form.note(read)
        return 0.0
    return read


def _first(form: RulebookTable, subject: RuleSubject | None) -> float:
    """The stretch of the bore that a wall is measured over, mm from its mouth; zero where that is all."""
    cell = form.cell("first")
    if cell is None or subject is None:
        return 0.0
    other = next((measure.id for measure in subject.measures if not measure.along_bore), "")
    if other or not subject.measures:
        form.note(
            cell.problem(
                "rulebook-first",
                f"{other or 'an item'} is not measured along the bore",
                at_key=True,
                expected="first with a wall of the bore, such as bore.wall or bore.wall_top",
            )
        )
        return 0.0
    read = read_step(cell, QuantityKind.LENGTH, "first", or_none=False)
    if isinstance(read, Problem):
        form.note(read)
        return 0.0
    return read


def _named(subject: RuleSubject | None, first: float) -> tuple[str, ...]:
    """The ids of the measures that the rule bounds."""
    measures = subject.measures if subject is not None else ()
    return tuple(measure.over_first(first).id if first else measure.id for measure in measures)


def _past(form: RulebookTable, kind: QuantityKind | None) -> float:
    """How far the plane is set off that a reading is counted from."""
    cell = form.cell("past")
    if cell is None or kind is None:
        return 0.0
    if kind is not QuantityKind.LENGTH or form.has("item"):
        form.note(
            cell.problem(
                "rulebook-past",
                "only a length that is measured can be counted past a plane",
                at_key=True,
                expected="past with a measure that is a length",
            )
        )
        return 0.0
    read = read_quantity(cell, QuantityKind.LENGTH, "past")
    if isinstance(read, Problem):
        form.note(read)
        return 0.0
    return read


def _units(form: RulebookTable) -> tuple[LengthUnit, MassUnit]:
    """The units of the limits: those of the book, and grams, where the limits have several."""
    cells = limit_cells(form)
    units = {written_unit(cell) for cell in cells}
    masses = {written_mass_unit(cell) for cell in cells}
    return (
        units.pop() if len(units) == 1 else form.home.unit,
        masses.pop() if len(masses) == 1 else MassUnit.G,
    )
