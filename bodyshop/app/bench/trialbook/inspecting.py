"""Inspection on the page: every rule with room for what was measured or seen, judged as it is typed."""

from __future__ import annotations

from bodyshop.app.bench.messages import Data, InspectDeed
from bodyshop.car.measures import QuantityKind, catalogue
from bodyshop.drawing.sheet.paper import usual_sheet
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.papers.inspection_form.document import as_built_pdf
from bodyshop.output.words.inspection import change_words, designed_words, measured_words
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Answer, EyesAnswer, InspectedValue, Inspection
from bodyshop.records.findings.cars import recorded_design
from bodyshop.records.inspection import (
    InspectedRow,
    InspectionInput,
    InspectionResult,
    inspect,
    keep,
    past_inspections,
)
from bodyshop.records.inspection.input import read_steps, read_words, value_kind
from bodyshop.records.inspection.judging import KIND_UNIT, odd_values, verdict_word
from bodyshop.rules.checking import Checked, RulebookCache, check_car
from bodyshop.rules.rulebook import Outcome, Rule, Times, limits_text

__all__ = ["inspect_action", "inspection_data", "last_sheet"]


def inspection_data(book: Book, car: str) -> Data:
    """The rules that the car's rulebook has, with what is drawn, and the inspections so far.

    Raises:
        ProblemsError: there is no such car, or no design of it to judge by.
    """
    name, checked = _checked(book, car)
    return _result_data(inspect(checked, InspectionInput()), book, name)


def inspect_action(book: Book, given: InspectDeed) -> Data:
    """Judge what was typed; with `keep` put it into the book. `{"asks": [...]}` where a value may be a slip
    and that is not confirmed.

    Raises:
        ProblemsError: a value or a word makes no sense, each problem with the clause in it.
        WriteRefusedError: the book cannot be written.
    """
    name, checked = _checked(book, given.car)
    words = [f"{clause}={text.strip()}" for clause, text in given.found.items() if text.strip()]
    inspected = inspect(
        checked, read_words(checked, words, read_steps(given.step, given.balance, given.instrument[:80]))
    )
    if not given.keep:
        return _result_data(inspected, book, name)
    if not words:
        raise ProblemsError([Problem("inspect-word", "nothing was measured or looked at")])
    asks = odd_values(inspected)
    if asks and not given.confirmed:
        return {"asks": list(asks)}
    entry = keep(book, name, inspected, doubt=" ".join(asks))
    return {
        **_result_data(inspected, book, name),
        "done": f"Kept as inspection {entry.id}: {inspected.standing}.",
    }


def last_sheet(book: Book, car: str, owner: str, date: str) -> bytes | None:
    """The sheet of a car's last inspection, to be signed; None before there is one.

    Raises:
        ProblemsError: there is no such car, or no design of it to judge by.
    """
    name, checked = _checked(book, car)
    kept = book.records(Inspection, car=name)
    if not kept:
        return None
    last = kept[-1]
    values = book.records(InspectedValue, inspection=last.origin)
    answers = book.records(EyesAnswer, inspection=last.origin)
    clauses = {
        rule.measure: rule.clause
        for rule in checked.opened.rulebook.rules
        if rule.measure and not rule.several
    }
    words = [
        f"{clauses.get(each.record.measure, each.record.measure)}={each.record.value:.9g}{_unit(each.record)}"
        for each in values
    ]
    words += [f"{each.record.clause}={_answer(each.record.answer)}" for each in answers]
    inspected = inspect(checked, read_words(checked, words))
    told = f"number {last.id} in the book; {len(kept) - 1} before it for this car"
    return as_built_pdf(
        inspected, usual_sheet(checked.opened.rulebook.unit), owner=owner, date=date, told=told
    )


def _unit(record: InspectedValue) -> str:
    """The unit, and the step behind it, as they are typed."""
    unit = record.unit if record.unit in ("mm", "g", "deg") else ""
    step = f"@{record.resolution:.9g}{unit}" if record.resolution > 0.0 else ""
    return f"{unit}{step}"


def _answer(answer: Answer) -> str:
    return {Answer.YES: "yes", Answer.NO: "no", Answer.OPEN: "open"}[answer]


def _checked(book: Book, car: str) -> tuple[str, Checked]:
    record, event = book.car(car).record, book.event.record
    shelf = RulebookCache(event.rulebook, event.division)
    return record.name, check_car(recorded_design(book, record, shelf))


def _result_data(inspected: InspectionResult, book: Book, name: str) -> dict[str, Data]:
    opened = inspected.checked.opened
    return {
        "car": name,
        "rulebook": opened.rulebook.name,
        "standing": inspected.standing,
        "passes": inspected.passes,
        "rows": [_row(row, inspected) for row in inspected.rows if row.rule is not None],
        "before": [
            {
                "id": past.entry.id,
                "at": past.entry.at.strftime("%Y-%m-%d %H:%M"),
                "result": past.entry.record.result,
                "passes": past.entry.record.passes,
                "doubt": past.entry.doubt,
            }
            for past in past_inspections(book, name)
        ],
    }


def _typed_in(kind: QuantityKind | None, inspected: InspectionResult) -> str:
    """The unit of a number that is typed without one: lengths are in the rulebook's."""
    if kind is QuantityKind.LENGTH:
        return inspected.checked.opened.rulebook.unit.symbol
    return "" if kind is None else KIND_UNIT[kind]


def _values_wanted(rule: Rule) -> str:
    """What to type for a rule over several measures."""
    if not rule.several:
        return ""
    titles = "; ".join(catalogue()[name].title for name in rule.several)
    wheels = " Left and right may be given apart." if rule.times is Times.WHEEL else ""
    return f"Give one value for each, with ; between: {titles}.{wheels}"


def _row(row: InspectedRow, inspected: InspectionResult) -> Data:
    rule = row.rule
    if rule is None:
        return None
    kind = value_kind(rule)
    outcome = None if row.verdict is None else row.verdict.outcome
    state = "open" if row.is_open else "bad" if outcome is Outcome.FAIL else "good"
    return {
        "clause": rule.clause,
        "title": rule.title or rule.item,
        "section": rule.section,
        "how": " ".join(part for part in (rule.instruction, _values_wanted(rule)) if part),
        "measured_as": "answer" if kind is None else "value",
        "unit": _typed_in(kind, inspected),
        "limit": limits_text(rule.limits, rule.kind, rule.shown_unit) if rule.limits is not None else "",
        "drawn": designed_words(row, inspected) if rule.limits is not None else "",
        "found": measured_words(row, inspected),
        "change": change_words(row, inspected),
        "verdict": verdict_word(row),
        "state": state,
    }
