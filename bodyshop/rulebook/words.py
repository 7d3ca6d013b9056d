"""Limits and values as short words, the same wherever they are shown: terminal, paper, messages."""

from __future__ import annotations

import math
import re
from typing import Final

from bodyshop.lengths import LengthUnit, format_angle, format_length, format_mass
from bodyshop.measures.catalogue import Kind
from bodyshop.rulebook.model import Limits, Rule

__all__ = ["amount_text", "limits_text", "value_text"]

_TAPE: Final = 64
_PLACES: Final = 4
_SAME_IN: Final = 1e-6


def amount_text(value: float, kind: Kind, unit: LengthUnit) -> str:
    """A quantity with its unit: `26 mm`, `1 5/8 in`, `45 g`, `3°`, `2`.

    Inches are a tape fraction where they are one to a hair, else a decimal: a limit is never rounded to
    another number.
    """
    if kind is Kind.LENGTH:
        return _length(value, unit)
    if kind is Kind.MASS:
        return _trimmed(format_mass(value, _PLACES))
    if kind is Kind.ANGLE:
        return _trimmed(format_angle(value, _PLACES))
    if kind is Kind.COUNT:
        return f"{value:g}"
    power = 2 if kind is Kind.AREA else 3
    return f"{value / unit.mm**power:.6g} {unit.symbol}{'²' if power == 2 else '³'}"


def value_text(rule: Rule, value: float) -> str:
    """A measured value of the rule's kind in the rule's unit, with as many decimals as it is read to.

    What a verdict read (`Verdict.read`) is a mark of the tape where the rule is in inches; a raw value is
    told as a decimal.
    """
    if rule.kind is None:
        return ""
    if rule.kind is Kind.LENGTH and rule.unit is not LengthUnit.IN:
        return format_length(value, rule.unit, decimals=_decimals(rule.resolution / rule.unit.mm))
    if rule.kind is Kind.MASS:
        return format_mass(value, decimals=_decimals(rule.resolution))
    if rule.kind is Kind.ANGLE:
        return format_angle(value, decimals=_decimals(math.degrees(rule.resolution)))
    return amount_text(value, rule.kind, rule.unit)


def limits_text(limits: Limits | None, kind: Kind | None, unit: LengthUnit) -> str:
    """Limits in words: `35 to 42 mm`, `at least 3 mm`, `exactly 2`, `0° ± 3°`, `2, 3 or 4`."""
    if limits is None or kind is None:
        return ""
    if limits.one_of:
        words = [amount_text(value, kind, unit) for value in limits.one_of]
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
    if limits.exact is not None and limits.tolerance:
        tolerance = amount_text(limits.tolerance, kind, unit)
        return f"{amount_text(limits.exact, kind, unit)} ± {tolerance}"
    low = None if limits.low is None else amount_text(limits.low, kind, unit)
    high = None if limits.high is None else amount_text(limits.high, kind, unit)
    if low is not None and high is not None:
        return f"exactly {low}" if low == high else f"{_bare(low, high)} to {high}"
    return f"at least {low}" if high is None else f"at most {high}"


def _bare(low: str, high: str) -> str:
    """The lower limit without its unit where the upper one says it too."""
    number, _, unit = low.rpartition(" ")
    return number if number and high.endswith(f" {unit}") else low


def _length(value: float, unit: LengthUnit) -> str:
    if unit is not LengthUnit.IN:
        return _trimmed(format_length(value, unit, decimals=_PLACES))
    parts = value / unit.mm * _TAPE
    if abs(parts - round(parts)) < _SAME_IN * _TAPE:
        return format_length(value, unit, fraction=_TAPE)
    return _trimmed(format_length(value, unit, decimals=_PLACES))


def _trimmed(text: str) -> str:
    """The quantity without needless noughts behind the point."""
    match = re.fullmatch(r"(-?\d+)(?:(\.\d*?)0*)?( ?\D+)", text)
    return text if match is None else match[1] + (match[2] or "").rstrip(".") + match[3]


def _decimals(step: float) -> int:
    """Decimals that show every mark of a step: 1 has none, 0.1 one; two for any finer or odder one."""
    for places in range(2):
        if step > 0.0 and abs(step - round(step, places)) < 1e-9:
            return places
    return 2
