"""Sentences about a judged car, the same wherever they stand: terminal, papers, other reports.

Nothing here says that a car is without danger: a report speaks of sizes, and an inspector of the rest.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

from bodyshop.car.assembly import Mass, MassItem
from bodyshop.car.measures import QuantityKind, catalogue
from bodyshop.foundation.place import Place, View
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.foundation.units import (
    LengthUnit,
    MassUnit,
    format_angle,
    format_estimate,
    format_length,
    format_mass,
    format_number,
)
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import (
    BreachEffects,
    CarResult,
    Judgement,
    LimitSide,
    Outcome,
    Remedy,
    Rule,
    Verdict,
    amount_text,
    barred_text,
    chance_text,
    limits_text,
    probably_text,
    result_text,
    value_text,
)

__all__ = [
    "GROUP_HEADINGS",
    "WEIGH_BLOCK",
    "change_sentence",
    "close_sentence",
    "consequence",
    "doubt_sentence",
    "headline",
    "mass_doubts",
    "measured_sentence",
    "near_note",
    "near_sentence",
    "place_label",
    "place_words",
    "points_words",
    "quantity",
    "range_sentence",
    "result_words",
    "roughly",
    "rules_checked",
    "settling_sentence",
]

WEIGH_BLOCK: Final = "weigh the block and put its mass in [blank] as weighed"

GROUP_HEADINGS: Final = {
    Outcome.TOO_CLOSE: "Too close to tell: the estimate could fall on either side of the limit",
    Outcome.CANNOT_JUDGE: "Could not be checked",
    Outcome.NEAR: "Passes, but only just: a small slip with the saw could fail it",
    Outcome.ADVICE: "Allowed, but we would change it",
    Outcome.BY_EYE: "To be checked on the finished car",
    Outcome.PASS: "Rules met",
}

_VIEWS: Final = {
    View.SIDE: "the side",
    View.TOP: "above",
    View.TAIL: "the tail",
    View.NOSE: "the nose",
    View.UNDERSIDE: "below",
}


_MM: Final = re.compile(r"(x = )?(-?[0-9]+(?:\.[0-9]+)?) mm\b")


def quantity(value: float, kind: QuantityKind, unit: LengthUnit, mass: MassUnit = MassUnit.G) -> str:
    """A measured quantity in the unit that a design is written in, rounded to what a shop can see; a mass in
    that of its rulebook.
    """
    if kind is QuantityKind.LENGTH and unit is LengthUnit.IN:
        return f"{_clean(format_length(value, unit, decimals=3))} ({format_number(value, unit, fraction=64)})"
    if kind is QuantityKind.LENGTH:
        return _clean(format_length(value, unit, decimals=2 if unit is LengthUnit.MM else 3))
    if kind is QuantityKind.MASS:
        return format_mass(value, decimals=2 if mass is MassUnit.OZ else 1, unit=mass)
    if kind is QuantityKind.ANGLE:
        return _clean(format_angle(value, decimals=1))
    if kind is QuantityKind.COUNT:
        return f"{value:g}"
    power, mark = (2, "²") if kind is QuantityKind.AREA else (3, "³")
    base = LengthUnit.IN if unit is LengthUnit.IN else LengthUnit.CM
    return f"{value / base.mm**power:.2f} {base.symbol}{mark}"


def roughly(length_mm: float, unit: LengthUnit) -> str:
    """A length as one finds it with a finger on the car: whole mm, sixteenths of an inch."""
    if unit is LengthUnit.IN:
        return format_length(length_mm, unit, fraction=16)
    return _clean(format_length(length_mm, LengthUnit.MM, decimals=0))


def _clean(text: str) -> str:
    """Zero without a minus."""
    return text[1:] if text.startswith("-") and not any(char in "123456789" for char in text) else text


def place_label(place: Place | None, unit: LengthUnit) -> str:
    """Where on the car, lengths in it in the design's unit; empty for all of it."""
    if place is None:
        return ""
    label = printable(place.label)
    if unit is not LengthUnit.IN:
        return label
    return _MM.sub(lambda match: _converted(match, place, unit), label)


def _converted(match: re.Match[str], place: Place, unit: LengthUnit) -> str:
    """A length of a label in another unit: the coordinate that its figure was rounded from, not the figure.

    A figure that stands for no point of the place stays as it is, unless it is no rounded one.
    """
    if not match[1]:
        return format_length(float(match[2]), unit, decimals=2)
    places = len(match[2].partition(".")[2])
    exact = next((x for x, _, _ in place.points if f"{x:.{places}f}" == match[2]), None)
    return match[0] if exact is None else f"{match[1]}{format_length(exact, unit, decimals=2)}"


def place_words(place: Place | None, unit: LengthUnit) -> str:
    """Where on the car and from where to look: `left of the hole, x = 262 mm (look from above)`."""
    return "" if place is None else f"{place_label(place, unit)} (look from {_VIEWS[place.view]})"


# ---------------------------------------------------------------- the whole car


def rules_checked(checked: Checked) -> int:
    """How many rules the program answers: those that name a measure, advice left out."""
    return sum(
        1 for v in checked.judgement.verdicts if v.rule.measure and v.rule.fails is not BreachEffects.ADVICE
    )


def headline(checked: Checked) -> str:
    """The verdict in one plain sentence."""
    judgement = checked.judgement
    name = printable(checked.opened.design.name)
    if checked.opened.rulebook.only_advises:
        return f"{name}: {result_text(judgement)}."
    failed, total = len(judgement.failed), rules_checked(checked)
    fail = "fails" if failed == 1 else "fail"
    of = f"{failed} of {number_words(total, 'rule')} {fail}"
    barred = barred_text(judgement.barred)
    probable = judgement.probably_broken
    also = f" It is {probably_text(probable)} too." if probable else ""
    match judgement.result:
        case CarResult.NOT_LEGAL:
            does = "may be shown but not raced" if judgement.show_only else "does not pass yet"
            told = f"{does}: {of}.{also}"
        case CarResult.PROBABLY_BROKEN if failed:
            told = f"is {probably_text(probable)}, and {of}."
        case CarResult.PROBABLY_BROKEN:
            told = f"is {probably_text(probable)}: {_estimates(probable)}."
        case (CarResult.POINTS_OFF | CarResult.LEGAL) as result if result is CarResult.POINTS_OFF or barred:
            told = f"may race{_loss_words(judgement, barred)}: {of}."
        case CarResult.NEEDS_INSPECTOR:
            open_rules = number_words(len(judgement.having(Outcome.CANNOT_JUDGE)), "rule")
            told = f"cannot be judged yet: {open_rules} of {total} could not be checked."
        case _:
            told = f"{_passes(judgement, total)}."
    return f"{name} {told}"


def _passes(judgement: Judgement, total: int) -> str:
    """How a car passes, as far as a drawing tells."""
    close = [printable(verdict.rule.clause) for verdict in judgement.too_close]
    if not close:
        return f"passes all {number_words(total, 'rule')} that can be checked on a drawing"
    rest = f"passes {total - len(close)} of {number_words(total, 'rule')} that can be checked on a drawing"
    return f"{rest}; {', '.join(close)} {'is' if len(close) == 1 else 'are'} too close to tell"


def _estimates(verdicts: tuple[Verdict, ...]) -> str:
    """Estimates and what is asked of them: `122.8 g (between 101 g and 144 g), and B5 says ...`."""
    return "; ".join(
        f"{_read(v, v.rule.unit)}, and {printable(v.rule.clause)} says "
        f"{limits_text(v.rule.limits, v.rule.kind, v.rule.shown_unit)}"
        for v in verdicts
    )


def _loss_words(judgement: Judgement, barred: str) -> str:
    """What a car that may race loses: ` with 2 points taken off`, `, but no design prize`."""
    if not judgement.points_off:
        return f", but {barred}"
    return f" with {points_words(judgement.points_off)} taken off" + (f" and {barred}" if barred else "")


def points_words(points: float) -> str:
    """`1 point`, `2.5 points`."""
    return f"{points:g} {'point' if points == 1 else 'points'}"


def result_words(checked: Checked) -> str:
    """The verdict in a few words, for a title block or a table."""
    judgement = checked.judgement
    failed = len(judgement.failed)
    match judgement.result:
        case CarResult.PROBABLY_BROKEN if not failed:
            return probably_text(judgement.probably_broken)
        case CarResult.NEEDS_INSPECTOR:
            return "needs an inspector"
        case CarResult.LEGAL if not failed:
            close = len(judgement.too_close)
            return f"passes, {close} too close to tell" if close else "passes"
        case _:
            return f"FAILS {number_words(failed, 'rule')}{_price_words(judgement)}"


def _price_words(judgement: Judgement) -> str:
    """What a broken rule costs the whole car, after a comma; empty where it may not race."""
    match judgement.result:
        case CarResult.NOT_LEGAL:
            return ", show only" if judgement.show_only else ""
        case CarResult.POINTS_OFF:
            return f", {points_words(judgement.points_off)} off"
        case CarResult.PROBABLY_BROKEN:
            return f", {probably_text(judgement.probably_broken)}"
        case _:
            return f", {barred_text(judgement.barred)}"


# ---------------------------------------------------------------- one rule


def consequence(verdict: Verdict) -> str:
    """What a broken rule costs."""
    costs = [_one_cost(verdict, fails) for fails in verdict.rule.consequences]
    return " and ".join(costs)


def _one_cost(verdict: Verdict, fails: BreachEffects) -> str:
    match fails:
        case BreachEffects.DISQUALIFY:
            return "the car may not race"
        case BreachEffects.SHOW_ONLY:
            return "the car may be shown, not raced"
        case BreachEffects.BALLAST:
            unit = verdict.rule.mass_unit
            return f"add {amount_text(round(verdict.ballast_g, 6), QuantityKind.MASS, unit)} of ballast"
        case BreachEffects.NO_AWARD:
            return barred_text([verdict.rule.award])
        case BreachEffects.ADVICE:
            return "advice only"
        case _:
            return f"{points_words(verdict.points)} off"


def measured_sentence(verdict: Verdict, unit: LengthUnit) -> str:
    """What was measured, what is asked, and by how much it misses. `unit` is the design's."""
    rule = verdict.rule
    if verdict.value is None or verdict.read is None or rule.limits is None:
        return printable(verdict.why_not)
    asked = limits_text(rule.limits, rule.kind, rule.shown_unit)
    measure = catalogue().get(rule.measure) if verdict.read < 0.0 else None
    if measure is None or not measure.below_zero:
        return f"{_read(verdict, unit)}; the rule says {asked}: {_missed(verdict)}"
    below = measure.below_zero.replace("{value}", _read(verdict, unit).replace("-", ""))
    return below if rule.limits.low == 0.0 else f"{below}; the rule says {asked}: {_missed(verdict)}"


def near_note(near: int) -> str:
    """How many rules a car passes only just."""
    close = "is so close to its limit" if near == 1 else "are so close to their limits"
    return f"{capital(number_words(near, 'rule'))} {close} that a slip with the saw decides"


def near_sentence(verdict: Verdict, unit: LengthUnit) -> str:
    """What was measured, what is asked, and how little is to spare."""
    rule = verdict.rule
    asked = limits_text(rule.limits, rule.kind, rule.shown_unit)
    spare = verdict.margin or 0.0
    room = "nothing" if spare == 0.0 else f"only {_amount(rule, spare)}"
    return f"{_read(verdict, unit)}; the rule says {asked}: {room} to spare"


def close_sentence(verdict: Verdict, unit: LengthUnit) -> str:
    """What was estimated, what is asked, and how likely the rule is to be broken."""
    rule = verdict.rule
    asked = limits_text(rule.limits, rule.kind, rule.shown_unit)
    said = f"{_read(verdict, unit)}; the rule says {asked}"
    if verdict.chance is None:
        return f"{said}: it could be on either side of the limit"
    likely = f"the chance that it fails is {chance_text(verdict.chance)}"
    return f"{said}: {probably_text((verdict,))}; {likely}" if verdict.over > 0.0 else f"{said}: {likely}"


def settling_sentence(verdict: Verdict, *, blank_weighed: bool) -> str:
    """What would settle a rule that is too close to tell."""
    weigh = "" if blank_weighed else f"{WEIGH_BLOCK}; then "
    if verdict.rule.kind is QuantityKind.MASS:
        return f"To settle it, {weigh}weigh the finished car."
    return f"To settle it, {weigh}measure the finished car."


def _read(verdict: Verdict, unit: LengthUnit) -> str:
    rule = verdict.rule
    read = 0.0 if verdict.read is None else verdict.read
    text = _clean(value_text(rule, read))
    interval = verdict.interval
    if verdict.spread > 0.0 and interval is not None and rule.kind is not None:
        low, high = (_bare(rule, end) for end in interval)
        return f"{text} (between {low} and {high})"
    inches = unit is LengthUnit.IN, rule.unit is LengthUnit.IN
    if rule.kind is QuantityKind.LENGTH and inches[0] != inches[1]:
        # What was measured, not what was read off the tape: a rounded figure is never converted.
        measured = read if verdict.value is None else verdict.value
        return f"{text} ({quantity(measured, QuantityKind.LENGTH, unit)})"
    return text


def _bare(rule: Rule, value: float) -> str:
    if rule.kind is QuantityKind.MASS:
        return format_estimate(max(value, 0.0), rule.mass_unit)
    return _clean(value_text(rule, value))


def _missed(verdict: Verdict) -> str:
    rule = verdict.rule
    if rule.limits is not None and rule.limits.one_of:
        return f"{_amount(rule, verdict.over)} away from the nearest"
    counted = rule.kind is QuantityKind.COUNT
    words = ("too few", "too many") if counted else ("too little", "too much")
    return f"{_amount(rule, verdict.over)} {words[verdict.side is LimitSide.OVER]}"


def _amount(rule: Rule, value: float) -> str:
    return "" if rule.kind is None else amount_text(value, rule.kind, rule.shown_unit)


def change_sentence(change: Remedy) -> str:
    """What to do, by how much, and the line of the file where the number stands, where it is known."""
    command = change.command or ("make it larger" if change.side is LimitSide.UNDER else "make it smaller")
    amount = amount_text(change.amount, change.kind, change.shown_unit)
    joint = " by" if "," not in command else ": by"
    sentence = f"{command}{':' if change.kind is QuantityKind.COUNT else joint} at least {amount}"
    placed = [driver for driver in change.drivers if driver.span is not None]
    exact = next((driver for driver in placed if driver.new_text), None)
    if exact is not None and exact.span is not None:
        plain = exact.new_text.replace(".", "", 1).removeprefix("-").isdecimal()
        text = exact.new_text if plain else f'"{exact.new_text}"'
        return f"{sentence} (line {exact.span.line}: {exact.key.rpartition('.')[2]} = {text})"
    if placed and placed[0].span is not None:
        return f"{sentence} (see line {placed[0].span.line}: {placed[0].key})"
    return sentence


def doubt_sentence(verdict: Verdict) -> str:
    """Why a rule could not be judged."""
    return printable(verdict.why_not) or "the design does not say enough"


# ---------------------------------------------------------------- mass


def range_sentence(doubts: Sequence[tuple[float, str]], unit: MassUnit, *, blank_weighed: bool) -> str:
    """Why the range of a mass is wide, and what would narrow it."""
    told = ", and ".join(f"{printable(why)} (± {format_estimate(half, unit)})" for half, why in doubts)
    hint = "" if blank_weighed else f" For a narrower range, {WEIGH_BLOCK}."
    return f"The range is wide because {told}.{hint}"


_SHARE: Final = 0.02
"""A source of doubt that makes up less than this share of the variance is left out."""


def mass_doubts(items: tuple[MassItem, ...], total: Mass, most: int = 2) -> list[tuple[float, str]]:
    """What makes the mass uncertain, worst first: half the width of the interval it would give alone, why."""
    if total.sd_g <= 0.0:
        return []
    by_reason: dict[str, float] = {}
    for item in items:
        by_reason[item.why] = by_reason.get(item.why, 0.0) + item.sd_g**2
    ranked = sorted(by_reason.items(), key=lambda pair: -pair[1])
    wide = (total.high_g - total.mass_g) / total.sd_g
    return [
        (wide * math.sqrt(variance), why) for why, variance in ranked if variance > _SHARE * total.sd_g**2
    ][:most]
