"""What holds between measures, as linear inequalities read from a table."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Any, Final

from bodyshop.design.model import AxleEnd
from bodyshop.measures.catalogue import Kind

__all__ = ["Relation", "possible", "relation_of", "relations", "usual_side"]

_PIECE: Final = re.compile(r"\s*(?:([-+])\s*)?(?:([\d.]+)\s*\*\s*)?([a-z_.]+|[\d.]+)(?:\s*/\s*([\d.]+))?\s*")
_SIDES: Final = re.compile(r"(.+?)(>=|=)(.+)")


@dataclass(frozen=True, slots=True)
class Relation:
    """`constant` plus the sum of `terms` (a coefficient times a measure) is nought or more.

    Quantities are in the units of their kinds: mm, g, rad, a count. `why` says in a few words what room
    there has to be.
    """

    terms: tuple[tuple[str, float], ...]
    constant: float
    why: str


@cache
def relations() -> tuple[Relation, ...]:
    """The relations of the table, an equation as two of them."""
    found: list[Relation] = []
    for row in _table()["relation"]:
        # A row without {end} is the same for both and is kept once.
        pairs = {
            (row["holds"].replace("{end}", end.value), row["why"].replace("{end}", end.value)): None
            for end in AxleEnd
        }
        for holds, why in pairs:
            found.extend(relation_of(holds, why))
    return tuple(found)


def relation_of(holds: str, why: str) -> tuple[Relation, ...]:
    """The one or two relations that a line states, such as `car.length >= body.length + 2 * a.b - 0.5`.

    Raises:
        ValueError: it states none.
    """
    match = _SIDES.fullmatch(holds)
    if match is None:
        raise ValueError(f"{holds} states no relation")
    left, right = _sum(match[1]), _sum(match[3])
    total: dict[str, float] = dict(left)
    for name, factor in right.items():
        total[name] = total.get(name, 0.0) - factor
    constant = total.pop("", 0.0)
    above = Relation(tuple(total.items()), constant, why)
    if match[2] == ">=":
        return (above,)
    return (above, Relation(tuple((name, -factor) for name, factor in above.terms), -constant, why))


def _sum(text: str) -> dict[str, float]:
    """Coefficients by name; a plain number is that of the empty name."""
    found: dict[str, float] = {}
    at = 0
    while at < len(text):
        piece = _PIECE.match(text, at)
        if piece is None or piece.end() == at:
            raise ValueError(f"{text[at:]} is not understood")
        at = piece.end()
        factor = (-1.0 if piece[1] == "-" else 1.0) * float(piece[2] or 1) / float(piece[4] or 1)
        if piece[3][0].isdigit():
            found[""] = found.get("", 0.0) + factor * float(piece[3])
        else:
            found[piece[3]] = found.get(piece[3], 0.0) + factor
    return found


@cache
def possible(name: str, kind: Kind) -> tuple[float, float]:
    """The least and the greatest value a measure can have at all; infinite where nothing is known."""
    if kind is Kind.ANGLE:
        return -math.pi / 2, math.pi / 2
    for row in _table()["possible"]["least"]:
        if _fits(name, row["measures"]):
            return float(row["low"]), math.inf
    return (-math.inf if kind is Kind.LENGTH else 0.0), math.inf


def usual_side(name: str) -> str:
    """`min` or `max` for a measure that is mostly limited on that side alone; else empty."""
    return next((side for side, patterns in _table()["usual"].items() if _fits(name, patterns)), "")


def _fits(name: str, patterns: Iterable[str]) -> bool:
    return any(fnmatchcase(name, pattern) for pattern in patterns)


@cache
def _table() -> dict[str, Any]:
    text = (Path(__file__).resolve().parent / "relations.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
