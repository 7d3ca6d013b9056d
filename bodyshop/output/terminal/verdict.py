"""The verdict on one page of a terminal, in words that need nothing explained.

The verdict comes first, then what is wrong, worst first, then what is too close to tell, then what is
close, and last what the drawing cannot tell.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import (
    LEAST_WIDTH,
    MOST_WIDTH,
    PAGE_WIDTH,
    clip,
    pad,
    printable,
    width_of,
    wrap,
)
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.foundation.units import format_estimate
from bodyshop.output.terminal.page import TerminalPage
from bodyshop.output.words.closing import CLOSING
from bodyshop.output.words.hints import Hints, against_sentence, hint_blocks
from bodyshop.output.words.verdict import (
    GROUP_HEADINGS,
    change_sentence,
    close_sentence,
    consequence,
    doubt_sentence,
    headline,
    mass_doubts,
    measured_sentence,
    near_note,
    near_sentence,
    place_label,
    place_words,
    range_sentence,
    result_words,
    roughly,
    settling_sentence,
)
from bodyshop.rules.checking import Checked, shown_file
from bodyshop.rules.rulebook import BreachEffects, CheckedBy, Outcome, Verdict, fails_text, score_text

__all__ = [
    "LEAST_WIDTH",
    "MOST_WIDTH",
    "PAGE_WIDTH",
    "summary_line",
    "terminal_report",
    "totals_line",
    "unread_line",
]

_FULLY_TOLD: Final = 6
"""Broken rules with where and why; a car that breaks more has the others in short."""

_LABEL: Final = 10
_NAME: Final = 24
_BORE_WALLS: Final = "bore.wall"


def terminal_report(
    checked: Checked,
    *,
    width: int = PAGE_WIDTH,
    ink: TextStyle | None = None,
    full: bool = False,
    hints: Hints | None = None,
) -> str:
    """The whole report, ending in a newline. With `full` nothing is shortened; `hints` say what holds of
    several broken rules at once.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import check_car, open_car
    >>> report = terminal_report(check_car(open_car(samples_folder() / "kestrel.toml")))
    >>> report.startswith("Kestrel passes")
    True
    """
    page = _Page(width, ink or TextStyle())
    _head(page, checked)
    page.hints = hints or Hints()
    _failures(page, checked, full=full)
    _too_close(page, checked)
    _hints(page)
    _near(page, checked)
    _unknown(page, checked)
    _advice(page, checked)
    _inspector(page, checked, full=full)
    _mass(page, checked)
    _foot(page, checked)
    return page.text()


def summary_line(checked: Checked, *, width: int = PAGE_WIDTH) -> str:
    """One car of several in one line: name, design code, verdict, and the clauses it breaks."""
    design = checked.opened.design
    failed = ", ".join(printable(verdict.rule.clause) for verdict in checked.judgement.to_mend)
    told = f"{result_words(checked)}{': ' if failed else ''}{failed}"
    return clip(f"{_name(design.name)}  {design.fingerprint}  {told}", width)


def unread_line(file: str, problems: int, *, width: int = PAGE_WIDTH) -> str:
    """One file of several that could not be read."""
    return clip(f"{_name(file)}  {'':9}  cannot be read: {number_words(problems, 'problem')}", width)


def totals_line(passing: int, failing: int, probable: int, unknown: int, unread: int) -> str:
    """What several cars come to. `probable` are those that probably break a rule, and break none for sure."""
    parts = [f"{passing} pass", f"{failing} fail"]
    if probable:
        parts.append(f"{probable} probably {'fails' if probable == 1 else 'fail'}")
    if unknown:
        parts.append(f"{unknown} cannot be judged")
    if unread:
        parts.append(f"{unread} cannot be read")
    total = passing + failing + probable + unknown + unread
    return f"{number_words(total, 'design')}: {', '.join(parts)}"


def _name(text: str) -> str:
    return pad(clip(printable(text), _NAME), _NAME)


@dataclass
class _Page(TerminalPage):
    """The page of one car, with hints from the search for remedies."""

    hints: Hints = field(default_factory=Hints)

    def told(self, label: str, text: str, indent: int = 4) -> None:
        """A paragraph beside its label."""
        self.labelled(label, text, column=_LABEL, indent=indent)


def _head(page: _Page, checked: Checked) -> None:
    design, book = checked.opened.design, checked.opened.rulebook
    paint = page.ink.good if checked.judgement.passes else page.ink.bad
    page.lines.extend(paint(line) for line in wrap(headline(checked), page.width))
    bench = f"{printable(design.bench)}, " if design.bench else ""
    division = f", {printable(book.division)}" if book.division else ""
    chosen = " (the default; the design names no rulebook)" if checked.opened.by_default else ""
    file = printable(shown_file(design.source.name))
    page.say(f"{bench}{file}, checked against {printable(book.name)}{division}{chosen}")
    if book.score is not None:
        page.say(f"{capital(score_text(checked.judgement))}.")
    near = len(checked.judgement.having(Outcome.NEAR))
    if checked.judgement.passes and near:
        page.say(f"{near_note(near)}: see below.")


def _failures(page: _Page, checked: Checked, *, full: bool) -> None:
    failed = checked.judgement.failed
    if not failed:
        return
    page.heading("What to fix, worst first")
    told = len(failed) if full or len(failed) <= _FULLY_TOLD + 2 else _FULLY_TOLD
    for number, verdict in enumerate(failed[:told], 1):
        _failure(page, checked, verdict, number)
    if told == len(failed):
        return
    page.gap()
    page.say("The others, in short (--full gives the reasons):")
    for number, verdict in enumerate(failed[told:], told + 1):
        _failure_in_short(page, checked, verdict, number)


def _failure(page: _Page, checked: Checked, verdict: Verdict, number: int) -> None:
    rule = verdict.rule
    title = f"{number:2}  {printable(rule.clause)}  {printable(rule.title)}"
    cost = consequence(verdict)
    room = page.width - width_of(title) - width_of(cost)
    if room >= 2:
        page.lines.append(page.ink.bad(title) + " " * room + cost)
    else:
        page.lines.extend(page.ink.bad(line) for line in wrap(title, page.width, "", "    "))
        page.say(f"{capital(cost)}.", "    ")
    page.told("Measured", f"{measured_sentence(verdict, checked.opened.design.unit)}.")
    where = place_words(verdict.place, checked.opened.design.unit)
    if where:
        page.told("Where", f"{capital(where)}.")
    if rule.reason:
        page.told("Why", printable(rule.reason))
    told = _change(page, checked, verdict)
    if told:
        page.told("Change", told)


def _failure_in_short(page: _Page, checked: Checked, verdict: Verdict, number: int) -> None:
    rule = verdict.rule
    cost = "" if rule.fails is BreachEffects.DISQUALIFY else f" ({consequence(verdict)})"
    unit = checked.opened.design.unit
    where = place_label(verdict.place, unit)
    text = f"{printable(rule.title)}{', ' if where else ''}{where}{cost}: {measured_sentence(verdict, unit)}."
    told = _change(page, checked, verdict)
    text += f" {told}" if told else ""
    page.say(text, f"{number:2}  {printable(rule.clause)}  ", "    ")


def _change(page: _Page, checked: Checked, verdict: Verdict) -> str:
    """What to change; of a rule that pulls against others, where that is told."""
    clause = verdict.rule.clause
    others = page.hints.against(clause)
    if others:
        return against_sentence(others)
    change = checked.remedies.get(clause)
    return "" if change is None else f"{capital(change_sentence(change))}."


def _hints(page: _Page) -> None:
    for block in hint_blocks(page.hints):
        page.heading(block.heading)
        for sentence in block.sentences:
            page.say(sentence, "  ", "      ")


def _short(page: _Page, checked: Checked, verdicts: Iterable[Verdict]) -> None:
    unit = checked.opened.design.unit
    for verdict in verdicts:
        where = place_words(verdict.place, unit)
        text = f"{printable(verdict.rule.clause)}  {printable(verdict.rule.title)}: "
        text += f"{near_sentence(verdict, unit)}{'; ' if where else ''}{where}."
        page.say(text, "  ", "      ")


def _too_close(page: _Page, checked: Checked) -> None:
    close = checked.judgement.having(Outcome.TOO_CLOSE)
    if not close:
        return
    page.heading(GROUP_HEADINGS[Outcome.TOO_CLOSE])
    unit, weighed = checked.opened.design.unit, checked.opened.design.weighed_blank_g is not None
    for verdict in close:
        rule = verdict.rule
        cost = "advice only" if rule.fails is BreachEffects.ADVICE else f"if it fails: {fails_text(rule)}"
        text = f"{printable(rule.clause)}  {printable(rule.title)}: {close_sentence(verdict, unit)} ({cost})."
        page.say(text, "  ", "      ")
        page.say(settling_sentence(verdict, blank_weighed=weighed), "      ")
        change = checked.remedies.get(rule.clause)
        if change is not None:
            page.say(f"{capital(change_sentence(change))}.", "      ")


def _near(page: _Page, checked: Checked) -> None:
    near = checked.judgement.having(Outcome.NEAR)
    if near:
        page.heading(GROUP_HEADINGS[Outcome.NEAR])
        _short(page, checked, near)


def _unknown(page: _Page, checked: Checked) -> None:
    unknown = checked.judgement.having(Outcome.CANNOT_JUDGE)
    if not unknown:
        return
    page.heading(GROUP_HEADINGS[Outcome.CANNOT_JUDGE])
    for verdict in unknown:
        title = f"{printable(verdict.rule.clause)}  {printable(verdict.rule.title)}"
        page.say(f"{title}: {doubt_sentence(verdict)}.", "  ", "      ")


def _advice(page: _Page, checked: Checked) -> None:
    advised = checked.judgement.having(Outcome.ADVICE)
    if not advised:
        return
    page.heading(GROUP_HEADINGS[Outcome.ADVICE])
    unit = checked.opened.design.unit
    for verdict in advised:
        title = f"{printable(verdict.rule.clause)}  {printable(verdict.rule.title)}"
        page.say(
            f"{title}: {measured_sentence(verdict, unit)}. {printable(verdict.rule.reason)}", "  ", "      "
        )


def _inspector(page: _Page, checked: Checked, *, full: bool) -> None:
    items = checked.judgement.to_inspect
    if not items:
        return
    if not full and not checked.judgement.passes:
        page.gap()
        page.told(
            "To check",
            f"{number_words(len(items), 'check')} on the finished car: {_clauses(items)}.",
            indent=0,
        )
        return
    page.heading(GROUP_HEADINGS[Outcome.BY_EYE])
    for verdict in items:
        rule = verdict.rule
        text = f"[ ] {printable(rule.clause)} {printable(rule.title or rule.item)}"
        if full and rule.instruction:
            text = f"{text.removesuffix('.')}. {printable(rule.instruction)}"
        page.say(text, "  ", "      ")


def _clauses(items: Iterable[Verdict]) -> str:
    by_gauge = [v.rule.clause for v in items if v.rule.checked_by is CheckedBy.GAUGE]
    by_eye = [v.rule.clause for v in items if v.rule.checked_by is not CheckedBy.GAUGE]
    told = [
        f"{', '.join(map(printable, names))} {how}"
        for names, how in ((by_gauge, "by gauge"), (by_eye, "by eye"))
        if names
    ]
    return "; ".join(told)


def _mass(page: _Page, checked: Checked) -> None:
    car, design = checked.opened.car, checked.opened.design
    empty, loaded = car.mass, car.mass_loaded
    unit = checked.opened.rulebook.mass_unit
    mass, low, high, full = (
        format_estimate(each, unit) for each in (empty.mass_g, empty.low_g, empty.high_g, loaded.mass_g)
    )
    page.gap()
    page.told(
        "Mass",
        f"{mass} without a cartridge ({low.partition(' ')[0]} to {high}), {full} with a full one.",
        indent=0,
    )
    doubts, weighed = mass_doubts(car.items, empty), design.weighed_blank_g is not None
    if doubts:
        page.say(range_sentence(doubts, unit, blank_weighed=weighed), " " * _LABEL)
    x, _, z = empty.centre
    text = f"{roughly(x - car.body.x_nose, design.unit)} behind the nose"
    if car.track is not None:
        text += f", {roughly(car.track.height(x, z), design.unit)} above the track"
    page.told("Balances", f"{text}.", indent=0)


def _foot(page: _Page, checked: Checked) -> None:
    design, book = checked.opened.design, checked.opened.rulebook
    page.told("Codes", f"design {design.fingerprint}, rulebook {book.fingerprint}", indent=0)
    page.gap()
    troubled = checked.judgement.having(
        Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.NEAR, Outcome.ADVICE, Outcome.CANNOT_JUDGE
    )
    if any(verdict.rule.measure.startswith(_BORE_WALLS) for verdict in troubled):
        for caution in cautions_for(Operation.RACE):
            if caution.id == "race-wood":
                page.say(caution.sentence)
    page.say(CLOSING)
