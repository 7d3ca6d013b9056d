"""A certificate for each car: a picture from the side, its place, what it ran. One sheet a car."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.drawing.layout.frame import MARGIN_MM
from bodyshop.drawing.sheet.items import Anchor, Circle, Group, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, showable, text_width_mm
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, disc, line, moved, rectangle, trace
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.raceday.documents import DayHead

__all__ = ["Award", "certificate", "certificates", "side_picture"]


def side_picture(car: Car) -> tuple[tuple[Item, ...], tuple[float, float]]:
    """The car's items from (0, 0), nose to the left, and its width and height, mm."""
    x0, _, z0, x1, _, z1 = car.body.bounds
    items: list[Item] = [
        replace(
            trace([ring.curves for ring in car.body.profile.rings], Layer.OUTLINE, Pen.VISIBLE),
            fill_grey=0.9,
        )
    ]
    for axle in car.design.axles:
        centre, radius = (axle.x_mm, axle.height_mm), axle.wheel.radius_mm
        items += _wheel(centre, radius, axle.axle.diameter_mm / 2)
        x0, x1 = min(x0, centre[0] - radius), max(x1, centre[0] + radius)
        z0, z1 = min(z0, centre[1] - radius), max(z1, centre[1] + radius)
    return (moved(items, -x0, -z0),), (x1 - x0, z1 - z0)


def _wheel(centre: tuple[float, float], radius_mm: float, axle_mm: float) -> list[Circle]:
    return [
        disc(centre, radius_mm, Layer.OUTLINE, 1.0),
        circle(centre, radius_mm, Layer.OUTLINE, Pen.VISIBLE),
        circle(centre, 0.62 * radius_mm, Layer.OUTLINE, Pen.NARROW),
        disc(centre, axle_mm, Layer.OUTLINE, 0.0),
    ]


_TITLE_MM: Final = 9.0
_NAME_MM: Final = 11.0
_PLACE_MM: Final = 7.0
_WORDS_MM: Final = 3.4
_SMALL_MM: Final = 1.7
_LEAST_MM: Final = 3.0


@dataclass(frozen=True, slots=True)
class Award:
    """What a certificate says. `picture` is the car's side view in mm, nose to the left, from (0, 0) up to
    `picture_mm` wide and high; without one its room stays free.
    """

    car: str
    bench: str
    place: str
    lines: tuple[str, ...]
    picture: tuple[Item, ...] = ()
    picture_mm: tuple[float, float] = (0.0, 0.0)


def certificate(award: Award, head: DayHead, sheet: SheetSize) -> Sheet:
    """The certificate of one car."""
    size = sheet if sheet.width_mm > sheet.height_mm else sheet.turned
    outer = Rect(0.0, 0.0, size.width_mm, size.height_mm).inset(MARGIN_MM)
    inner = outer.inset(4.0)
    room = inner.width - 24.0
    middle = inner.centre[0]
    items: list[Item] = [
        rectangle(outer, Layer.BORDER, Pen.HEAVY),
        rectangle(inner, Layer.BORDER, Pen.NARROW),
        *_corners(inner),
    ]

    def put(words: str, y: float, high: float, *, bold: bool = False) -> None:
        wide = text_width_mm(words, high, bold=bold)
        fits = max(min(high, high * room / wide if wide else high), min(high, _LEAST_MM))
        told = shorten(words, fits, room, bold=bold)
        weight = Weight.BOLD if bold else Weight.REGULAR
        items.append(Text(told, (middle, y), fits, Anchor.MIDDLE, weight=weight))

    y = inner.top - 12.0 - _TITLE_MM
    put(head.event, y, _TITLE_MM, bold=True)
    if head.owner:
        y -= 9.0
        put(head.owner, y, _WORDS_MM)
    floor = inner.y + 74.0
    picture = Rect(inner.x + 20.0, floor, inner.width - 40.0, y - 8.0 - floor)
    items += _picture(award, picture)
    y = inner.y + 58.0
    put(showable(award.car), y, _NAME_MM, bold=True)
    put(award.bench, y - 8.0, _WORDS_MM)
    put(award.place, y - 21.0, _PLACE_MM, bold=True)
    for k, words in enumerate(award.lines[:2]):
        put(words, y - 29.5 - k * 6.5, _WORDS_MM)
    items += _foot(inner, head)
    return Sheet(size.width_mm, size.height_mm, tuple(items), f"certificate of {award.car}")


def _picture(award: Award, room: Rect) -> list[Item]:
    wide, high = award.picture_mm
    if not award.picture or wide <= 0.0 or high <= 0.0 or room.height < 10.0:
        return []
    scale = min(room.width / wide, room.height / high, 1.0)
    left = room.centre[0] - scale * wide / 2
    base = room.centre[1] - scale * high / 2
    placed = Affine.stretch(scale, scale).then(Affine.move(left, base))
    ground = (room.x, base)
    return [
        Group(placed, award.picture),
        line(ground, (room.right, base), Layer.DIMENSION, Pen.NARROW),
    ]


def _corners(inner: Rect) -> list[Item]:
    """A short stroke across each corner, like the relief cuts of a template."""
    reach = 7.0
    ends = (
        ((inner.x, inner.y + reach), (inner.x + reach, inner.y)),
        ((inner.right, inner.y + reach), (inner.right - reach, inner.y)),
        ((inner.x, inner.top - reach), (inner.x + reach, inner.top)),
        ((inner.right, inner.top - reach), (inner.right - reach, inner.top)),
    )
    return [line(start, end, Layer.BORDER, Pen.NARROW) for start, end in ends]


def _foot(inner: Rect, head: DayHead) -> list[Item]:
    """Date and signature."""
    y = inner.y + 12.0
    return [
        Text(head.date or "date ______________", (inner.x + 20.0, y), 2.2),
        Text("signed ____________________________", (inner.right - 20.0, y), 2.2, Anchor.END),
    ]


def certificates(awards: Sequence[Award], head: DayHead, sheet: SheetSize) -> list[Sheet]:
    """A certificate for each award, in their order."""
    return [certificate(award, head, sheet) for award in awards]
