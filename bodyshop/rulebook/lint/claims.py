"""What a book's rules and its kit claim of the measures, with the place of each claim."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bodyshop.design.model import Kit
from bodyshop.measures.catalogue import Kind
from bodyshop.rulebook.language import LIMIT_KEYS
from bodyshop.rulebook.lint.bounds import Claim
from bodyshop.rulebook.lint.relations import Relation, relation_of
from bodyshop.rulebook.model import Fails, Rule, Rulebook, Spot
from bodyshop.rulebook.words import limits_text
from bodyshop.source import Source
from bodyshop.stock.blanks import blanks
from bodyshop.stock.hardware import hardware

__all__ = ["Stated", "kit_relations", "stated_by_kit", "stated_by_rules", "stretch_relations"]


@dataclass(frozen=True, slots=True)
class Stated:
    """A claim and who makes it: a rule of the book, or (`rule` None) a piece of the kit.

    `words` name it in a sentence: "clause A1 (105 to 270 mm)".
    """

    claim: Claim
    words: str
    kind: Kind
    rule: Rule | None = None

    @property
    def advised(self) -> bool:
        """Whether nothing follows when it is not kept."""
        return self.rule is not None and self.rule.fails is Fails.ADVICE

    @property
    def ends_it(self) -> bool:
        """Whether a car that does not keep it is out, whatever else it keeps."""
        return self.rule is not None and self.rule.fails is Fails.DISQUALIFY

    def stands_in(self, source: Source) -> bool:
        """Whether a limit of the rule stands in this very file."""
        spots = () if self.rule is None else (self.rule.spots.get(key) for key in LIMIT_KEYS)
        return any(spot is not None and spot.source is source for spot in spots)

    def spot(self, *, low: bool) -> Spot | None:
        """Where the limit at one end stands; the clause where it has none of its own."""
        if self.rule is None:
            return None
        for key in ("min" if low else "max", "exact", "count", "one_of", "tolerance"):
            if key in self.rule.spots:
                return self.rule.spots[key]
        return self.rule.spot


def stated_by_rules(book: Rulebook) -> tuple[Stated, ...]:
    """What the measured rules of the book claim, in its order."""
    found: list[Stated] = []
    for rule in book.rules:
        if not rule.measure or rule.limits is None or rule.kind is None:
            continue
        low, high = rule.limits.ends
        words = f"clause {rule.clause} ({limits_text(rule.limits, rule.kind, rule.shown_unit)})"
        for measure in rule.measures:
            key = f"{rule.clause} {measure}" if rule.several else rule.clause
            claim = Claim(key, measure, low + rule.past, high + rule.past)
            found.append(Stated(claim, words, rule.kind, rule))
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


def stated_by_kit(book: Rulebook) -> tuple[Stated, ...]:
    """What the kit fixes: sizes of its parts, and that a body is no larger than its blank."""
    return tuple(_kit(book.kit))


def _kit(kit: Kit) -> Iterator[Stated]:
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


def _part(key: str, name: str, measure: str, low: float, high: float) -> Stated:
    thing = key.replace("_", " ")
    return Stated(Claim(f"kit {key} {measure}", measure, low, high), f"the kit's {thing} {name}", Kind.LENGTH)


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
