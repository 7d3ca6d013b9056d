"""Files that are wrong as a whole: one plain sentence instead of a fault at every number."""

from __future__ import annotations

from typing import Final

from bodyshop.car.design.fields import REACH_MM
from bodyshop.car.design.reading import Reader
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.values import is_number
from bodyshop.foundation.toml import Source
from bodyshop.foundation.units import LengthUnit

__all__ = ["in_other_unit", "refuse_other"]

_OWN: Final = frozenset(("profile", "plan", "axles", "bore", "blank", "screw_eye", "dimensions"))
_RULEBOOK: Final = ("rule", "change", "inherits", "reading", "divisions", "score", "kit", "event", "rules")
_MANY: Final = 3
_TOO_LONG: Final = ("length-reach", "out-of-range")
_STILL_TOLD: Final = ("unknown-key", "unknown-stock")


def refuse_other(source: Source) -> None:
    """Refuse a rulebook, or a file about something else, that was taken for a design.

    Raises:
        ProblemsError: one problem.
    """
    keys = source.values
    if _OWN & set(keys):
        return
    first = next((key for key in _RULEBOOK if key in keys), None)
    if first is not None:
        raise ProblemsError(
            [
                source.problem(
                    (first,),
                    "not-a-design",
                    "this file is a rulebook, not a design",
                    at_key=True,
                    expected="a design, with [profile] and [plan]; --rulebook names a rulebook",
                )
            ]
        )
    if "format" not in keys and "name" not in keys:
        raise ProblemsError(
            [
                source.problem(
                    (),
                    "not-a-design",
                    "this file is not a design: it has neither format and name nor an outline",
                    expected="a design, with format = 1, a name, [profile] and [plan]",
                )
            ]
        )


def in_other_unit(reader: Reader) -> list[Problem]:
    """One problem instead of many, where plain figures are far too long in the file's unit and would all be
    right in millimetres; empty where that is not so.
    """
    unit = reader.quantities.unit
    if unit is LengthUnit.MM:
        return []
    long = [problem for problem in reader.problems if problem.code in _TOO_LONG]
    beyond = [problem for problem in long if problem.code == "length-reach"]
    figures = [abs(value) for value in _figures(reader.source.values)]
    if len(beyond) < _MANY or max(figures, default=0) > REACH_MM:
        return []
    word = "inches" if unit is LengthUnit.IN else "centimetres"
    one = reader.source.problem(
        ("units",),
        "units-mm",
        f"the figures of this file look like millimetres: {len(beyond)} of them, taken as {word}, are far "
        "beyond any car",
        expected='units = "mm"',
    )
    return [one, *(problem for problem in reader.problems if problem.code in _STILL_TOLD)]


def _figures(value: object) -> list[int | float]:
    """Every plain number in the outlines and tables of a file; a whole one may be too long for a float."""
    if isinstance(value, int | float) and is_number(value):
        return [value]
    if isinstance(value, dict):
        return [figure for inner in value.values() for figure in _figures(inner)]
    if isinstance(value, list):
        return [figure for inner in value for figure in _figures(inner)]
    return []
