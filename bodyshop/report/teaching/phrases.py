"""Short words about one rule: what was measured, what is asked, by how much it misses, the verdict."""

from __future__ import annotations

from typing import Final

from bodyshop.lengths import format_estimate
from bodyshop.measures import Kind
from bodyshop.report.columns import printable
from bodyshop.rulebook import Outcome, Rule, Side, Verdict, amount_text, chance_text, limits_text, value_text

__all__ = ["VERDICT_WORDS", "limit_words", "margin_words", "measured_words"]

VERDICT_WORDS: Final = {
    Outcome.FAIL: "FAILS",
    Outcome.TOO_CLOSE: "too close to tell",
    Outcome.CANNOT_JUDGE: "not known",
    Outcome.NEAR: "close",
    Outcome.ADVICE: "advice",
    Outcome.BY_GAUGE: "by gauge",
    Outcome.BY_EYE: "by eye",
    Outcome.PASS: "keeps it",
}
"""The verdict on a rule in a word or two."""


def measured_words(verdict: Verdict) -> str:
    """`99.0 mm`; an estimate with its interval: `267 g (216 to 319 g)`; empty where nothing was measured."""
    if verdict.read is None:
        return ""
    interval = verdict.interval
    if verdict.rule.kind is Kind.MASS and verdict.spread > 0.0 and interval is not None:
        unit = verdict.rule.mass_unit
        read, low, high = (format_estimate(max(g, 0.0), unit) for g in (verdict.read, *interval))
        return f"{read} ({low.partition(' ')[0]} to {high})"
    text = value_text(verdict.rule, verdict.read)
    return text.removeprefix("-") if not any(c in "123456789" for c in text) else text


def limit_words(rule: Rule) -> str:
    """What the rule asks: `105 to 270 mm`."""
    return limits_text(rule.limits, rule.kind, rule.shown_unit)


def margin_words(verdict: Verdict) -> str:
    """By how much it misses, or how much is to spare; empty where that means nothing."""
    rule = verdict.rule
    if verdict.margin is None or rule.kind is None or rule.limits is None:
        return printable(verdict.why_not)
    if verdict.doubt:
        return "may be either side" if verdict.chance is None else f"broken: {chance_text(verdict.chance)}"
    if verdict.over > 0.0:
        amount = amount_text(verdict.over, rule.kind, rule.shown_unit)
        if rule.limits.one_of:
            return f"{amount} off"
        words = ("too few", "too many") if rule.kind is Kind.COUNT else ("too little", "too much")
        return f"{amount} {words[verdict.side is Side.OVER]}"
    if verdict.margin == 0.0 or rule.limits.is_point:
        return "as asked" if rule.limits.is_point else "just on the limit"
    return f"{amount_text(verdict.margin, rule.kind, rule.shown_unit)} to spare"
