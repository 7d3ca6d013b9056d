"""One rule's cells to a `Rule`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.lengths import MassUnit
from bodyshop.measures.catalogue import Kind, Measure, State
from bodyshop.problems import Problem, nearest
from bodyshop.rulebook.cells import Cell, Form, Noted
from bodyshop.rulebook.filling import RuleWords
from bodyshop.rulebook.limits import LIMIT_KEYS, read_limits
from bodyshop.rulebook.model import CheckedBy, Fails, Limits, Reads, Rounding, Rule
from bodyshop.rulebook.plausible import doubts
from bodyshop.rulebook.quantities import read_quantity, written_mass_unit, written_unit
from bodyshop.rulebook.words import amount_text

__all__ = ["CHANGE_KEYS", "RULE_KEYS", "Subject", "read_rule"]

CHANGE_KEYS: Final = (
    "title",
    "section",
    *LIMIT_KEYS,
    "past",
    "resolution",
    "near",
    "state",
    "fails",
    "points",
    "per",
    "rounding",
    "checked_by",
    "reason",
    "instruction",
    "source",
)
"""The keys of a rule that a change may alter."""

RULE_KEYS: Final = ("clause", "measure", "item", "kind", "division", *CHANGE_KEYS)
"""The keys of a rule."""

_MOST_POINTS: Final = 1e6
_MEASURED: Final = {
    State.BODY: "on the bare body",
    State.WHEELS: "with the car on its wheels",
    State.NO_CARTRIDGE: "on the complete car, without cartridge",
    State.WITH_CARTRIDGE: "on the complete car, with a full cartridge",
}
_WITH_POINTS: Final = frozenset((Fails.POINTS_ONCE, Fails.POINTS_PER_UNIT))


@dataclass(frozen=True, slots=True)
class Subject:
    """What a rule bounds: a measure of the catalogue, or a thing an inspector checks."""

    measure: Measure | None
    item: str
    kind: Kind | None

    @property
    def name(self) -> str:
        """What to call it in a message."""
        return self.measure.id if self.measure is not None else "the item"


def read_rule(
    home: Cell, cells: Mapping[str, Cell], catalogue: Mapping[str, Measure], reads: Reads, problems: Noted
) -> Rule | None:
    """The rule that the cells state; None when it is not good, with every problem noted."""
    faults: list[Problem] = []
    form = Form(home, cells, faults)
    clause = _clause(form)
    subject = _subject(form, catalogue)
    checked_by = _checked_by(form, subject)
    limits = _limits(form, subject)
    kind = subject.kind if subject is not None else None
    fails = _fails(form, kind, limits)
    reason = _reason(form)
    instruction = _instruction(form, checked_by)
    state = _state(form, subject)
    resolution = _step(form, "resolution", kind, reads.resolution)
    near = _step(form, "near", kind, reads.near)
    points, per, rounding = _points(form, fails, kind)
    past = _past(form, kind)
    first = _first_limit(form)
    unit = form.home.unit if first is None else written_unit(first)
    mass_unit = MassUnit.G if first is None else written_mass_unit(first)
    shown = mass_unit if kind is Kind.MASS else unit
    words = RuleWords(form, limits, kind, shown, points, per, past)
    measure = subject.measure if subject is not None else None
    title = measure.title if measure is not None else ""
    title += f", past {amount_text(past, Kind.LENGTH, unit)}" if past else ""
    title = words.filled("title", form.text("title", title))
    rule = Rule(
        clause=clause,
        title=title,
        section=form.text("section"),
        measure=measure.id if measure is not None else "",
        item=words.filled("item", subject.item if subject is not None else ""),
        kind=kind,
        state=state,
        limits=limits,
        unit=unit,
        resolution=resolution,
        near=near,
        fails=fails,
        points=points,
        per=per,
        rounding=rounding,
        checked_by=checked_by,
        reason=words.filled("reason", reason),
        instruction=words.filled("instruction", instruction),
        spot=form.cells["clause"].spot if form.has("clause") else home.spot,
        spots={key: cell.spot for key, cell in cells.items()},
        past=past,
        source=form.text("source"),
        mass_unit=mass_unit,
    )
    if limits is not None and kind is not None:
        faults.extend(doubts(form, rule))
    for fault in faults:
        problems.append(fault)
    return rule if all(fault.severity.value != "error" for fault in faults) else None


def _clause(form: Form) -> str:
    form.require("clause", "a rule", 'the label on the printed sheet, such as clause = "4.2"')
    return form.text("clause")


def _subject(form: Form, catalogue: Mapping[str, Measure]) -> Subject | None:
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
        return Subject(None, form.text("item"), _item_kind(form))
    name = form.text("measure")
    if measure is None or not name:
        return None
    found = catalogue.get(name)
    if found is None:
        form.note(_no_measure(measure, name, catalogue))
        return None
    if (cell := form.cell("kind")) is not None:
        message = f"the kind of {name} is known: {found.kind.value}"
        form.note(cell.problem("rulebook-kind", message, at_key=True, expected="kind with an item only"))
    return Subject(found, "", found.kind)


def _no_measure(cell: Cell, name: str, catalogue: Mapping[str, Measure]) -> Problem:
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


def _item_kind(form: Form) -> Kind | None:
    bounds = [cell for key in LIMIT_KEYS if (cell := form.cell(key)) is not None]
    if not bounds and (cell := form.cell("kind")) is not None:
        form.note(
            cell.problem("rulebook-kind", "kind stands without a limit", at_key=True, expected="a limit too")
        )
        return None
    if not bounds:
        return None
    if form.has("kind"):
        return form.word("kind", Kind, Kind.LENGTH)
    form.note(
        bounds[0].problem(
            "rulebook-kind",
            "an item with a limit needs its kind",
            at_key=True,
            expected="kind = " + ", ".join(f'"{kind.value}"' for kind in Kind),
        )
    )
    return None


def _checked_by(form: Form, subject: Subject | None) -> CheckedBy:
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


def _limits(form: Form, subject: Subject | None) -> Limits | None:
    if subject is None or subject.kind is None:
        # Without a kind its numbers mean nothing; which keys go together can be told all the same.
        if subject is not None and subject.measure is not None:
            return read_limits(form, Kind.LENGTH, subject.name)
        return None
    return read_limits(form, subject.kind, subject.name)


def _fails(form: Form, kind: Kind | None, limits: Limits | None) -> Fails:
    form.require("fails", "a rule", "what follows: " + ", ".join(f'"{fails.value}"' for fails in Fails))
    fails = form.word("fails", Fails, Fails.ADVICE)
    cell = form.cell("fails")
    if cell is None or fails is not Fails.BALLAST or kind is None:
        return fails
    if kind is not Kind.MASS or (limits is not None and limits.low is None):
        form.note(
            cell.problem(
                "rulebook-ballast",
                "ballast mends only a mass that is too small",
                found="ballast",
                expected="a rule with the min of a mass",
            )
        )
    return fails


def _reason(form: Form) -> str:
    form.require("reason", "a rule", "a sentence that tells a student why")
    return form.text("reason")


def _instruction(form: Form, checked_by: CheckedBy) -> str:
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


def _state(form: Form, subject: Subject | None) -> State | None:
    measure = subject.measure if subject is not None else None
    own = measure.state if measure is not None else None
    cell = form.cell("state")
    if cell is None:
        return own
    found = form.word("state", State, own or State.BODY)
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


def _step(form: Form, key: str, kind: Kind | None, book: Mapping[Kind, float]) -> float:
    """The rule's own resolution or near margin, or the book's."""
    cell = form.cell(key)
    if kind is None:
        return 0.0
    if cell is None:
        return book.get(kind, 0.0)
    read = read_quantity(cell, kind, key)
    if isinstance(read, Problem):
        form.note(read)
        return 0.0
    if read < 0.0:
        form.note(cell.problem("rulebook-range", f"{key} is below nought", found=str(cell.value)))
    return max(read, 0.0)


def _points(form: Form, fails: Fails, kind: Kind | None) -> tuple[float, float, Rounding]:
    points, per = 0.0, 1.0
    if fails in _WITH_POINTS:
        form.require("points", f'a rule that fails with "{fails.value}"', "how many points are taken")
        points = form.number("points", 0.01, _MOST_POINTS, 1.0)
    else:
        _needless(form, "points", 'fails = "points once" or "points per unit"')
    if fails is Fails.POINTS_PER_UNIT:
        if kind is None:
            form.note(
                form.cells["fails"].problem(
                    "rulebook-points",
                    "nothing is measured here, so there are no units to count",
                    expected='fails = "points once"',
                )
            )
        cell = form.require(
            "per", 'a rule that fails with "points per unit"', 'the unit, such as per = "1 mm"'
        )
        if cell is not None and kind is not None:
            per = _positive(form, cell, kind)
    else:
        for key in ("per", "rounding"):
            _needless(form, key, 'fails = "points per unit"')
    return points, per, form.word("rounding", Rounding, Rounding.UP)


def _past(form: Form, kind: Kind | None) -> float:
    """How far the plane is set off that a reading is counted from."""
    cell = form.cell("past")
    if cell is None or kind is None:
        return 0.0
    if kind is not Kind.LENGTH or form.has("item"):
        form.note(
            cell.problem(
                "rulebook-past",
                "only a length that is measured can be counted past a plane",
                at_key=True,
                expected="past with a measure that is a length",
            )
        )
        return 0.0
    read = read_quantity(cell, Kind.LENGTH, "past")
    if isinstance(read, Problem):
        form.note(read)
        return 0.0
    return read


def _positive(form: Form, cell: Cell, kind: Kind) -> float:
    read = read_quantity(cell, kind, "per")
    if isinstance(read, Problem):
        form.note(read)
        return 1.0
    if read <= 0.0:
        form.note(cell.problem("rulebook-range", "per is not above nought", found=str(cell.value)))
        return 1.0
    return read


def _needless(form: Form, key: str, expected: str) -> None:
    cell = form.cell(key)
    if cell is not None:
        message = f"{key} has no use here"
        form.note(cell.problem("rulebook-points", message, at_key=True, expected=expected))


def _first_limit(form: Form) -> Cell | None:
    """The first cell that holds a limit."""
    cell = next((cell for key in LIMIT_KEYS if (cell := form.cell(key)) is not None), None)
    if cell is not None and isinstance(cell.value, list) and cell.value:
        return Cell(cell.value[0], cell.source, cell.path, cell.unit)
    return cell
