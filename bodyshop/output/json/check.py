"""The verdict for other programs, and every measure unjudged."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Annotated, Literal

from msgspec import Meta

from bodyshop.car.measures.catalogue import MeasuringState
from bodyshop.car.stock.hardware import PART_SHELVES
from bodyshop.foundation.problems import Problem
from bodyshop.output.json.document import HEAD, Document, JsonRecord, about, number
from bodyshop.output.json.parts import (
    UNITS,
    DesignUnit,
    ExitCode,
    MassData,
    MeasureData,
    PartData,
    PlaceData,
    ProblemData,
    QuantityUnit,
    SpanData,
    in_unit,
    mass_data,
    measure_data,
    part_data,
    place_data,
    problem_data,
    span_data,
)
from bodyshop.output.words.hints import Hints, hint_blocks
from bodyshop.output.words.verdict import change_sentence, consequence, headline, rules_checked
from bodyshop.rules.checking import Checked, LoadedCar, shown_file
from bodyshop.rules.rulebook import (
    BreachEffects,
    CarResult,
    CheckedBy,
    Limits,
    Outcome,
    Remedy,
    Rulebook,
    Verdict,
    amount_text,
    limits_text,
    value_text,
)
from bodyshop.rules.rulebook.certainty import LimitSide
from bodyshop.rules.rulebook.model import CountedAs, Times

__all__ = [
    "CheckDocument",
    "CheckedData",
    "MeasureDocument",
    "UnreadData",
    "check_data",
    "checked_data",
    "measured_data",
    "unread_data",
]


class LimitsData(JsonRecord, frozen=True):
    """Both ends are allowed. With exact, min and max hold the ends of the tolerance."""

    min: float | None
    max: float | None
    exact: float | None
    tolerance: float
    one_of: tuple[float, ...]
    resolution: Annotated[
        float, about("A value is rounded to this before it is compared; zero means it is not.")
    ]
    near: Annotated[float, about("A pass by less than this is a near miss.")]
    text: str


class DriverData(JsonRecord, frozen=True):
    """A key of the design file that moves a value."""

    key: Annotated[str, about("Dotted key of the design file.")]
    line: int | None
    column: int | None
    new_text: Annotated[
        str, about("What to write there; empty where the number is not the measured value itself.")
    ]


class RemedyData(JsonRecord, frozen=True):
    """The smallest change that passes this rule; it may break another."""

    sentence: str
    command: Annotated[str, about("What to do, without the amount.")]
    unit: QuantityUnit
    amount: Annotated[float, about("How far the measured value has to move.")]
    target: Annotated[float, about("The value to aim for.")]
    amount_text: str
    drivers: Annotated[tuple[DriverData, ...], about("Keys that move the value, the plainest first.")]


class RuleData(JsonRecord, frozen=True):
    """One rule's word on a car."""

    clause: str
    title: str
    section: str
    measure: Annotated[str | None, about("Null for an item that an inspector checks.")]
    item: Annotated[str, about("What an inspector checks.")]
    state: MeasuringState | None
    checked_by: Annotated[CheckedBy, about("Who has the last word on the finished car.")]
    outcome: Outcome
    unit: QuantityUnit | None
    value: Annotated[float | None, about("As measured.")]
    read: Annotated[float | None, about("As read to the resolution: this is compared.")]
    text: Annotated[str, about("The same in the unit of the rule.")]
    interval: Annotated[tuple[float, float] | None, about("Where an estimate is taken to lie.")]
    limits: LimitsData | None
    margin: Annotated[
        float | None, about("Distance to the nearest limit: above zero inside, below zero outside.")
    ]
    over: Annotated[float, about("How far outside; zero inside.")]
    side: Annotated[LimitSide | None, about("The side of the nearest limit.")]
    doubt: Annotated[
        bool, about("The interval of an estimate lies on both sides of the limit: too close to tell.")
    ]
    chance_broken: Annotated[
        float | None,
        about(
            "How likely an estimate that is too close to tell is to break the rule, 0 to 1, its error "
            "taken to be normal."
        ),
    ]
    fails: Annotated[BreachEffects, about("What breaking the rule costs; the gravest where several follow.")]
    consequences: Annotated[
        tuple[BreachEffects, ...], Meta(min_length=1, description="All that follows, the gravest first.")
    ]
    measures: Annotated[tuple[str, ...], about("All measures that the rule bounds; none for an item.")]
    together: Annotated[CountedAs, about("Whether the worst of several measures counts, or each.")]
    times: Annotated[Times, about("Whether what it costs counts for every wheel.")]
    most_points: Annotated[float | None, about("The most that the rule can take; null for no end.")]
    award: Annotated[str, about("The award that is barred; empty for any.")]
    points: Annotated[float, about("Points taken off.")]
    ballast_g: Annotated[float, about("Ballast to add, g.")]
    parts: Annotated[
        tuple[PartData, ...],
        about("The word on each of several measures; empty for a rule on one."),
    ]
    consequence: Annotated[str, about("The cost in words, where the rule is broken.")]
    probably_broken: Annotated[
        bool,
        about("Too close to tell, and the estimate itself is outside a rule with a consequence."),
    ]
    place: PlaceData | None
    reason: str
    instruction: str
    why_not: Annotated[str, about("Why it could not be judged, or what the car does without.")]
    remedy: RemedyData | None
    stands: Annotated[SpanData, about("Where the rule stands in its rulebook.")]


class BroughtData(JsonRecord, frozen=True):
    """Hardware of the event's own."""

    shelf: str
    id: str
    label: str
    source: str


class RulebookData(JsonRecord, frozen=True):
    """The rulebook that a car was judged by."""

    name: str
    event: str
    file: str
    division: str
    units: DesignUnit
    fingerprint: str
    by_default: Annotated[bool, about("Neither the design nor the command named one.")]
    brought: tuple[BroughtData, ...]


class TogetherData(JsonRecord, frozen=True):
    """Broken rules that pull one number of the design both ways, each rule in one group at most."""

    clauses: tuple[str, ...]
    sentences: Annotated[
        tuple[str, ...], about("What pulls which way, then the changes in the order that works.")
    ]


class BestData(JsonRecord, frozen=True):
    """The one change that mends most broken rules and breaks none."""

    sentence: str
    mends: tuple[str, ...]


class HintsData(JsonRecord, frozen=True):
    """What holds of several broken rules at once."""

    together: tuple[TogetherData, ...]
    best: Annotated[BestData | None, about("Null where none mends two.")]


class CheckedData(JsonRecord, frozen=True, tag_field="kind", tag="judged"):
    """A design that was judged."""

    file: str
    name: str
    bench: str
    units: DesignUnit
    fingerprint: Annotated[str, about("The same as on the papers made from this design.")]
    result: CarResult
    passes: Annotated[bool, about("No rule is broken, advice aside.")]
    sentence: str
    rulebook: RulebookData
    points_off: float
    score: Annotated[float | None, about("The points left; null where the rulebook has no score.")]
    full_score: Annotated[float | None, about("The points that a car starts with.")]
    least_score: Annotated[float | None, about("The points that it needs.")]
    ballast_g: float
    show_only: bool
    barred: Annotated[
        tuple[str, ...], about("Awards barred to the car; an empty text for an award without a name.")
    ]
    rules_checked: Annotated[int, about("Rules that the program answers, advice left out.")]
    counts: Annotated[Mapping[str, int], about("Rules by outcome.")]
    rules: Annotated[tuple[RuleData, ...], about("Worst first.")]
    measures: tuple[MeasureData, ...]
    hints: Annotated[
        HintsData | None, about("Null where it was not looked for: with several designs in one call.")
    ]
    mass: MassData
    problems: tuple[ProblemData, ...]


class UnreadData(JsonRecord, frozen=True, tag_field="kind", tag="unread"):
    """A design that could not be read."""

    file: str
    result: Literal["cannot be read"]
    passes: None
    sentence: str
    problems: Annotated[tuple[ProblemData, ...], Meta(min_length=1)]


class CheckDocument(Document, frozen=True, tag="check"):
    """The verdict on one or more designs. Lengths in mm, masses in g, angles in degrees."""

    exit_code: ExitCode
    designs: Annotated[
        tuple[CheckedData | UnreadData, ...], Meta(min_length=1, description="In the order asked for.")
    ]


class MeasureDocument(Document, frozen=True, tag="measure"):
    """Every measure of one design, unjudged. Lengths in mm, masses in g, angles in degrees."""

    file: str
    name: str
    bench: str
    units: DesignUnit
    fingerprint: Annotated[str, about("The same as on the papers made from this design.")]
    measures: tuple[MeasureData, ...]
    mass: MassData
    problems: tuple[ProblemData, ...]


def check_data(designs: Sequence[CheckedData | UnreadData], exit_code: int) -> CheckDocument:
    """Designs as `checked_data` and `unread_data` give them, in the order asked for, as one document."""
    return CheckDocument(*HEAD, exit_code, tuple(designs))


def measured_data(checked: Checked) -> MeasureDocument:
    """Every measure of one design, unjudged."""
    problems = _problems(checked.opened.warnings)
    return MeasureDocument(*HEAD, *_head(checked.opened), _measures(checked), _mass(checked), problems)


def unread_data(file: str, problems: Sequence[Problem]) -> UnreadData:
    """A design that could not be read."""
    told = "The design cannot be read, so nothing can be said of the car."
    return UnreadData(shown_file(file), "cannot be read", None, told, _problems(problems))


def _head(opened: LoadedCar) -> tuple[str, str, str, str, str]:
    """File, name, bench, unit and fingerprint."""
    design = opened.design
    return shown_file(design.source.name), design.name, design.bench, design.unit.symbol, design.fingerprint


def _problems(problems: Sequence[Problem]) -> tuple[ProblemData, ...]:
    return tuple(problem_data(problem) for problem in problems)


def checked_data(checked: Checked, hints: Hints | None = None) -> CheckedData:
    """A design that was judged. `hints` are of several broken rules at once; None: not looked for."""
    judgement = checked.judgement
    score = judgement.rulebook.score
    return CheckedData(
        *_head(checked.opened),
        result=judgement.result,
        passes=judgement.passes,
        sentence=headline(checked),
        rulebook=_book(checked.opened.rulebook, by_default=checked.opened.by_default),
        points_off=number(judgement.points_off),
        score=number(judgement.score),
        full_score=None if score is None else number(score.full),
        least_score=None if score is None else number(score.least),
        ballast_g=number(judgement.ballast_g),
        show_only=judgement.show_only,
        barred=tuple(judgement.barred),
        rules_checked=rules_checked(checked),
        counts={outcome.value: len(judgement.having(outcome)) for outcome in Outcome},
        rules=tuple(_rule(checked, verdict) for verdict in judgement.verdicts),
        measures=_measures(checked),
        hints=None if hints is None else _hints(hints),
        mass=_mass(checked),
        problems=_problems(checked.opened.warnings),
    )


def _hints(hints: Hints) -> HintsData:
    blocks = [tuple(block.sentences) for block in hint_blocks(hints)]
    return HintsData(
        tuple(
            TogetherData(tuple(each.clauses), sentences)
            for each, sentences in zip(hints.together, blocks, strict=False)
        ),
        BestData(blocks[-1][0], tuple(hints.mends)) if hints.best else None,
    )


def _book(book: Rulebook, *, by_default: bool) -> RulebookData:
    return RulebookData(
        name=book.name,
        event=book.event,
        file=shown_file(book.source.name),
        division=book.division,
        units=book.unit.symbol,
        fingerprint=book.fingerprint,
        by_default=by_default,
        brought=tuple(
            BroughtData(shelf, part.id, part.label, part.source)
            for shelf in PART_SHELVES
            for part in book.kit.brought.shelf(shelf).values()
        ),
    )


def _measures(checked: Checked) -> tuple[MeasureData, ...]:
    unit = checked.opened.design.unit
    mass = checked.opened.rulebook.mass_unit
    return tuple(
        measure_data(measure, checked.readings[name], unit, mass)
        for name, measure in checked.measures.items()
    )


def _mass(checked: Checked) -> MassData:
    car = checked.opened.car
    return mass_data(car.items, car.mass, car.mass_loaded, car.mass_spent)


def _rule(checked: Checked, verdict: Verdict) -> RuleData:
    rule, kind = verdict.rule, verdict.rule.kind
    interval = verdict.interval if verdict.spread > 0.0 else None
    return RuleData(
        clause=rule.clause,
        title=rule.title,
        section=rule.section,
        measure=rule.measure or None,
        item=rule.item,
        state=rule.state,
        checked_by=rule.checked_by,
        outcome=verdict.outcome,
        unit=None if kind is None else UNITS[kind],
        value=in_unit(verdict.value, kind),
        read=in_unit(verdict.read, kind),
        text="" if verdict.read is None else value_text(rule, verdict.read),
        interval=None if interval is None else (in_unit(interval[0], kind), in_unit(interval[1], kind)),
        limits=_limits(rule.limits, verdict),
        margin=in_unit(verdict.margin, kind),
        over=in_unit(verdict.over, kind),
        side=verdict.side,
        doubt=verdict.doubt,
        chance_broken=number(verdict.chance),
        fails=rule.fails,
        consequences=tuple(rule.consequences),
        measures=tuple(part.rule.measure for part in verdict.parts) or tuple(rule.measures),
        together=rule.together,
        times=rule.times,
        most_points=number(rule.most_points) if math.isfinite(rule.most_points) else None,
        award=rule.award,
        points=number(verdict.points),
        ballast_g=number(verdict.ballast_g),
        parts=tuple(part_data(part) for part in verdict.parts),
        consequence=consequence(verdict) if verdict.outcome in (Outcome.FAIL, Outcome.ADVICE) else "",
        probably_broken=verdict.probably_broken,
        place=place_data(verdict.place),
        reason=rule.reason,
        instruction=rule.instruction,
        why_not=verdict.why_not,
        remedy=_remedy(checked.remedies.get(rule.clause)),
        stands=span_data(shown_file(rule.spot.file), rule.spot.span),
    )


def _limits(limits: Limits | None, verdict: Verdict) -> LimitsData | None:
    rule = verdict.rule
    if limits is None or rule.kind is None:
        return None
    return LimitsData(
        min=in_unit(limits.low, rule.kind),
        max=in_unit(limits.high, rule.kind),
        exact=in_unit(limits.exact, rule.kind),
        tolerance=in_unit(limits.tolerance, rule.kind),
        one_of=tuple(in_unit(value, rule.kind) for value in limits.one_of),
        resolution=in_unit(rule.resolution, rule.kind),
        near=in_unit(rule.near, rule.kind),
        text=limits_text(limits, rule.kind, rule.shown_unit),
    )


def _remedy(change: Remedy | None) -> RemedyData | None:
    if change is None:
        return None
    return RemedyData(
        sentence=change_sentence(change),
        command=change.command,
        unit=UNITS[change.kind],
        amount=in_unit(change.amount, change.kind),
        target=in_unit(change.target, change.kind),
        amount_text=amount_text(change.amount, change.kind, change.shown_unit),
        drivers=tuple(
            DriverData(
                driver.key,
                None if driver.span is None else driver.span.line,
                None if driver.span is None else driver.span.column,
                driver.new_text,
            )
            for driver in change.drivers
        ),
    )
