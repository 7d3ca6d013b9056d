"""What the report says, in the order in which it says it: plain words, before any page is made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from bodyshop.car.measures import QuantityKind
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.output.figures.labels import (
    CALLED_OUT,
    VERDICT_WORDS,
    limit_words,
    margin_words,
    measured_words,
    numbered,
)
from bodyshop.output.words.closing import CLOSING
from bodyshop.output.words.hints import HintBlock, Hints, against_sentence, hint_blocks
from bodyshop.output.words.verdict import (
    GROUP_HEADINGS,
    change_sentence,
    consequence,
    doubt_sentence,
    headline,
    mass_doubts,
    near_note,
    place_words,
    range_sentence,
    roughly,
    settling_sentence,
)
from bodyshop.rules.checking import Checked, shown_file
from bodyshop.rules.rulebook import BreachEffects, CheckedBy, Outcome, Verdict, score_text

__all__ = ["Check", "ReportContent", "RuleGroup", "RuleLine", "content_of"]

_BORE_WALLS: Final = "bore.wall"
_FAILS: Final = (
    (frozenset((BreachEffects.DISQUALIFY,)), "Fix these or the car may not race"),
    (frozenset((BreachEffects.SHOW_ONLY,)), "Fix these or the car may only be shown"),
    (frozenset((BreachEffects.BALLAST,)), "Fixed by adding ballast"),
    (frozenset((BreachEffects.POINTS_PER_UNIT, BreachEffects.POINTS_ONCE)), "These cost points"),
    (frozenset((BreachEffects.NO_AWARD,)), "These cost an award"),
)
_URGENT: Final = (Outcome.FAIL, Outcome.TOO_CLOSE)
_GROUPS: Final = (
    *((each, GROUP_HEADINGS[each]) for each in (Outcome.TOO_CLOSE, Outcome.CANNOT_JUDGE)),
    *((each, GROUP_HEADINGS[each]) for each in (Outcome.NEAR, Outcome.ADVICE)),
)


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One rule in the table; `number` is that of its call-out, None for a rule that is met.

    `cost` is what a broken rule costs, `where` its place on the car, `why` its reason, `change` what to do.
    Empty words are left out.
    """

    number: int | None
    outcome: Outcome
    clause: str
    title: str
    measured: str
    limit: str
    margin: str
    verdict: str
    cost: str = ""
    where: str = ""
    why: str = ""
    change: str = ""

    @property
    def told(self) -> str:
        """The verdict with its cost, where that is not the same for all its group: `FAILS, 26 points off`."""
        plain = not self.cost or self.cost.startswith("the car")
        return self.verdict if plain else f"{self.verdict}, {self.cost}"


@dataclass(frozen=True, slots=True)
class RuleGroup:
    """Rules with the same sort of verdict, and cost, under a heading."""

    outcome: Outcome
    heading: str
    lines: tuple[RuleLine, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """Something an inspector checks on the finished car, `by` gauge or eye: what, and how."""

    clause: str
    what: str
    how: str
    by: str


@dataclass(frozen=True, slots=True)
class ReportContent:
    """Everything the report says in words; `advised` says that some of the rules kept are advice.

    `joint` holds of several broken rules at once: it stands between the `urgent` groups and the `others`.
    """

    name: str
    bench: str
    rulebook: str
    event: str
    headline: str
    notes: tuple[str, ...]
    fails: bool
    fingerprint: str
    rulebook_mark: str
    file: str
    date: str
    groups: tuple[RuleGroup, ...]
    joint: tuple[HintBlock, ...]
    kept: tuple[RuleLine, ...]
    checks: tuple[Check, ...]
    advised: bool
    mass_notes: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def urgent(self) -> tuple[RuleGroup, ...]:
        """What is broken, then what is too close to tell."""
        return tuple(group for group in self.groups if group.outcome in _URGENT)

    @property
    def others(self) -> tuple[RuleGroup, ...]:
        """The groups after those."""
        return tuple(group for group in self.groups if group.outcome not in _URGENT)


def content_of(checked: Checked, on: date, hints: Hints | None = None) -> ReportContent:
    """The words for one judged car; `on` is the date that the report carries.

    `hints` are of several broken rules at once.
    """
    hints = hints or Hints()
    design, book, judgement = checked.opened.design, checked.opened.rulebook, checked.judgement
    by_clause = {verdict.rule.clause: number for number, verdict in numbered(judgement)}
    wanted = [
        (Outcome.FAIL, heading, [v for v in judgement.failed if v.rule.fails in fails])
        for fails, heading in _FAILS
    ]
    wanted += [(outcome, heading, [*judgement.having(outcome)]) for outcome, heading in _GROUPS]
    groups = tuple(
        RuleGroup(
            outcome, heading, tuple(_line(checked, v, by_clause.get(v.rule.clause), hints) for v in verdicts)
        )
        for outcome, heading, verdicts in wanted
        if verdicts
    )
    division = f", {printable(book.division)}" if book.division else ""
    chosen = " (the default; the design names no rulebook)" if checked.opened.by_default else ""
    return ReportContent(
        name=printable(design.name),
        bench=printable(design.bench),
        rulebook=f"{printable(book.name)}{division}{chosen}",
        event=printable(book.event),
        headline=headline(checked),
        notes=_notes(checked),
        fails=not judgement.passes,
        fingerprint=design.fingerprint,
        rulebook_mark=book.fingerprint,
        file=printable(shown_file(design.source.name)),
        date=on.isoformat(),
        groups=groups,
        joint=hint_blocks(hints),
        kept=tuple(_line(checked, v, None, hints) for v in judgement.in_order if v.outcome is Outcome.PASS),
        checks=tuple(_check(verdict) for verdict in judgement.to_inspect),
        advised=any(v.rule.fails is BreachEffects.ADVICE for v in judgement.having(Outcome.PASS)),
        mass_notes=_mass_notes(checked),
        cautions=_cautions(checked),
    )


def _notes(checked: Checked) -> tuple[str, ...]:
    judgement = checked.judgement
    notes = []
    if judgement.score is not None:
        notes.append(f"Score: {score_text(judgement)}.")
    near = len(judgement.having(Outcome.NEAR))
    if near:
        notes.append(f"{near_note(near)}.")
    if judgement.to_inspect:
        count = number_words(len(judgement.to_inspect), "check")
        verb = "is" if len(judgement.to_inspect) == 1 else "are"
        notes.append(f"{capital(count)} {verb} still to be done on the finished car.")
    note = printable(checked.opened.rulebook.note)
    return (*notes, note) if note else tuple(notes)


def _line(checked: Checked, verdict: Verdict, number: int | None, hints: Hints) -> RuleLine:
    rule = verdict.rule
    unit = checked.opened.design.unit
    change = checked.remedies.get(rule.clause)
    told = verdict.outcome is not Outcome.PASS
    unknown = verdict.outcome is Outcome.CANNOT_JUDGE
    margin = margin_words(verdict)
    todo = [] if change is None else [capital(change_sentence(change))]
    others = hints.against(rule.clause)
    if others:
        todo = [against_sentence(others).removesuffix(".")]
    if verdict.outcome is Outcome.TOO_CLOSE:
        weighed = checked.opened.design.weighed_blank_g is not None
        todo.insert(0, settling_sentence(verdict, blank_weighed=weighed).removesuffix("."))
    return RuleLine(
        number=number,
        outcome=verdict.outcome,
        clause=printable(rule.clause),
        title=printable(rule.title or rule.item),
        measured=measured_words(verdict),
        limit=limit_words(rule),
        margin="" if unknown else margin,
        verdict=VERDICT_WORDS[verdict.outcome],
        cost=consequence(verdict) if verdict.outcome is Outcome.FAIL else "",
        where=capital(place_words(verdict.place, unit))
        if told and rule.kind is not QuantityKind.MASS
        else "",
        why=capital(doubt_sentence(verdict)) if unknown else printable(rule.reason) if told else "",
        change=". ".join(todo),
    )


def _check(verdict: Verdict) -> Check:
    rule = verdict.rule
    limit = limit_words(rule)
    what = printable(rule.title or rule.item)
    # An item is a sentence, a measured quantity only a name.
    if limit:
        what = f"{what.removesuffix('.')}: {limit}"
    by = "gauge" if rule.checked_by is CheckedBy.GAUGE else "eye"
    return Check(printable(rule.clause), what, printable(rule.instruction), by)


def _mass_notes(checked: Checked) -> tuple[str, ...]:
    car, design = checked.opened.car, checked.opened.design
    notes = []
    unit = checked.opened.rulebook.mass_unit
    doubts = mass_doubts(car.items, car.mass)
    if doubts:
        weighed = design.weighed_blank_g is not None
        notes.append(range_sentence(doubts, unit, blank_weighed=weighed))
    x, _, z = car.mass.centre
    balance = f"Balance point: {roughly(x - car.body.x_nose, design.unit)} behind the nose"
    if car.track is not None:
        balance += f", {roughly(car.track.height(x, z), design.unit)} above the track"
    return (*notes, f"{balance}.")


def _cautions(checked: Checked) -> tuple[str, ...]:
    told = checked.judgement.having(*CALLED_OUT)
    thin = any(verdict.rule.measure.startswith(_BORE_WALLS) for verdict in told)
    first = [
        caution.sentence for caution in cautions_for(Operation.RACE) if thin and caution.id == "race-wood"
    ]
    return (*first, CLOSING)
