"""What a book's rules and kit claim of the measures, and how claims bound other measures along relations."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Final

from bodyshop.car.design.model import AxleEnd, Kit
from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.car.stock.blanks import blanks
from bodyshop.car.stock.hardware import hardware
from bodyshop.foundation.toml import Source
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import read_tables
from bodyshop.rules.rulebook.language import LIMIT_KEYS
from bodyshop.rules.rulebook.model import BreachEffects, Rule, Rulebook, RulebookPlace
from bodyshop.rules.rulebook.words import limits_text

__all__ = [
    "RELATION_TABLES",
    "Claim",
    "DerivedBound",
    "PossibleRange",
    "Relation",
    "SLACK",
    "SourcedClaim",
    "carried",
    "first_conflict",
    "kit_relations",
    "needed",
    "possible",
    "relation_of",
    "relations",
    "stated_by_kit",
    "stated_by_rules",
    "stretch_relations",
    "usual_side",
]


_PIECE: Final = re.compile(r"\s*(?:([-+])\s*)?(?:([\d.]+)\s*\*\s*)?([a-z_.]+|[\d.]+)(?:\s*/\s*([\d.]+))?\s*")
_SIDES: Final = re.compile(r"(.+?)(>=|=)(.+)")


@dataclass(frozen=True, slots=True)
class Relation:
    """`constant` plus the sum of `terms` (a coefficient times a measure) is zero or more.

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
    for row in _tables()["relation"]:
        # A row without {end} is the same for both and is kept once.
        pairs = {
            (row.holds.replace("{end}", end.value), row.why.replace("{end}", end.value)): None
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
def possible(name: str, kind: QuantityKind) -> tuple[float, float]:
    """The least and the greatest value a measure can have at all; infinite where nothing is known."""
    if kind is QuantityKind.ANGLE:
        return -math.pi / 2, math.pi / 2
    for row in _tables()["possible"]:
        if _fits(name, row.measures):
            return row.low, math.inf
    return (-math.inf if kind is QuantityKind.LENGTH else 0.0), math.inf


def usual_side(name: str) -> str:
    """`min` or `max` for a measure that is mostly limited on that side alone; else empty."""
    return next((row.side.value for row in _tables()["usual"] if _fits(name, row.measures)), "")


def _fits(name: str, patterns: Iterable[str]) -> bool:
    return any(fnmatchcase(name, pattern) for pattern in patterns)


@dataclass(frozen=True, slots=True)
class RelationRow:
    """What holds between measures, and what room there has to be; {end} stands for front and rear."""

    holds: str
    why: Annotated[str, TomlKey(empty=True)]


@dataclass(frozen=True, slots=True)
class PossibleRow:
    """Measures that are never less than this."""

    measures: tuple[str, ...]
    low: float


class UsualSide(Enum):
    """The side on which a limit is."""

    MIN = "min"
    MAX = "max"


@dataclass(frozen=True, slots=True)
class UsualRow:
    """Measures whose limit is mostly on this side."""

    side: UsualSide
    measures: tuple[str, ...]


RELATION_TABLES: Final[Mapping[str, type]] = {
    "relation": RelationRow,
    "possible": PossibleRow,
    "usual": UsualRow,
}
"""What stands in the table of relations."""


@cache
def _tables() -> Mapping[str, tuple[Any, ...]]:
    return read_tables(Path(__file__).with_name("relations.toml"), RELATION_TABLES)


@dataclass(frozen=True, slots=True)
class SourcedClaim:
    """A claim and who makes it: a rule of the book, or (`rule` None) a piece of the kit.

    `words` name it in a sentence: "clause A1 (105 to 270 mm)".
    """

    claim: Claim
    words: str
    kind: QuantityKind
    rule: Rule | None = None

    @property
    def advised(self) -> bool:
        """Whether nothing follows when it is not kept."""
        return self.rule is not None and self.rule.fails is BreachEffects.ADVICE

    @property
    def ends_it(self) -> bool:
        """Whether a car that does not keep it is out, whatever else it keeps."""
        return self.rule is not None and self.rule.fails is BreachEffects.DISQUALIFY

    def stands_in(self, source: Source) -> bool:
        """Whether a limit of the rule stands in this very file."""
        spots = () if self.rule is None else (self.rule.spots.get(key) for key in LIMIT_KEYS)
        return any(spot is not None and spot.source is source for spot in spots)

    def spot(self, *, low: bool) -> RulebookPlace | None:
        """Where the limit at one end stands; the clause where it has none of its own."""
        if self.rule is None:
            return None
        for key in ("min" if low else "max", "exact", "count", "one_of", "tolerance"):
            if key in self.rule.spots:
                return self.rule.spots[key]
        return self.rule.spot


def stated_by_rules(book: Rulebook) -> tuple[SourcedClaim, ...]:
    """What the measured rules of the book claim, in its order."""
    found: list[SourcedClaim] = []
    for rule in book.rules:
        if not rule.measure or rule.limits is None or rule.kind is None:
            continue
        low, high = rule.limits.ends
        words = f"clause {rule.clause} ({limits_text(rule.limits, rule.kind, rule.shown_unit)})"
        for measure in rule.measures:
            key = f"{rule.clause} {measure}" if rule.several else rule.clause
            claim = Claim(key, measure, low + rule.past, high + rule.past)
            found.append(SourcedClaim(claim, words, rule.kind, rule))
    return tuple(found)


_KIT_MEASURES: Final[tuple[tuple[str, str, str, str], ...]] = (
    ("front_wheel", "front_wheel.diameter", "wheels", "diameter_mm"),
    ("front_wheel", "front_wheel.width", "wheels", "width_mm"),
    ("rear_wheel", "rear_wheel.diameter", "wheels", "diameter_mm"),
    ("rear_wheel", "rear_wheel.width", "wheels", "width_mm"),
    ("axle", "front_axle.diameter", "axles", "diameter_mm"),
    ("axle", "rear_axle.diameter", "axles", "diameter_mm"),
    ("bearing", "front_bearing.diameter", "bearings", "outer_mm"),
    ("bearing", "rear_bearing.diameter", "bearings", "outer_mm"),
    ("screw_eye", "front_eye.inside_diameter", "screw-eyes", "ring_inner_mm"),
    ("screw_eye", "rear_eye.inside_diameter", "screw-eyes", "ring_inner_mm"),
)
"""The key of the kit, the measure it fixes, and the shelf and the field with its size."""


def stated_by_kit(book: Rulebook) -> tuple[SourcedClaim, ...]:
    """What the kit fixes: sizes of its parts, and that a body is no larger than its blank."""
    return tuple(_kit(book.kit))


def _kit(kit: Kit) -> Iterator[SourcedClaim]:
    parts = hardware().and_also(kit.brought)
    for key, measure, shelf, field in _KIT_MEASURES:
        part = parts.shelf(shelf).get(getattr(kit, key))
        if part is not None:
            value = float(getattr(part, field))
            yield _part(key, getattr(kit, key), measure, value, value)
    blank = blanks().get(kit.blank)
    if blank is not None:
        height = max(blank.height_nose_mm, blank.height_tail_mm)
        for measure, value in (
            ("body.length", blank.length_mm),
            ("body.width", blank.width_mm),
            ("body.height", height),
        ):
            yield _part("blank", kit.blank, measure, -math.inf, value)
        if blank.bore is not None:
            yield _part("blank", kit.blank, "bore.diameter", blank.bore.diameter_mm, math.inf)
            yield _part("blank", kit.blank, "bore.depth", blank.bore.depth_mm, math.inf)


def _part(key: str, name: str, measure: str, low: float, high: float) -> SourcedClaim:
    thing = key.replace("_", " ")
    return SourcedClaim(
        Claim(f"kit {key} {measure}", measure, low, high), f"the kit's {thing} {name}", QuantityKind.LENGTH
    )


def stretch_relations(book: Rulebook) -> tuple[Relation, ...]:
    """A wall over the first stretch of the bore is no thinner than that wall over all of it."""
    return tuple(
        Relation(((name, 1.0), (name.partition("[")[0], -1.0)), 0.0, "")
        for name in book.measures
        if "[" in name
    )


def kit_relations(book: Rulebook) -> tuple[Relation, ...]:
    """What the kit's cartridge makes of the bore."""
    cartridge = hardware().and_also(book.kit.brought).cartridges.get(book.kit.cartridge)
    if cartridge is None:
        return ()
    why = f"the kit's {cartridge.id} in the bore"
    return (
        *relation_of(f"bore.cartridge_showing = {cartridge.length_mm} - bore.depth", why),
        *relation_of(f"bore.cartridge_play = bore.diameter - {cartridge.diameter_mm}", why),
    )


SLACK: Final = 1e-6
"""Sums of floats differ by less than this (mm, g, rad)."""

_MOST_STEPS: Final = 20_000


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody says that a measure lies from `low` to `high`. `key` names who: a clause, a piece of kit."""

    key: str
    measure: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class DerivedBound:
    """An end of an interval, the keys of the claims it comes from and the numbers of the relations used."""

    value: float
    claims: frozenset[str] = frozenset()
    by: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class PossibleRange:
    """Where a measure can still lie."""

    low: DerivedBound
    high: DerivedBound

    @property
    def empty(self) -> bool:
        """Whether it can lie nowhere."""
        return self.low.value > self.high.value + SLACK


Reach = Callable[[str], tuple[float, float]]
"""What a measure can be at all, before anybody claims anything."""


def carried(
    claims: Iterable[Claim], relations: Sequence[Relation], reach: Reach
) -> tuple[dict[str, PossibleRange], str]:
    """Intervals of every measure that is claimed or related, and the first whose interval is empty, if any.

    Work stops at the first that is empty.
    """
    found: dict[str, PossibleRange] = {}

    def interval(name: str) -> PossibleRange:
        if name not in found:
            low, high = reach(name)
            found[name] = PossibleRange(DerivedBound(low), DerivedBound(high))
        return found[name]

    for claim in claims:
        now = interval(claim.measure)
        key = frozenset((claim.key,))
        low = DerivedBound(claim.low, key) if claim.low > now.low.value + SLACK else now.low
        high = DerivedBound(claim.high, key) if claim.high < now.high.value - SLACK else now.high
        found[claim.measure] = PossibleRange(low, high)
        if found[claim.measure].empty:
            return found, claim.measure
    touching = _touching(tuple(relations))
    waiting = dict.fromkeys(range(len(relations)))
    for _ in range(_MOST_STEPS):
        if not waiting:
            break
        number = next(iter(waiting))
        del waiting[number]
        relation = relations[number]
        for name, _ in relation.terms:
            interval(name)
        for name, tighter in _drawn_in(relation, number, found):
            found[name] = tighter
            if tighter.empty:
                return found, name
            waiting.update(dict.fromkeys(touching[name]))
    return found, ""


@cache
def _touching(relations: tuple[Relation, ...]) -> Mapping[str, tuple[int, ...]]:
    """Numbers of the relations of each measure."""
    found: dict[str, tuple[int, ...]] = {}
    for number, relation in enumerate(relations):
        for name, _ in relation.terms:
            found[name] = (*found.get(name, ()), number)
    return found


def _drawn_in(
    relation: Relation, number: int, found: Mapping[str, PossibleRange]
) -> Iterable[tuple[str, PossibleRange]]:
    """Each interval of the relation's measures that the others make narrower."""
    for name, factor in relation.terms:
        most, claims, by = relation.constant, frozenset[str](), frozenset((number,))
        for other, other_factor in relation.terms:
            if other != name:
                end = found[other].high if other_factor > 0 else found[other].low
                most += other_factor * end.value
                claims |= end.claims
                by |= end.by
        if not math.isfinite(most):
            continue
        now = found[name]
        bound = DerivedBound(-most / factor, claims, by)
        if factor > 0 and bound.value > now.low.value + SLACK:
            yield name, PossibleRange(bound, now.high)
        elif factor < 0 and bound.value < now.high.value - SLACK:
            yield name, PossibleRange(now.low, bound)


def needed(claims: Sequence[Claim], still: Callable[[Sequence[Claim]], bool]) -> tuple[Claim, ...]:
    """As few of the claims as keep `still` true, none of which can be left out."""
    kept = list(claims)
    for claim in claims:
        fewer = [each for each in kept if each is not claim]
        if still(fewer):
            kept = fewer
    return tuple(kept)


def first_conflict(claims: Sequence[Claim], relations: Sequence[Relation], reach: Reach) -> tuple[Claim, ...]:
    """Claims that cannot be kept together, none of which can be left out; empty when there are none."""
    found, name = carried(claims, relations, reach)
    if not name:
        return ()
    keys = found[name].low.claims | found[name].high.claims
    involved = [claim for claim in claims if claim.key in keys]

    def clash(some: Sequence[Claim]) -> bool:
        return bool(carried(some, relations, reach)[1])

    # The trail of a bound is enough to prove it; all claims are tried should it ever not be.
    return needed(involved if clash(involved) else claims, clash)
