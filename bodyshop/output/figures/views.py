"""The three views of one judged car at one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.drawing.layout.dimensions import scale_text
from bodyshop.drawing.sheet.items import Group, Item
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import disc, line
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.aspects import Aspect
from bodyshop.output.figures.callout_places import (
    BandCallout,
    InlineCallout,
    ViewSpace,
    frame_of,
    place_callouts,
)
from bodyshop.output.figures.car_views import car_extent, car_items
from bodyshop.output.figures.labels import (
    Callout,
    callouts_of,
    inline_items,
    label_items,
)
from bodyshop.output.figures.measured_lines import (
    MeasuredLine,
    line_items,
)
from bodyshop.rules.checking import Checked

__all__ = [
    "CAPTIONS",
    "Figure",
    "TAIL_WIDTH_MM",
    "Views",
    "draw_figure",
    "draw_views",
    "scale_for",
    "scale_sentence",
]


_SIDE_MM: Final = 13.0
"""Kept at each side of the car for lines that stand outside its ends."""
_SCALES: Final = (
    5.0,
    2.0,
    1.0,
    *(1 / k for k in (1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)),
)


@dataclass(frozen=True, slots=True)
class Figure:
    """A view as drawn, in sheet mm inside `frame`, whose corner need not be the origin.

    `to_sheet` takes a point of the view (mm of the car) to the sheet. `left_out` are call-outs that found
    no room.
    """

    aspect: Aspect
    scale: float
    to_sheet: Affine
    frame: Rect
    items: tuple[Item, ...]
    lines: tuple[MeasuredLine, ...]
    seated: tuple[BandCallout, ...]
    inline: tuple[InlineCallout, ...]
    left_out: tuple[Callout, ...]


def scale_for(car: Car, width_mm: float, tail_width_mm: float, smaller: int = 0) -> float:
    """The largest usual scale at which all three views fit, or one `smaller` by so many steps."""
    side, top, tail = (car_extent(car, aspect) for aspect in Aspect)
    length = max(side.width, top.width)

    def fits(scale: float) -> bool:
        return (
            scale * length <= width_mm - 2 * _SIDE_MM + 12.0
            and scale * side.height <= 62.0
            and scale * top.height <= 66.0
            and scale * tail.height <= 62.0
            and scale * tail.width <= tail_width_mm - 12.0
        )

    first = next((k for k, scale in enumerate(_SCALES) if fits(scale)), len(_SCALES) - 1)
    return _SCALES[min(first + smaller, len(_SCALES) - 1)]


def draw_figure(
    car: Car, aspect: Aspect, callouts: Sequence[Callout], scale: float, width_mm: float
) -> Figure:
    """A view at a scale, `width_mm` wide, with those of the call-outs that belong to it."""
    extent = car_extent(car, aspect)
    left = (width_mm - scale * _shared(car, aspect, extent).width) / 2
    left -= scale * _shared(car, aspect, extent).x
    to_sheet = Affine.stretch(scale, scale).then(Affine.move(left, 0.0))
    drawn = Rect(left + scale * extent.x, scale * extent.y, scale * extent.width, scale * extent.height)
    space = ViewSpace(to_sheet, scale, width_mm, drawn, _car_box(car, aspect, to_sheet))
    own = [c for c in callouts if c.aspect is aspect]
    placed = place_callouts(space, own)
    items: list[Item] = [Group(to_sheet, tuple(car_items(car, aspect)))]
    for each in placed.lines:
        items += line_items(each)
    for seated in placed.seated:
        items.append(line(seated.seat.port, seated.seat.tip, Layer.DIMENSION))
        if not any(each.callout is seated.callout for each in placed.lines):
            items.append(disc(seated.seat.tip, 0.65, Layer.DIMENSION))
        items += label_items(seated.label, seated.seat.box, seated.seat.port)
    for inline in placed.inline:
        items += inline_items(inline.label, inline.box)
    frame = frame_of(space, placed)
    return Figure(
        aspect,
        scale,
        to_sheet,
        frame,
        tuple(items),
        placed.lines,
        placed.seated,
        placed.inline,
        placed.left_out,
    )


def _shared(car: Car, aspect: Aspect, extent: Rect) -> Rect:
    """The stretch by which a view is centred: the same for side and top, so that they line up."""
    if aspect is Aspect.TAIL:
        return extent
    other = car_extent(car, Aspect.TOP if aspect is Aspect.SIDE else Aspect.SIDE)
    x = min(extent.x, other.x)
    return Rect(x, extent.y, max(extent.right, other.right) - x, extent.height)


def _car_box(car: Car, aspect: Aspect, to_sheet: Affine) -> Rect:
    """The body's box on the sheet: its ends are where lines stand outside."""
    x0, y0, z0, x1, y1, z1 = car.body.bounds
    across = {Aspect.SIDE: (x0, z0, x1, z1), Aspect.TOP: (x0, y0, x1, y1), Aspect.TAIL: (y0, z0, y1, z1)}
    u0, v0, u1, v1 = across[aspect]
    low, high = to_sheet.point((u0, v0)), to_sheet.point((u1, v1))
    return Rect(low[0], low[1], high[0] - low[0], high[1] - low[1])


TAIL_WIDTH_MM: Final = 84.0
"""Width of the tail view; the mass stands beside it on paper."""

CAPTIONS: Final = {
    Aspect.SIDE: "Side view, nose to the left",
    Aspect.TOP: "Top view, nose to the left",
    Aspect.TAIL: "From behind",
}


@dataclass(frozen=True, slots=True)
class Views:
    """The views, their common scale (paper over car), and all call-outs with a place."""

    scale: float
    callouts: tuple[Callout, ...]
    side: Figure
    top: Figure
    tail: Figure

    @property
    def figures(self) -> tuple[Figure, Figure, Figure]:
        """All three."""
        return (self.side, self.top, self.tail)

    @property
    def drawn(self) -> frozenset[int]:
        """Numbers of the call-outs that found room."""
        return frozenset(c.number for c in self.callouts) - {
            c.number for figure in self.figures for c in figure.left_out
        }


def draw_views(checked: Checked, width_mm: float, smaller: int = 0) -> Views:
    """The views for a page that leaves `width_mm` for them, `smaller` by so many steps than need be."""
    car = checked.opened.car
    callouts = callouts_of(checked.judgement)
    scale = scale_for(car, width_mm, TAIL_WIDTH_MM, smaller)
    side, top = (draw_figure(car, a, callouts, scale, width_mm) for a in (Aspect.SIDE, Aspect.TOP))
    tail = draw_figure(car, Aspect.TAIL, callouts, scale, TAIL_WIDTH_MM)
    return Views(scale, callouts, side, top, tail)


def scale_sentence(scale: float) -> str:
    """What a reader must know before laying a rule on the paper."""
    return f"All three views at {scale_text(scale)}. Do not saw from these: use the templates."
