"""Station gauges: half profiles to cut from card, and the numbered lines where they are held."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.body.rectangles import CORNERS, QUARTER, Contour, Rectangles
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.layout.free_space import FreeSpace
from bodyshop.drawing.sheet.items import Anchor, Group, Item, Path, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import line, polyline
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, LineTo, MoveTo, Rect, Segment
from bodyshop.output.papers.templates.view import (
    NOTE_MM,
    SMALL_MM,
    TITLE_MM,
    Panel,
    TemplateSettings,
    panel,
    pitch,
)
from bodyshop.output.papers.templates.waste import Waste
from bodyshop.output.words.papers import paper_name

__all__ = [
    "HalfSection",
    "HalfSectionSpan",
    "MOST_STATIONS",
    "default_stations",
    "gauge_lines",
    "gauge_name",
    "gauge_panels",
    "gauge_stations",
    "halves",
    "hollow",
]


_IN_MM = 1.0


def gauge_name(number: int) -> str:
    """What the gauge of a number, from 1, is called: on the car and on its card."""
    return f"G{number}"


def gauge_lines(
    waste: Waste,
    setting: TemplateSettings,
    stretch: float,
    ink: list[shapely.Geometry],
    bore: shapely.Geometry | None = None,
) -> list[Item]:
    """A narrow line through the car at each gauge's station, with its name beside it.

    It stops at the bore, which is full of words; other words break it. The names are added to the ink that
    those keep off.
    """
    items: list[Item] = []
    x0, y0, x1, y1 = waste.blank.bounds
    for number, station in enumerate(setting.gauges, 1):
        x = stretch * station
        across = shapely.LineString([(x, y0 - 1.0), (x, y1 + 1.0)]).intersection(waste.car)
        if across.is_empty or not x0 <= x <= x1:
            continue
        _, low, _, high = across.bounds
        shown = across if bore is None else across.difference(bore)
        for part in shapely.get_parts(shown):
            _, foot, _, top = part.bounds
            items.append(line((x, foot), (x, top), Layer.STATION))
        name = gauge_name(number)
        point, box = _label_place(name, x, low, high, ink)
        items.append(Text(name, point, SMALL_MM, weight=Weight.BOLD, layer=Layer.STATION, clear=True))
        ink.append(box)
    return items


def _label_place(
    name: str, x: float, low: float, high: float, ink: Sequence[shapely.Geometry]
) -> tuple[Point, shapely.Geometry]:
    """Beside the line inside the car, at its top or foot, wherever nothing is drawn yet."""
    width = text_width_mm(name, SMALL_MM, bold=True)
    levels = [high - _IN_MM - SMALL_MM, low + _IN_MM]
    levels += [low + share * (high - low) for share in (0.75, 0.25, 0.6, 0.4)]
    points = [(left, level) for level in levels for left in (x + _IN_MM, x - _IN_MM - width)]
    boxes = [shapely.box(a - 0.5, b - 0.5, a + width + 0.5, b + SMALL_MM + 0.5) for a, b in points]
    best = FreeSpace(ink=ink).pick(boxes)
    return points[best], boxes[best]


MOST_STATIONS = 24
"""More gauges than this nobody holds against a body."""

# A station's section is only there within this of its place, mm.
_SAME_MM = 1e-6
_CARD_MM = 12.0
_LEAST_MM = 0.5
# A tongue narrower than this would only bend.
_TONGUE_MM = 3.0
_OVER_MM = 3.0
_LINE_NAME_MM = 1.8


@dataclass(frozen=True, slots=True)
class HalfSectionSpan:
    """A stretch of one half of a section: from `low` to `high`, out to `out`. `foot` and `head` are its lower
    and its upper outside corner, each run upwards and drawn for a half on the right.
    """

    low: float
    high: float
    out: float
    foot: CardCorner
    head: CardCorner


@dataclass(frozen=True, slots=True)
class CardCorner:
    """An outside corner of a section: where it starts, and the arc from there, if it is round."""

    start: Point
    arc: ArcTo | None = None

    @property
    def prong(self) -> bool:
        """It is rounded all the way, from level to upright."""
        return self.arc is not None and self.arc.sweep_rad > QUARTER - 1e-6

    @property
    def segments(self) -> list[Segment]:
        """The way to it and round it."""
        return [LineTo(self.start)] if self.arc is None else [LineTo(self.start), self.arc]


@dataclass(frozen=True, slots=True)
class HalfSection:
    """One half of the cross-section at a station, lowest stretch first; all mm.

    `side` is 1 for the half on the right of the centre line, looking forward, and -1 for the left one.
    `both` says that the other half is the same.
    """

    station: float
    side: int
    both: bool
    stretches: tuple[HalfSectionSpan, ...]

    @property
    def out(self) -> float:
        """How far it reaches from the centre line."""
        return max(stretch.out for stretch in self.stretches)

    @property
    def low(self) -> float:
        """Its lowest point."""
        return self.stretches[0].low

    @property
    def high(self) -> float:
        """Its highest point."""
        return self.stretches[-1].high


def default_stations(car: Car, figures: Figures) -> tuple[float, ...]:
    """The numbered stations of the side template at which there is a body to hold a card against."""
    step = figures.station_step_mm
    last = math.floor(car.body.x_tail / step + 1e-9)
    numbered = [step * number for number in range(last + 1)]
    held = [
        x
        for x in numbered
        if car.body.x_nose + _LEAST_MM < x < car.body.x_tail - _LEAST_MM and halves(car, x)
    ]
    return tuple(held[:MOST_STATIONS])


def gauge_stations(car: Car, wanted: Sequence[float], figures: Figures) -> tuple[float, ...]:
    """The stations asked for, in order and each once; those of `default_stations` when none is asked for.

    Raises:
        ProblemsError: one lies off the body, has no wood, or there are too many.
    """
    if not wanted:
        return default_stations(car, figures)
    problems: list[Problem] = []
    nose, tail = car.body.x_nose, car.body.x_tail
    room = f"between {figures.length(nose)} and {figures.length(tail)} from the nose end of the blank"
    kept = sorted({round(x, 6) for x in wanted})
    for x in kept:
        found = figures.length(x)
        if not nose - _SAME_MM <= x <= tail + _SAME_MM:
            problems.append(
                Problem(
                    "station-off-body",
                    f"there is no body at station {found}",
                    found=found,
                    expected=f"one {room}",
                )
            )
        elif not halves(car, x):
            problems.append(
                Problem(
                    "station-empty",
                    f"there is no wood to hold a gauge against at station {found}",
                    found=found,
                )
            )
    if len(kept) > MOST_STATIONS:
        message = f"{len(kept)} stations are too many for gauges"
        problems.append(Problem("stations-too-many", message, expected=f"at most {MOST_STATIONS}"))
    if problems:
        raise ProblemsError(problems)
    return tuple(kept)


def halves(car: Car, station: float) -> tuple[HalfSection, ...]:
    """The halves of the section at a station: one that serves both sides, or the right one and the left one.

    A half without wood is left out; none is left of a station between two parts of the body.
    """
    inside = min(max(station, car.body.x_nose), car.body.x_tail)
    rectangles = car.body.section(inside)
    right, left = _stretches(rectangles, 1), _stretches(rectangles, -1)
    if right and _same(right, left):
        return (HalfSection(station, 1, True, right),)
    found = ((1, right), (-1, left))
    return tuple(HalfSection(station, side, False, stretches) for side, stretches in found if stretches)


def _stretches(r: Rectangles, side: int) -> tuple[HalfSectionSpan, ...]:
    """The outermost rectangle of each stretch of z on one side of the centre line.

    Windows seen from above do not show: from outside a card feels the rounded body they were cut in.
    """
    y0, y1, _, _ = r.whole
    r = Rectangles(r.x, y0, y1, r.z0, r.z1, r.radius, r.outer)
    contour = r.contour()
    outermost: dict[tuple[float, float], HalfSectionSpan] = {}
    for k in np.flatnonzero(~r.empty):
        y = float(r.y1[k]) if side > 0 else -float(r.y0[k])
        z0, z1 = float(r.z0[k]), float(r.z1[k])
        if y < _LEAST_MM or z1 - z0 < _LEAST_MM:
            continue
        foot, head = (_corner(r, contour, int(k), corner) for corner in ((1, 2) if side > 0 else (0, 3)))
        key = (round(z0, 6), round(z1, 6))
        if key not in outermost or outermost[key].out < y:
            outermost[key] = HalfSectionSpan(z0, z1, y, foot, head)
    return tuple(stretch for _, stretch in sorted(outermost.items()))


def _corner(r: Rectangles, contour: Contour, k: int, number: int) -> CardCorner:
    """One of CORNERS as a half on the right has it, run upwards."""
    side = CORNERS[number][0]
    # On the left the contour runs downwards: its end comes first.
    first = 2 * number if side > 0 else 2 * number + 1
    at = (side * float(contour.y[first, k]), float(contour.z[first, k]))
    sweep = float(contour.sweep[number, k])
    if sweep <= 0:
        return CardCorner(at)
    centre = (side * float(contour.centre_y[number, k]), float(contour.centre_z[number, k]))
    start = float(contour.start[number, k])
    return CardCorner(
        at, ArcTo.circular(centre, float(r.radius[k]), start if side > 0 else math.pi - start - sweep, sweep)
    )


def _same(right: Sequence[HalfSectionSpan], left: Sequence[HalfSectionSpan]) -> bool:
    return len(right) == len(left) and all(
        max(abs(a - b) for a, b in zip(_figures(one), _figures(other), strict=True)) < 1e-6
        for one, other in zip(right, left, strict=True)
    )


def _figures(stretch: HalfSectionSpan) -> tuple[float, ...]:
    corners = [
        value
        for corner in (stretch.foot, stretch.head)
        for value in (*corner.start, *(corner.arc.end if corner.arc else corner.start))
    ]
    return (stretch.low, stretch.high, stretch.out, *corners)


def gauge_panels(car: Car, stations: Sequence[float], figures: Figures) -> list[Panel]:
    """The gauges of stations, numbered in their order; y out from the centre line and z up, mm."""
    return [
        _gauge(car, half, number, figures)
        for number, station in enumerate(stations, 1)
        for half in halves(car, station)
    ]


def hollow(half: HalfSection) -> tuple[Segment, ...]:
    """The edge of the hollow from the centre line at its foot to the centre line at its top.

    Drawn for a half on the right: y is positive. Tongues that are too narrow to stand are left out.
    """
    segments: list[Segment] = [MoveTo((0.0, half.low))]
    for number, stretch in enumerate(half.stretches):
        gap = stretch.low - half.stretches[number - 1].high if number else math.inf
        if number and gap >= _TONGUE_MM:
            segments += [LineTo((0.0, half.stretches[number - 1].high)), LineTo((0.0, stretch.low))]
        if gap < _TONGUE_MM and stretch.foot.prong:
            # Straight up over a gap that no card goes into.
            segments.append(LineTo((stretch.out, segments[-1].end[1])))
        else:
            segments += stretch.foot.segments
        last = number + 1 == len(half.stretches)
        if not last and half.stretches[number + 1].low - stretch.high < _TONGUE_MM and stretch.head.prong:
            segments.append(LineTo((stretch.out, half.stretches[number + 1].low)))
        else:
            segments += stretch.head.segments
    segments.append(LineTo((0.0, half.high)))
    return tuple(segments)


def _gauge(car: Car, half: HalfSection, number: int, figures: Figures) -> Panel:
    """A card, turned over for the left half so that it reads as it is held from behind."""
    low, high, out = half.low - _CARD_MM, half.high + _CARD_MM, half.out + _CARD_MM
    # The card reaches down to the underside of the blank where that is near, so that heights can be checked.
    if 0.0 < half.low <= 2.5 * _CARD_MM:
        low = min(low, -_OVER_MM)
    edge = hollow(half)
    drawn: list[Item] = [
        Path(edge, Layer.CUT, Pen.CUT),
        polyline(
            ((0.0, half.low), (0.0, low), (out, low), (out, high), (0.0, high), (0.0, half.high)),
            Layer.BLANK,
            Pen.NARROW,
        ),
        line((0.0, low - _OVER_MM), (0.0, high + _OVER_MM), Layer.CENTRE),
    ]
    for below, above in itertools.pairwise(half.stretches):
        drawn.append(line((0.0, below.high), (0.0, above.low), Layer.BLANK, Pen.NARROW))
    if low < 0.0:
        drawn.append(line((-_OVER_MM, 0.0), (out + _OVER_MM, 0.0), Layer.CENTRE, Pen.NARROW))
    items: list[Item] = [Group(Affine.mirror_x(), tuple(drawn))] if half.side < 0 else drawn
    card = Rect(0.0 if half.side > 0 else -out, low, out, high - low)
    items += _inside(car, half, number, card, figures)
    return _titled(half, number, figures, items, card)


def _inside(car: Car, half: HalfSection, number: int, card: Rect, figures: Figures) -> list[Item]:
    """What stays on the card: its name and which way is up, its station, which half, whose it is."""
    name = gauge_name(number)
    start, top = card.x + 1.5, card.top - _CARD_MM / 2 - TITLE_MM / 2
    items: list[Item] = [Text(name, (start, top), TITLE_MM, weight=Weight.BOLD)]
    after = start + text_width_mm(name, TITLE_MM, bold=True) + 3.0
    end = after + 2.0 + text_width_mm("UP", NOTE_MM, bold=True)
    if end + 1.0 < card.right:
        items += _up((after, top))
    else:
        end = after - 3.0
    wall = half.side * (half.out + _CARD_MM / 2)
    # Over the base line where that crosses the card.
    foot = max(card.y, 0.0) if card.y < 0.0 < card.top else card.y
    # And under the name where that reaches over to the wall.
    clear = half.side > 0 and end < wall - 2.0 * SMALL_MM
    roof = card.top if clear else top - 1.0
    room, middle = roof - foot - 2.0, (foot + roof) / 2
    lines = [(_station(half, figures, room), Weight.BOLD), (_which(half), Weight.REGULAR)]
    for k, (words, weight) in enumerate(lines):
        at = (wall - 0.5 * SMALL_MM + k * 1.9 * SMALL_MM, middle)
        items.append(Text(words, at, SMALL_MM, Anchor.MIDDLE, math.pi / 2, weight))
    shown = shorten(paper_name(car.design), SMALL_MM, card.width - 3.0)
    # Clear of the base line.
    foot = half.low - 1.5 - SMALL_MM if half.low > SMALL_MM + 3.0 or card.y >= 0.0 else -1.5 - SMALL_MM
    items.append(Text(shown, (start, foot), SMALL_MM))
    return items


def _station(half: HalfSection, figures: Figures, room: float) -> str:
    """How far the card's station is from the nose, in as many words as go on it."""
    figure = figures.number(half.station)
    words = (f"{figure} from nose end", f"station {figure}", figure)
    fits = (each for each in words if text_width_mm(each, SMALL_MM, bold=True) <= room)
    return next(fits, words[-1])


def _which(half: HalfSection) -> str:
    if half.both:
        return "both halves"
    return "right half" if half.side > 0 else "left half"


def _up(at: Point) -> list[Item]:
    """An arrow up and the word."""
    tip = at[1] + TITLE_MM + 0.4
    return [
        line((at[0], at[1] - 0.4), (at[0], tip), Layer.TEXT, Pen.FRAME),
        polyline(((at[0] - 1.1, tip - 1.8), (at[0], tip), (at[0] + 1.1, tip - 1.8)), Layer.TEXT, Pen.FRAME),
        Text("UP", (at[0] + 2.0, at[1]), NOTE_MM, weight=Weight.BOLD),
    ]


def _titled(half: HalfSection, number: int, figures: Figures, items: Sequence[Item], card: Rect) -> Panel:
    name = gauge_name(number)
    words: list[Item] = [
        Text(f"GAUGE {name}", (card.x, card.top + _OVER_MM + 1.5), TITLE_MM, weight=Weight.BOLD)
    ]
    outside = -1.2 if half.side > 0 else 1.2 + _LINE_NAME_MM
    words.append(Text("centre line", (outside, card.centre[1]), _LINE_NAME_MM, Anchor.MIDDLE, math.pi / 2))
    notes = ["turn it over for the left half" if half.both else f"{_which(half)}, seen from behind"]
    if card.y < 0.0:
        notes.append("level line: base line, the")
        notes.append("underside of the blank")
    else:
        notes.append(f"lowest point {figures.number(half.low)} over")
        notes.append("the underside of the blank")
    for k, note in enumerate(notes):
        at = (card.x, card.y - _OVER_MM - 1.0 - SMALL_MM - k * pitch(SMALL_MM))
        words.append(Text(note, at, SMALL_MM, layer=Layer.DIMENSION))
    suffix = "" if half.both else f" {_which(half)}"
    return panel(f"gauge {name}{suffix}", [*items, *words])
