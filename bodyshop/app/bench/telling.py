"""What the page is told of a judged car: rules worst first, the live figures, problems at their lines."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bodyshop.app.bench.document import LIVE
from bodyshop.app.bench.messages import Data
from bodyshop.car.design import Kit
from bodyshop.car.design.fields import HARDWARE_SHELVES
from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import format_estimate
from bodyshop.output.figures.labels import VERDICT_WORDS, limit_words, margin_words, measured_words
from bodyshop.output.json.parts import place_data
from bodyshop.output.words.verdict import (
    change_sentence,
    consequence,
    headline,
    place_label,
    place_words,
    quantity,
    settling_sentence,
)
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import Outcome, Verdict

__all__ = ["figures_data", "problems_data", "verdict_data"]

_SIGNS: Final = {
    Outcome.FAIL: "✕",
    Outcome.TOO_CLOSE: "≈",
    Outcome.CANNOT_JUDGE: "?",
    Outcome.NEAR: "!",
    Outcome.ADVICE: "i",
    Outcome.BY_GAUGE: "□",
    Outcome.BY_EYE: "□",
    Outcome.PASS: "✓",
}
"""A sign beside each word, so that no state is told by colour alone."""

_LIVE: Final = dict(zip(LIVE, ("least room over the track", "least wood round the bore"), strict=True))


def verdict_data(checked: Checked) -> dict[str, Data]:
    """The verdict in a sentence, and every rule, worst first."""
    return {
        "headline": headline(checked),
        "passes": checked.judgement.passes,
        "book": checked.opened.rulebook.name,
        "brought": _brought(checked.opened.rulebook.kit),
        "rules": [_rule(checked, verdict) for verdict in checked.judgement.verdicts],
    }


def _brought(kit: Kit) -> Data:
    """The event's own hardware by shelf, as the editor completes it."""
    return {
        shelf.value: [
            {"label": f'"{part.id}"', "detail": part.label} for part in kit.brought.shelf(word).values()
        ]
        for shelf, word in HARDWARE_SHELVES.items()
    }


def _rule(checked: Checked, verdict: Verdict) -> Data:
    rule, unit = verdict.rule, checked.opened.design.unit
    told = verdict.outcome in (Outcome.FAIL, Outcome.ADVICE) or verdict.probably_broken
    where = place_words(verdict.place, unit)
    return {
        "clause": rule.clause,
        "title": rule.title or rule.item,
        "state": verdict.outcome.value,
        "word": VERDICT_WORDS[verdict.outcome],
        "sign": _SIGNS[verdict.outcome],
        "measured": measured_words(verdict),
        "limit": limit_words(rule) if rule.measure else "",
        "margin": margin_words(verdict) if rule.measure else "",
        "check": rule.instruction,
        "cost": consequence(verdict) if told else "",
        "where": capital(where),
        "why": rule.reason,
        "change": ". ".join(_changes(checked, verdict)),
        "place": place_data(verdict.place),
        "mendable": told and bool(rule.measure),
        "drivers": list(checked.measures[rule.measure].drivers) if rule.measure in checked.measures else [],
    }


def _changes(checked: Checked, verdict: Verdict) -> list[str]:
    """What to do: what settles a rule that is too close to tell, and the change that would keep it."""
    words = []
    if verdict.outcome is Outcome.TOO_CLOSE:
        weighed = checked.opened.design.weighed_blank_g is not None
        words.append(settling_sentence(verdict, blank_weighed=weighed).removesuffix("."))
    change = checked.remedies.get(verdict.rule.clause)
    return words if change is None else [*words, capital(change_sentence(change))]


def figures_data(checked: Checked) -> Data:
    """Mass, balance and the least distances, each as (name, text, more)."""
    car, unit = checked.opened.car, checked.opened.design.unit
    mass, loaded = car.mass, car.mass_loaded
    weight = checked.opened.rulebook.mass_unit
    x, _, z = mass.centre
    told = [
        [
            "mass",
            format_estimate(mass.mass_g, weight),
            " to ".join(
                [format_estimate(mass.low_g, weight).partition(" ")[0], format_estimate(mass.high_g, weight)]
            ),
        ],
        ["with cartridge", format_estimate(loaded.mass_g, weight), ""],
        [
            "balances at",
            quantity(x, QuantityKind.LENGTH, unit),
            f"from the nose, {quantity(z, QuantityKind.LENGTH, unit)} over the underside",
        ],
    ]
    for name, title in _LIVE.items():
        reading = checked.readings.get(name)
        if isinstance(reading, Reading):
            where = place_label(reading.place, unit)
            told.append([title, quantity(reading.value, QuantityKind.LENGTH, unit), where])
    return {
        "name": checked.opened.design.name,
        "bench": checked.opened.design.bench,
        "mark": checked.opened.design.fingerprint,
        "unit": unit.symbol,
        "live": told,
    }


def problems_data(problems: tuple[Problem, ...], name: str) -> Data:
    """Problems of a text with their places in it; those of another file are told with its name."""
    return [_problem(problem, name) for problem in problems]


def _problem(problem: Problem, name: str) -> Data:
    span = problem.span
    own = problem.file in (name, "")
    sentence = problem.sentence if own else f"{Path(problem.file).name}: {problem.sentence}"
    return {
        "code": problem.code,
        "severity": problem.severity.value,
        "sentence": capital(sentence),
        "line": span.line if span is not None and own else None,
        "column": span.column if span is not None and own else None,
        "end_line": span.end_line if span is not None and own else None,
        "end_column": span.end_column if span is not None and own else None,
        "nearest": problem.nearest,
    }
