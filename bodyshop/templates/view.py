"""What side and plan templates share: blank, stations, edge names, and words inside the blank."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import shapely

from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.extent import bounds
from bodyshop.drawing.items import Anchor, Group, Item, Rect, Text, Weight
from bodyshop.drawing.lettering import shorten, text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import line, polygon
from bodyshop.templates.figures import Figures
from bodyshop.templates.spots import Spots
from bodyshop.templates.waste import hatched_area, waste_parts

__all__ = [
    "NOTE_MM",
    "RULER_MM",
    "SEAM_MM",
    "TITLE_MM",
    "Panel",
    "Setting",
    "edge_name",
    "label_blank",
    "nose_arrow",
    "panel",
    "pitch",
    "stations",
    "title_row",
]

NOTE_MM = 2.5
"""Height of capitals in notes and figures."""
TITLE_MM = 3.5
"""Height of capitals in a template's name."""

_SMALL_MM = 2.2
_PITCH = 1.75
RULER_MM = 8.0
"""From the blank's edge, over its stations and their numbers, to the foot of the words above."""
SEAM_MM = 1.5
"""How far words keep from a seam."""
# The most of a blank's length that its template's name may take.
_IDENTITY = 0.4
_TICK_MM, _SHORT_TICK_MM = 2.2, 1.1


@dataclass(frozen=True, slots=True)
class Setting:
    """What every template of a set is drawn with.

    `seams` are the x at which sheets will be joined: no word is put across one where that can be helped.
    """

    figures: Figures
    name: str
    fingerprint: str
    fails: bool = False
    seams: tuple[float, ...] = ()

    def identity(self, view: str) -> str:
        """Whose template it is, and for which face."""
        return f"{self.name} · {view} · {self.fingerprint}"


@dataclass(frozen=True, slots=True)
class Panel:
    """One template: its items in its own coordinates, and the rectangle that holds them."""

    name: str
    items: tuple[Item, ...]
    room: Rect

    def moved(self, dx: float, dy: float) -> list[Item]:
        """The items shifted, each by itself so that tiles can leave out what they do not show."""
        move = Affine.move(dx, dy)
        return [Group(move, (item,)) for item in self.items]


def panel(name: str, items: Iterable[Item]) -> Panel:
    """A panel just large enough for its items."""
    held = tuple(items)
    room = bounds(held)
    return Panel(name, held, room if room is not None else Rect(0.0, 0.0, 0.0, 0.0))


def pitch(height_mm: float = NOTE_MM) -> float:
    """Between baselines of notes set close together."""
    return _PITCH * height_mm


def title_row(
    name: str, where: str, figures: Figures, length: float, top: Callable[[float, float], float]
) -> list[Item]:
    """A template's name and what to do with it over its nose, and the unit of figures over its tail.

    `top` gives the highest of the drawing below between two x.
    """
    width = text_width_mm(name, TITLE_MM, bold=True)
    after = width + 3.0
    note = text_width_mm(figures.note, _SMALL_MM)
    where = shorten(where, NOTE_MM, max(length - note - 6.0 - after, 60.0))
    end = after + text_width_mm(where, NOTE_MM)
    base = top(0.0, min(end, length)) + RULER_MM
    items: list[Item] = [
        Text(name, (0.0, base), TITLE_MM, weight=Weight.BOLD),
        Text(where, (after, base), NOTE_MM),
    ]
    if end + 6.0 < length - note:
        at = (length, top(length - note, length) + RULER_MM)
        items.append(Text(figures.note, at, _SMALL_MM, Anchor.END))
    return items


def stations(upper: tuple[Point, Point], lower: tuple[Point, Point], figures: Figures) -> list[Item]:
    """Ticks along both long edges of the blank, the numbers over the upper edge.

    Each edge is given by its nose end, at x = 0, and its tail end.
    """
    items: list[Item] = []
    length = upper[1][0] - upper[0][0]
    step = figures.station_step_mm / figures.station_parts

    def level(edge: tuple[Point, Point], x: float) -> float:
        (x0, y0), (x1, y1) = edge
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    for k in range(int(length / step + 1e-6) + 1):
        x = k * step
        numbered = k % figures.station_parts == 0
        tick = _TICK_MM if numbered else _SHORT_TICK_MM
        top, foot = level(upper, x), level(lower, x)
        items.append(line((x, top), (x, top + tick), Layer.DIMENSION))
        items.append(line((x, foot), (x, foot - tick / 2), Layer.DIMENSION))
        if numbered:
            words = figures.station(k // figures.station_parts)
            at = (x, top + _TICK_MM + 0.7)
            items.append(Text(words, at, _SMALL_MM, Anchor.MIDDLE, layer=Layer.DIMENSION))
    return items


def edge_name(words: str, at: Point, *, upright: bool = False, nose: bool = False) -> Text:
    """The name of a datum edge, centred at `at`: below a level edge, or outside an upright one."""
    quarter = 1.5707963267948966 if upright else 0.0
    if upright:
        x = at[0] - 1.8 if nose else at[0] + 1.8 + _SMALL_MM
        return Text(words, (x, at[1]), _SMALL_MM, Anchor.MIDDLE, quarter, Weight.BOLD)
    return Text(words, (at[0], at[1] - 1.6 - _SMALL_MM), _SMALL_MM, Anchor.MIDDLE, weight=Weight.BOLD)


_ARROW = (18.0, 6.0)
_NOSE_MM = 3.0


def nose_arrow(rect: Rect) -> list[Item]:
    """A broad arrow that points to the nose, and the word; fills `rect`."""
    middle, half = rect.centre[1], rect.height / 2
    tip, neck, end = rect.x, rect.x + 1.1 * half * 2, rect.x + _ARROW[0]
    shaft = 0.42 * half
    corners = (
        (tip, middle),
        (neck, middle + half),
        (neck, middle + shaft),
        (end, middle + shaft),
        (end, middle - shaft),
        (neck, middle - shaft),
        (neck, middle - half),
    )
    word = Text("NOSE", (end + 2.0, middle - _NOSE_MM / 2), _NOSE_MM, weight=Weight.BOLD)
    return [polygon(corners, Layer.TEXT, Pen.FRAME), word]


def _arrow_size() -> tuple[float, float]:
    return (_ARROW[0] + 2.0 + text_width_mm("NOSE", _NOSE_MM, bold=True), _ARROW[1])


def label_blank(
    blank: shapely.Polygon,
    car: shapely.Geometry,
    ink: Sequence[shapely.Geometry],
    setting: Setting,
    view: str,
    extra: Sequence[tuple[str, Point]] = (),
) -> list[Item]:
    """Words that stay with the paper once it is cut out: nose, whose template it is, which part is waste.

    `extra` are more words, each with the place it is wanted at.

    A failing car's template says so here too, over everything else if it must.
    """
    edges = shapely.union_all([part.boundary for part in shapely.get_parts(car)])
    hatched = hatched_area(blank, car)
    x0, y0, x1, y1 = blank.bounds
    seams = [shapely.box(x - SEAM_MM, y0, x + SEAM_MM, y1) for x in setting.seams]
    spots = Spots(blank, [edges, *seams, *ink])
    items: list[Item] = []
    if setting.fails:
        items += _failing(spots, blank)
    waste = waste_parts(blank, car)
    named = [_waste_word(spots, part, part.difference(hatched)) for part in waste]
    spots.block(hatched)
    arrow = spots.place(*_arrow_size(), (x0 + 24.0, y0 + 0.8 * (y1 - y0)))
    if arrow is not None:
        items += nose_arrow(arrow)
    items += [word for word in named if word is not None]
    for height in (NOTE_MM, 2.0):
        words = shorten(setting.identity(view), height, _IDENTITY * (x1 - x0))
        rect = spots.place(text_width_mm(words, height), height, ((x0 + x1) / 2, (y0 + y1) / 2))
        if rect is not None:
            items.append(Text(words, (rect.x, rect.y), height, clear=True))
            break
    for words, wanted in extra:
        rect = spots.place(text_width_mm(words, _SMALL_MM), _SMALL_MM, wanted)
        if rect is not None:
            items.append(Text(words, (rect.x, rect.y), _SMALL_MM, layer=Layer.DIMENSION))
    return items


def _waste_word(spots: Spots, part: shapely.Polygon, plain: shapely.Geometry) -> Text | None:
    """The word in a piece of waste, off the hatching where there is room."""
    size = (text_width_mm("WASTE", NOTE_MM), NOTE_MM)
    middle = part.representative_point()
    rect = spots.place(*size, (middle.x, middle.y), plain) or spots.place(*size, (middle.x, middle.y), part)
    return None if rect is None else Text("WASTE", (rect.x, rect.y), NOTE_MM, clear=True)


def _failing(spots: Spots, blank: shapely.Polygon) -> list[Item]:
    words = "FAILS – do not cut"
    x0, y0, x1, y1 = blank.bounds
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    heights = (6.0, 5.0, 4.0, 3.0)
    sizes = [(text_width_mm(words, height, bold=True) + 4.0, height + 3.0) for height in heights]
    found = spots.first(sizes, middle)
    if found is None:
        height = min(6.0, 0.2 * (y1 - y0))
        at = (middle[0], middle[1] - height / 2)
        return [Text(words, at, height, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION, clear=True)]
    number, rect = found
    corners = ((rect.x, rect.y), (rect.right, rect.y), (rect.right, rect.top), (rect.x, rect.top))
    at = (rect.x + 2.0, rect.y + 1.5)
    return [
        polygon(corners, Layer.CAUTION, Pen.HEAVY, 1.0),
        Text(words, at, heights[number], weight=Weight.BOLD, layer=Layer.CAUTION),
    ]
