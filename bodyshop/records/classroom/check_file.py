"""One file of a class checked: its verdict, mass, a print of its shape and a small drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Final

import numpy as np

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.design import Design
from bodyshop.car.design.fingerprint import Canonical, fingerprint
from bodyshop.car.measures import catalogue
from bodyshop.car.stock.blanks import Blank, blanks
from bodyshop.car.stock.hardware import PART_SHELVES, Axle, Hardware, Wheel, hardware
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import parse_source, read_source
from bodyshop.geometry.outlines import Arc, Array, Cubic, Curve, Line, Outline
from bodyshop.records.classroom.discovery import (
    AppliedRulebook,
    CarRow,
    CarState,
    CheckOptions,
    ClassFile,
    Clause,
    Cut,
    Row,
    SkippedRow,
    StockNeeds,
    SupplyShelf,
    Thumbnail,
    UnreadRow,
)
from bodyshop.rules.checking import LoadedCar, RulebookCache, open_car, shown_file
from bodyshop.rules.rulebook import CarResult, Judgement, Outcome, Rulebook, judge

__all__ = ["Checker", "checker", "is_rulebook", "shape_print", "thumbnail"]


_THOUSANDTHS: Final = 1000
"""Whole thousandths of a millimetre: no saw tells them apart, and a length in inches rounds to the same."""

_CHORD_MM: Final = 0.2
"""As fine as the thickness of the body is searched with: that flattening is there already."""

_GRID_MM: Final = 0.5
_GAP: Final = 8
_EDGE: Final = 2


def shape_print(car: Car) -> str:
    """A short name for the geometry alone: outlines, long edges, bore and axle holes.

    The car's name, bench, wood, parts and the unit of its file do not count.
    """
    design = car.design
    bore = design.bore
    return fingerprint(
        [
            _outline(design.profile),
            _outline(design.plan),
            _whole(
                (design.edge_round_mm, bore.diameter_mm, bore.depth_mm, bore.height_mm, bore.offset_mm),
            ),
            round(bore.tilt_rad * 1e6),
            [_whole((axle.x_mm, axle.height_mm, axle.hole_mm)) for axle in design.axles],
        ]
    )


def _outline(outline: Outline) -> list[Canonical]:
    return [[_curve(curve) for curve in ring.curves] for ring in outline.rings]


def _curve(curve: Curve) -> list[Canonical]:
    match curve:
        case Line():
            return _whole(curve.p0)
        case Arc():
            return _whole((*curve.p0, curve.radius, math.copysign(curve.radius, curve.sweep)))
        case Cubic():
            return _whole((*curve.p0, *curve.c1, *curve.c2))


def _whole(values: Iterable[float]) -> list[Canonical]:
    return [round(value * _THOUSANDTHS) for value in values]


# ---------------------------------------------------------------- the small drawing


def thumbnail(car: Car) -> Thumbnail:
    """Side view above, top view below, nose to the left, all at one scale."""
    body, design = car.body, car.design
    wheels = [(axle.x_mm, axle.height_mm, axle.wheel.radius_mm) for axle in design.axles]
    low = min(body.profile.bounds[1], *(z - r for _, z, r in wheels))
    high = max(body.profile.bounds[3], *(z + r for _, z, r in wheels))
    left = min(body.x_nose, *(x - r for x, _, r in wheels))
    right = max(body.x_tail, *(x + r for x, _, r in wheels))
    treads = [
        (stack.axle.x_mm - left, stack.axle.wheel.radius_mm, *tread)
        for stack in car.stacks
        for tread in stack.treads
    ]
    reach = [abs(y) for y in (body.plan.bounds[1], body.plan.bounds[3])] + [
        abs(y) for _, _, *ends in treads for y in ends
    ]
    half = _grid(max(reach)) + _EDGE
    # The side view's top edge is zero; the centre line of the top view lies below its lower edge.
    centre = _grid(high - low) + _GAP + half
    side = [(points * (1, -1) + (-left, high)) for points in _rings(design.profile)]
    top = [(points * (1, -1) + (-left, centre * _GRID_MM)) for points in _rings(design.plan)]
    return Thumbnail(
        box=(-_EDGE, -_EDGE, _grid(right - left) + 2 * _EDGE, centre + half + _EDGE),
        side=_path(side),
        top=_path(top),
        wheels=tuple((_grid(x - left), _grid(high - z), _grid(r)) for x, z, r in wheels),
        treads="".join(_tread(x, r, y0, y1, centre) for x, r, y0, y1 in treads),
    )


def _tread(x: float, radius: float, y0: float, y1: float, centre: int) -> str:
    """A wheel seen from above, as path data."""
    u0, u1, v0, v1 = _grid(x - radius), _grid(x + radius), centre - _grid(y1), centre - _grid(y0)
    return f"M{u0} {v0}H{u1}V{v1}H{u0}z"


def _rings(outline: Outline) -> list[Array]:
    return [ring.flattened(_CHORD_MM)[0] for ring in outline.rings]


def _grid(value_mm: float) -> int:
    return round(value_mm / _GRID_MM)


def _path(rings: Iterable[Array]) -> str:
    """Closed rings as SVG path data in whole steps of the grid, each step relative to the last."""
    parts: list[str] = []
    for ring in rings:
        points = np.rint(ring / _GRID_MM).astype(np.int64)
        steps = np.diff(points, axis=0)
        steps = steps[np.any(steps != 0, axis=1)].tolist()
        data = [f"M{points[0, 0]} {points[0, 1]}l", *(f"{x} {y} " for x, y in steps)]
        parts.append("".join(data).rstrip(" l") + "z")
    return "".join(parts).replace(" -", "-")


MOST_PROBLEMS: Final = 5
"""Problems of a file that are kept; the others are counted."""

_RULEBOOK_KEYS: Final = frozenset(("rule", "change", "inherits", "reading", "divisions", "score", "kit"))
_DESIGN_KEYS: Final = frozenset(("profile", "plan", "axles", "bore", "blank"))

_STANDINGS: Final = {
    CarResult.LEGAL: CarState.PASSES,
    CarResult.NEEDS_INSPECTOR: CarState.NOT_JUDGED,
    CarResult.PROBABLY_BROKEN: CarState.PROBABLY_FAILS,
    CarResult.POINTS_OFF: CarState.POINTS_OFF,
    CarResult.NOT_LEGAL: CarState.FAILS,
}


@cache
def checker(options: CheckOptions) -> Checker:
    """The one checker of this process for these options: it has read each rulebook once."""
    return Checker(options)


class Checker:
    """Checks files, each rulebook read once.

    Raises:
        ProblemsError: the rulebook asked for cannot be used.
    """

    def __init__(self, options: CheckOptions) -> None:
        self._options = options
        self._shelf = RulebookCache(options.rulebook, options.division)
        self._books: dict[str, AppliedRulebook] = {}
        if options.rulebook:
            # Any source will do: the rulebook asked for goes before the one that it names.
            self._shelf.book(parse_source("format = 1", ""))

    def row(self, entry: ClassFile) -> tuple[Row, AppliedRulebook | None]:
        """One file's row, and the book that a car was judged by."""
        try:
            opened = open_car(entry.path, shelf=self._shelf)
        except ProblemsError as error:
            return _unread(entry, error.problems), None
        book = self._book(opened.rulebook)
        return self._judged(entry, opened, book), book

    def _book(self, rulebook: Rulebook) -> AppliedRulebook:
        key = " ".join(part for part in (rulebook.stem, rulebook.division, rulebook.fingerprint) if part)
        found = self._books.get(key)
        if found is None:
            found = self._books[key] = AppliedRulebook(
                key=key,
                name=rulebook.name,
                division=rulebook.division,
                file=shown_file(rulebook.source.name),
                fingerprint=rulebook.fingerprint,
                clauses=tuple(
                    Clause(rule.clause, rule.title or rule.item, bool(rule.measure))
                    for rule in rulebook.rules
                ),
            )
        return found

    def _judged(self, entry: ClassFile, opened: LoadedCar, book: AppliedRulebook) -> CarRow:
        car, design = opened.car, opened.design
        measures = catalogue()
        # Only what the rulebook names: the whole catalogue takes several times as long.
        judgement = judge(
            opened.rulebook, {name: measures[name].take(car) for name in opened.rulebook.measures}
        )
        mass, loaded = car.mass, car.mass_loaded
        return CarRow(
            file=entry.shown,
            name=design.name,
            bench=design.bench,
            units=design.unit.symbol,
            book=book.key,
            by_default=opened.by_default,
            standing=CarState.SHOW_ONLY if judgement.show_only else _STANDINGS[judgement.result],
            failed=_clauses(judgement, Outcome.FAIL),
            too_close=_clauses(judgement, Outcome.TOO_CLOSE),
            near=_clauses(judgement, Outcome.NEAR),
            advised=_clauses(judgement, Outcome.ADVICE),
            unjudged=_clauses(judgement, Outcome.CANNOT_JUDGE),
            points_off=judgement.points_off,
            mass_g=mass.mass_g,
            low_g=mass.low_g,
            high_g=mass.high_g,
            loaded_g=loaded.mass_g,
            mass_unit=opened.rulebook.mass_unit,
            fingerprint=design.fingerprint,
            shape=shape_print(car),
            warnings=design.warnings,
            needs=_needs(car, opened.rulebook.kit.brought),
            thumbnail=thumbnail(car) if self._options.thumbnails else None,
        )


def _clauses(judgement: Judgement, outcome: Outcome) -> tuple[str, ...]:
    return tuple(verdict.rule.clause for verdict in judgement.having(outcome))


def _unread(entry: ClassFile, problems: tuple[Problem, ...]) -> Row:
    if is_rulebook(entry):
        return SkippedRow(entry.shown, "a rulebook")
    return UnreadRow(entry.shown, problems[:MOST_PROBLEMS], len(problems))


def is_rulebook(entry: ClassFile) -> bool:
    """Whether a file that is no design has a rulebook's keys, and none of a design's."""
    try:
        keys = read_source(entry.path).values.keys()
    except ProblemsError:
        return False
    return bool(keys & _RULEBOOK_KEYS) and not keys & _DESIGN_KEYS


# ---------------------------------------------------------------- what a car is made of


def _needs(car: Car, own: Hardware) -> StockNeeds:
    design = car.design
    front, rear = design.axles
    pieces: list[tuple[SupplyShelf, str, int]] = [
        (SupplyShelf.BLANK, f"{_blank(design.blank)}, {design.wood.id}", 1),
        (SupplyShelf.FRONT_WHEEL, _wheel(front.wheel, own), 2),
        (SupplyShelf.REAR_WHEEL, _wheel(rear.wheel, own), 2),
        (SupplyShelf.CARTRIDGE, design.cartridge.id, 1),
    ]
    pieces += [(SupplyShelf.WASHER, axle.washer.id, 2 * axle.washers) for axle in design.axles if axle.washer]
    pieces += [(SupplyShelf.EYE, place.eye.id, 1) for place in design.eyes]
    pieces += _declared(design)
    cuts = [cut for stack in car.stacks for cut in _cuts(stack)]
    cuts += [Cut(SupplyShelf.AXLE, *_longest_axle(car))] * design.parts.spare_axles
    return StockNeeds(
        pieces=tuple(piece for piece in pieces if piece[2]),
        cuts=tuple(cuts),
        finish=design.finish.id,
        glue=design.glue.id,
        skin_mm2=car.body.wetted_area,
        brought=tuple(_brought(own)),
    )


def _brought(own: Hardware) -> Iterator[tuple[str, str, float]]:
    """The event's own hardware: id, label, length of a rod."""
    for shelf in PART_SHELVES:
        for part in own.shelf(shelf).values():
            yield part.id, part.label, part.stock_length_mm if isinstance(part, Axle) else 0.0


def _declared(design: Design) -> list[tuple[SupplyShelf, str, int]]:
    """Small parts and spares that the design counts without drawing them."""
    parts = design.parts
    washer = next((axle.washer.id for axle in design.axles if axle.washer), "")
    eye = design.eyes[0].eye.id if design.eyes else ""
    return [
        (SupplyShelf.SPARE_WHEEL, "front or rear", parts.spare_wheels),
        (SupplyShelf.WASHER, washer or "any", parts.spare_washers),
        (SupplyShelf.EYE, eye or "any", parts.spare_eyes),
        (SupplyShelf.CLIP, "any", parts.clips + parts.spare_clips),
    ]


def _blank(blank: Blank) -> str:
    if blank.id in blanks():
        return blank.id
    height = f"{blank.height_nose_mm:.4g}"
    if blank.is_wedge:
        height += f" to {blank.height_tail_mm:.4g}"
    return f"{blank.label} {blank.length_mm:.4g} × {blank.width_mm:.4g} × {height} mm"


def _wheel(wheel: Wheel, own: Hardware) -> str:
    stock = hardware().and_also(own).wheels.get(wheel.id)
    if stock is not None and stock.diameter_mm == wheel.diameter_mm and stock.width_mm == wheel.width_mm:
        return wheel.id
    return f"{wheel.id}, own size {wheel.diameter_mm:.4g} × {wheel.width_mm:.4g} mm"


def _cuts(stack: AxleStack) -> list[Cut]:
    cuts = [Cut(SupplyShelf.AXLE, stack.axle.axle.id, stack.axle_length_mm)]
    if stack.axle.bearing is not None:
        cuts.append(Cut(SupplyShelf.BEARING, stack.axle.bearing.id, stack.bearing_length_mm))
    return cuts


def _longest_axle(car: Car) -> tuple[str, float]:
    longest = max(car.stacks, key=lambda stack: stack.axle_length_mm, default=None)
    if longest is None:
        return car.design.front.axle.id, 0.0
    return longest.axle.axle.id, longest.axle_length_mm
