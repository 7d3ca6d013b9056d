"""A rule's own numbers put into its sentences, so that the two can never differ: `{min}`."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from bodyshop.lengths import LengthUnit, MassUnit
from bodyshop.measures.catalogue import Kind
from bodyshop.problems import nearest
from bodyshop.rulebook.cells import Form
from bodyshop.rulebook.consequences import Consequences
from bodyshop.rulebook.model import Limits
from bodyshop.rulebook.words import amount_text, limits_text

__all__ = ["FIELDS", "RuleWords"]

FIELDS: Final = (
    *("min", "max", "exact", "tolerance", "count", "one_of", "limits"),
    *("points", "most_points", "ballast", "per", "past", "first"),
)
"""The names that may stand in braces in a rule's sentences."""

_FIELD: Final = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class RuleWords:
    """The numbers of one rule, ready to be put into its sentences."""

    form: Form
    limits: Limits | None
    kind: Kind | None
    unit: LengthUnit | MassUnit
    costs: Consequences
    past: float
    first: float

    def filled(self, key: str, text: str) -> str:
        """The text with each `{field}` replaced; a field that the rule has no number for is noted."""
        for name in dict.fromkeys(_FIELD.findall(text)):
            value = self._value(name)
            if value is None:
                self._unknown(key, name)
            else:
                text = text.replace("{" + name + "}", value)
        return text

    def _value(self, name: str) -> str | None:
        cost = self._cost(name)
        if cost:
            return cost
        if self.kind is None or name not in FIELDS:
            return None
        if self.limits is None:
            return ""  # the limit's own problem is told already
        if name in ("limits", "one_of"):
            return limits_text(self.limits, self.kind, self.unit)
        numbers = {
            "min": self.limits.low,
            "max": self.limits.high,
            "exact": self.limits.exact,
            "count": self.limits.exact,
            "tolerance": self.limits.tolerance,
            "per": self.costs.per if self.form.has("per") else None,
            "past": self.past if self.form.has("past") else None,
            "first": self.first or None,
        }
        number = numbers.get(name)
        return None if number is None else amount_text(number, self.kind, self.unit)

    def _cost(self, name: str) -> str:
        """What it costs, as far as the rule says so: empty otherwise."""
        costs = self.costs
        if name == "points" and costs.points:
            return f"{costs.points:g}"
        if name == "most_points" and math.isfinite(costs.most_points):
            return f"{costs.most_points:g}"
        if name == "ballast" and costs.ballast:
            unit = self.unit if isinstance(self.unit, MassUnit) else MassUnit.G
            return amount_text(costs.ballast, Kind.MASS, unit)
        return ""

    def _unknown(self, key: str, name: str) -> None:
        cell = self.form.cell(key)
        if cell is None:
            return
        text = cell.value if isinstance(cell.value, str) else ""
        start = text.find("{" + name + "}")
        self.form.note(
            cell.source.problem(
                cell.path,
                "rulebook-field",
                f"this rule has no {{{name}}} to put here",
                inner=(start, start + len(name) + 2),
                found="{" + name + "}",
                expected="one of " + ", ".join("{" + field + "}" for field in FIELDS),
                nearest="{" + close + "}" if (close := nearest(name, FIELDS)) and close != name else "",
            )
        )
