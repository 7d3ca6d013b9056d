"""The verdict for other programs: complete, with a version, described by `check.schema.json`.

What may change without a new version: keys are added, sentences are worded better. Anything else counts
the version up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from bodyshop import __version__
from bodyshop.car.stock.hardware import MAKERS
from bodyshop.foundation.problems import Problem
from bodyshop.output.json.plain_data import (
    UNITS,
    Data,
    in_unit,
    json_text,
    mass_data,
    measure_data,
    number,
    place_data,
    problem_data,
    span_data,
)
from bodyshop.output.words.hints import Hints, hint_blocks
from bodyshop.output.words.verdict import change_sentence, consequence, headline, rules_checked
from bodyshop.rules.checking import Checked, LoadedCar, shown_file
from bodyshop.rules.rulebook import (
    Limits,
    Outcome,
    Remedy,
    Rulebook,
    Verdict,
    amount_text,
    limits_text,
    value_text,
)

__all__ = [
    "CHECK_FORMAT",
    "CHECK_SCHEMA",
    "CHECK_VERSION",
    "MEASURE_FORMAT",
    "MEASURE_SCHEMA",
    "MEASURE_VERSION",
    "check_json",
    "checked_data",
    "measure_json",
    "part_data",
    "unread_data",
]

CHECK_FORMAT: Final = "bodyshop-check"
CHECK_VERSION: Final = 2
CHECK_SCHEMA: Final = Path(__file__).with_name("schemas") / "check.schema.json"

MEASURE_FORMAT: Final = "bodyshop-measure"
MEASURE_VERSION: Final = 1
MEASURE_SCHEMA: Final = Path(__file__).with_name("schemas") / "measure.schema.json"


def check_json(designs: Sequence[Data], exit_code: int) -> str:
    """Designs as `checked_data` and `unread_data` give them, in the order asked for, as one document."""
    return json_text(
        {
            "format": CHECK_FORMAT,
            "version": CHECK_VERSION,
            "program": __version__,
            "exit_code": exit_code,
            "designs": designs,
        }
    )


def measure_json(checked: Checked) -> str:
    """Every measure of one design, unjudged."""
    return json_text(
        {
            "format": MEASURE_FORMAT,
            "version": MEASURE_VERSION,
            "program": __version__,
            **_head(checked.opened),
            "measures": _measures(checked),
            "mass": _mass(checked),
            "problems": [problem_data(problem) for problem in checked.opened.warnings],
        }
    )


def unread_data(file: str, problems: Sequence[Problem]) -> Data:
    """A design that could not be read."""
    return {
        "file": shown_file(file),
        "result": "cannot be read",
        "passes": None,
        "sentence": "The design cannot be read, so nothing can be said of the car.",
        "problems": [problem_data(problem) for problem in problems],
    }


def _head(opened: LoadedCar) -> dict[str, Data]:
    design = opened.design
    return {
        "file": shown_file(design.source.name),
        "name": design.name,
        "bench": design.bench,
        "units": design.unit.symbol,
        "fingerprint": design.fingerprint,
    }


def checked_data(checked: Checked, hints: Hints | None = None) -> Data:
    """A design that was judged. `hints` are of several broken rules at once; None: not looked for."""
    judgement = checked.judgement
    score = judgement.rulebook.score
    counts = {outcome.value: len(judgement.having(outcome)) for outcome in Outcome}
    return {
        **_head(checked.opened),
        "result": judgement.result.value,
        "passes": judgement.passes,
        "sentence": headline(checked),
        "rulebook": _book(checked.opened.rulebook, by_default=checked.opened.by_default),
        "points_off": number(judgement.points_off),
        "score": number(judgement.score),
        "full_score": None if score is None else number(score.full),
        "least_score": None if score is None else number(score.least),
        "ballast_g": number(judgement.ballast_g),
        "show_only": judgement.show_only,
        "barred": list(judgement.barred),
        "rules_checked": rules_checked(checked),
        "counts": counts,
        "rules": [_rule(checked, verdict) for verdict in judgement.verdicts],
        "measures": _measures(checked),
        "hints": None if hints is None else _hints(hints),
        "mass": _mass(checked),
        "problems": [problem_data(problem) for problem in checked.opened.warnings],
    }


def _hints(hints: Hints) -> Data:
    blocks = [list(block.sentences) for block in hint_blocks(hints)]
    return {
        "together": [
            {"clauses": list(each.clauses), "sentences": sentences}
            for each, sentences in zip(hints.together, blocks, strict=False)
        ],
        "best": {"sentence": blocks[-1][0], "mends": list(hints.mends)} if hints.best else None,
    }


def _book(book: Rulebook, *, by_default: bool) -> Data:
    return {
        "name": book.name,
        "event": book.event,
        "file": shown_file(book.source.name),
        "division": book.division,
        "units": book.unit.symbol,
        "fingerprint": book.fingerprint,
        "by_default": by_default,
        "brought": [
            {"shelf": shelf, "id": part.id, "label": part.label, "source": part.source}
            for shelf in MAKERS
            for part in book.kit.brought.shelf(shelf).values()
        ],
    }


def _measures(checked: Checked) -> list[Data]:
    unit = checked.opened.design.unit
    mass = checked.opened.rulebook.mass_unit
    return [
        measure_data(measure, checked.readings[name], unit, mass)
        for name, measure in checked.measures.items()
    ]


def _mass(checked: Checked) -> Data:
    car = checked.opened.car
    return mass_data(car.items, car.mass, car.mass_loaded, car.mass_spent)


def _rule(checked: Checked, verdict: Verdict) -> Data:
    rule = verdict.rule
    interval = verdict.interval if verdict.spread > 0.0 else None
    return {
        "clause": rule.clause,
        "title": rule.title,
        "section": rule.section,
        "measure": rule.measure or None,
        "item": rule.item,
        "state": None if rule.state is None else rule.state.value,
        "checked_by": rule.checked_by.value,
        "outcome": verdict.outcome.value,
        "unit": None if rule.kind is None else UNITS[rule.kind],
        "value": in_unit(verdict.value, rule.kind),
        "read": in_unit(verdict.read, rule.kind),
        "text": "" if verdict.read is None else value_text(rule, verdict.read),
        "interval": None if interval is None else [in_unit(end, rule.kind) for end in interval],
        "limits": _limits(rule.limits, verdict),
        "margin": in_unit(verdict.margin, rule.kind),
        "over": in_unit(verdict.over, rule.kind),
        "side": None if verdict.side is None else verdict.side.value,
        "doubt": verdict.doubt,
        "chance_broken": number(verdict.chance),
        "fails": rule.fails.value,
        "consequences": [fails.value for fails in rule.consequences],
        "measures": [part.rule.measure for part in verdict.parts] or list(rule.measures),
        "together": rule.together.value,
        "times": rule.times.value,
        "most_points": number(rule.most_points) if math.isfinite(rule.most_points) else None,
        "award": rule.award,
        "points": number(verdict.points),
        "ballast_g": number(verdict.ballast_g),
        "parts": [part_data(part) for part in verdict.parts],
        "consequence": consequence(verdict) if verdict.outcome in (Outcome.FAIL, Outcome.ADVICE) else "",
        "probably_broken": verdict.probably_broken,
        "place": place_data(verdict.place),
        "reason": rule.reason,
        "instruction": rule.instruction,
        "why_not": verdict.why_not,
        "remedy": _remedy(checked.remedies.get(rule.clause)),
        "stands": span_data(shown_file(rule.spot.file), rule.spot.span),
    }


def part_data(part: Verdict) -> Data:
    """The word on one measure of a rule over several."""
    kind = part.rule.kind
    return {
        "measure": part.rule.measure,
        "outcome": part.outcome.value,
        "value": in_unit(part.value, kind),
        "read": in_unit(part.read, kind),
        "margin": in_unit(part.margin, kind),
        "times": part.times,
        "points": number(part.points),
        "ballast_g": number(part.ballast_g),
        "why_not": part.why_not,
    }


def _limits(limits: Limits | None, verdict: Verdict) -> Data:
    rule = verdict.rule
    if limits is None or rule.kind is None:
        return None
    return {
        "min": in_unit(limits.low, rule.kind),
        "max": in_unit(limits.high, rule.kind),
        "exact": in_unit(limits.exact, rule.kind),
        "tolerance": in_unit(limits.tolerance, rule.kind),
        "one_of": [in_unit(value, rule.kind) for value in limits.one_of],
        "resolution": in_unit(rule.resolution, rule.kind),
        "near": in_unit(rule.near, rule.kind),
        "text": limits_text(limits, rule.kind, rule.shown_unit),
    }


def _remedy(change: Remedy | None) -> Data:
    if change is None:
        return None
    return {
        "sentence": change_sentence(change),
        "command": change.command,
        "unit": UNITS[change.kind],
        "amount": in_unit(change.amount, change.kind),
        "target": in_unit(change.target, change.kind),
        "amount_text": amount_text(change.amount, change.kind, change.shown_unit),
        "drivers": [
            {
                "key": driver.key,
                "line": None if driver.span is None else driver.span.line,
                "column": None if driver.span is None else driver.span.column,
                "new_text": driver.new_text,
            }
            for driver in change.drivers
        ],
    }
