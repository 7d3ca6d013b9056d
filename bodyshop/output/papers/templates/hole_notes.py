"""The hidden bore in the side view, and the notes and dimensions that stand below a view."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bodyshop.car.body.holes import BoreHole
from bodyshop.drawing.layout.blocks import paragraph
from bodyshop.drawing.layout.dimensions import Figures, dimension, spread
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import line, polyline
from bodyshop.geometry.affine import Point
from bodyshop.output.papers.templates.labels import LabelRequest
from bodyshop.output.papers.templates.view import NOTE_MM, SEAM_MM, pitch

__all__ = [
    "HoleNote",
    "LevelDimension",
    "bore_corners",
    "dimension_rows",
    "drilled_mm",
    "free_stretch",
    "hidden_bore",
    "hole_notes",
    "words_outside",
]


# Less wood than this between the mouth and the tail end of the blank is none.
_NO_WASTE_MM = 0.005


def bore_corners(bore: BoreHole, length_mm: float) -> tuple[Point, Point, Point, Point]:
    """The bore in the side view as it is drilled: from the blank's tail end to its blind end.

    Order: blind end low, tail end low, tail end high, blind end high.
    """
    cos, sin = math.cos(bore.tilt), math.sin(bore.tilt)
    end = max(length_mm, bore.x)
    blind_low, blind_high = bore.point(bore.depth, -bore.radius), bore.point(bore.depth, bore.radius)

    def at_end(up: float) -> Point:
        along = (bore.x - end + up * sin) / cos
        return bore.point(along, up)

    return blind_low, at_end(-bore.radius), at_end(bore.radius), blind_high


def drilled_mm(bore: BoreHole, length_mm: float) -> float:
    """How deep the bit goes in from the tail end of the blank, along the bore, mm."""
    return bore.depth + (max(length_mm, bore.x) - bore.x) / math.cos(bore.tilt)


def hidden_bore(bore: BoreHole, length: float, figures: Figures) -> list[Item]:
    """The bore in the side view: hidden edges, centre line, and its words where they go into it."""
    low_blind, low_end, high_end, high_blind = bore_corners(bore, length)
    axis_end = ((low_end[0] + high_end[0]) / 2, (low_end[1] + high_end[1]) / 2)
    items: list[Item] = [
        polyline((low_end, low_blind, high_blind, high_end), Layer.HIDDEN),
        line(bore.point(bore.depth + 5.0), axis_end, Layer.CENTRE),
    ]
    lines, middle = _words(bore, length, figures), bore.point(bore.depth / 2)
    if _fit(bore, length, figures):
        ups = (1.2, -1.2 - NOTE_MM, -1.2 - 2.5 * NOTE_MM)
        for words, up in zip(lines, ups, strict=False):
            at = (middle[0], middle[1] + up)
            items.append(Text(words, at, NOTE_MM, Anchor.MIDDLE, layer=Layer.DIMENSION))
    return items


def _words(bore: BoreHole, length: float, figures: Figures) -> tuple[str, ...]:
    """Its size, its depth in the car and, where the tail of the blank is waste, what has to be drilled."""
    angle = f", tilted {abs(math.degrees(bore.tilt)):.1f}°" if bore.tilt else ""
    words = (
        f"bore Ø {figures.number(2 * bore.radius)}",
        f"{figures.number(bore.depth)} deep in the car{angle}",
    )
    drilled = drilled_mm(bore, length)
    if drilled - bore.depth < _NO_WASTE_MM:
        return words
    return (*words, f"drill {figures.number(drilled)} from tail end")


def _fit(bore: BoreHole, length: float, figures: Figures) -> bool:
    """Whether the bore's words go into it, over and under its centre line."""
    lines = _words(bore, length, figures)
    widest = max(text_width_mm(words, NOTE_MM) for words in lines)
    deep = NOTE_MM + 2.4 if len(lines) < 3 else 2.5 * NOTE_MM + 2.4
    return not bore.tilt and bore.radius > deep and widest < bore.depth - 3.0


def words_outside(bore: BoreHole, length: float, figures: Figures) -> list[LabelRequest]:
    """The bore's words over it, where they do not go into it."""
    if _fit(bore, length, figures):
        return []
    blind, middle = bore.point(bore.depth), bore.point(bore.depth / 2)
    over = max(blind[1], middle[1]) + bore.radius + 3.0
    return [LabelRequest(", ".join(_words(bore, length, figures)), (middle[0], over))]


_BEND_FROM_MM, _BEND_MM = 5.0, 4.5
_GAP_MM = 3.0
_STEM_GAP_MM = 1.2
# A stem bent farther than this no longer looks as if it belonged to its hole.
_FAR_MM = 55.0
_OFF_SEAM_MM = 1.5
_OFF_LINE_MM = 1.0
_CLEAR_LIFT_MM = 1.7
_ROW_MM = 6.0
_LIFT_MM = 0.9
_NUMBER_PITCH_MM = 5.0


@dataclass(frozen=True, slots=True)
class HoleNote:
    """What is said of a hole: its place on the drawing, the top of its stem, and lines, the first its name.

    `minor` ones are only numbered, and listed together, when there is no room for all.
    """

    x: float
    stem_from: float
    lines: tuple[str, ...]
    minor: bool = False

    @property
    def width_mm(self) -> float:
        """Width of its longest line, with the stem's gap."""
        first, *rest = self.lines
        widths = [text_width_mm(first, NOTE_MM, bold=True), *(text_width_mm(line, NOTE_MM) for line in rest)]
        return _STEM_GAP_MM + max(widths)


def hole_notes(
    notes: Sequence[HoleNote], top: float, ends: tuple[float, float], seams: Sequence[float] = ()
) -> list[Item]:
    """Notes below the level `top`, between two ends in x, each to the right of the foot of its stem."""
    ordered = sorted(notes, key=lambda note: note.x)
    crowd = [note for note in ordered if note.minor]
    if crowd and _needed(ordered) > ends[1] - ends[0]:
        return _with_list(ordered, crowd, top, ends, seams)
    return _hung(ordered, top, ends, seams)


def _needed(notes: Sequence[HoleNote]) -> float:
    return sum(note.width_mm for note in notes) + _GAP_MM * (len(notes) - 1)


def _hung(
    notes: Sequence[HoleNote], top: float, ends: tuple[float, float], seams: Sequence[float]
) -> list[Item]:
    items: list[Item] = []
    bend = top - _BEND_FROM_MM
    foot = bend - _BEND_MM
    for note, x in zip(notes, _places(notes, ends, seams), strict=True):
        low = foot - NOTE_MM - (len(note.lines) - 1) * pitch()
        points = [(note.x, note.stem_from), (note.x, bend), (x, foot), (x, low)]
        if abs(x - note.x) < 1e-6:
            points = [points[0], points[-1]]
        items.append(polyline(points, Layer.DIMENSION))
        for k, words in enumerate(note.lines):
            weight = Weight.REGULAR if k else Weight.BOLD
            at = (x + _STEM_GAP_MM, foot - NOTE_MM - k * pitch())
            items.append(Text(words, at, NOTE_MM, weight=weight, layer=Layer.DIMENSION))
    return items


def _places(notes: Sequence[HoleNote], ends: tuple[float, float], seams: Sequence[float]) -> list[float]:
    """Stems as near under their holes as notes side by side allow, none beyond the ends if they fit.

    Notes keep off the strip at a seam, or at least off the seam where that would take them far away.
    """
    places = _placed(notes, ends, [(seam - SEAM_MM, seam + SEAM_MM) for seam in seams])
    if any(abs(place - note.x) > _FAR_MM for note, place in zip(notes, places, strict=True)):
        places = _placed(notes, ends, [(seam - _OFF_SEAM_MM, seam + _OFF_SEAM_MM) for seam in seams])
    return places


def _placed(
    notes: Sequence[HoleNote], ends: tuple[float, float], strips: Sequence[tuple[float, float]]
) -> list[float]:
    places: list[float] = []
    low, high = ends
    for note in notes:
        low = max(low, note.x)
        for start, end in strips:
            if low < end and low + note.width_mm > start:
                low = end
        places.append(low)
        low += note.width_mm + _GAP_MM
    for k in range(len(notes) - 1, -1, -1):
        places[k] = min(places[k], high - notes[k].width_mm)
        high = places[k] - _GAP_MM
    return places


def _with_list(
    notes: Sequence[HoleNote],
    crowd: Sequence[HoleNote],
    top: float,
    ends: tuple[float, float],
    seams: Sequence[float],
) -> list[Item]:
    """Numbers under the minor holes, the others hung as ever, and a list below them."""
    items = _hung([note for note in notes if not note.minor], top, ends, seams)
    number_at = top - 2.6 * NOTE_MM
    for k, place in enumerate(spread([note.x for note in crowd], _NUMBER_PITCH_MM)):
        note = crowd[k]
        items.append(
            polyline(((note.x, note.stem_from), (note.x, top - 1.5), (place, number_at + NOTE_MM + 0.6)),
                     Layer.DIMENSION)
        )  # fmt: skip
        items.append(Text(str(k + 1), (place, number_at), NOTE_MM, Anchor.MIDDLE, layer=Layer.DIMENSION))
    most = max((len(note.lines) for note in notes if not note.minor), default=0)
    list_top = top - _BEND_FROM_MM - _BEND_MM - most * pitch() - 2.0
    entries = [f"{k}  {', '.join(note.lines[1:])}" for k, note in enumerate(crowd, 1)]
    words = f"screw eyes:  {';  '.join(entries)}"
    items += paragraph(words, (ends[0], list_top), ends[1] - ends[0], NOTE_MM, layer=Layer.DIMENSION).items
    return items


@dataclass(frozen=True, slots=True)
class LevelDimension:
    """A level dimension: its two features, and its words."""

    start: Point
    end: Point
    words: str

    @property
    def length(self) -> float:
        """How far apart along x, mm."""
        return abs(self.end[0] - self.start[0])


def dimension_rows(spans: Sequence[LevelDimension], top: float, seams: Sequence[float] = ()) -> list[Item]:
    """Dimensions below the level `top`, the short ones nearest, none over another in its row."""
    rows: list[list[tuple[float, float]]] = []
    items: list[Item] = []
    figures: list[Item] = []
    for span in sorted(spans, key=lambda s: (round(s.length, 6), s.start)):
        if span.length < 0.5:
            continue
        low, high = sorted((span.start[0], span.end[0]))
        width = text_width_mm(span.words, NOTE_MM)
        if width > span.length - 1.0:
            high += width + 8.0
        row = next(
            (k for k, taken in enumerate(rows) if all(high + 1.0 < a or low - 1.0 > b for a, b in taken)),
            len(rows),
        )
        if row == len(rows):
            rows.append([])
        rows[row].append((low, high))
        level = top - _ROW_MM * (row + 1)
        lowest = min(span.start[1], span.end[1])
        crossing = [x for other in spans if other is not span for x in (other.start[0], other.end[0])]
        aside = _aside(span, width, seams, crossing)
        drawn = dimension(span.start, span.end, span.words if aside is None else "", level - lowest, 0.0)
        items += [item for item in drawn if not isinstance(item, Text) or item.text]
        if aside is not None:
            x, blocked = aside
            at = (x, level + (_CLEAR_LIFT_MM if blocked else _LIFT_MM))
            figures.append(Text(span.words, at, NOTE_MM, Anchor.MIDDLE, layer=Layer.DIMENSION, clear=blocked))
    return [*items, *figures]


def _aside(
    span: LevelDimension, width: float, seams: Sequence[float], crossing: Sequence[float]
) -> tuple[float, bool] | None:
    """Where the figure goes when its dimension's middle lies on a seam or on a line of another dimension, and
    whether there too a line runs through it; None where the middle is free or the figure goes beside.
    """
    low, high = sorted((span.start[0], span.end[0]))
    middle = (low + high) / 2
    taken = [(x, width / 2 + SEAM_MM) for x in seams]
    taken += [(x, width / 2 + _OFF_LINE_MM) for x in crossing if low + 0.1 < x < high - 0.1]
    ends = (low + width / 2 + _OFF_LINE_MM, high - width / 2 - _OFF_LINE_MM)
    if ends[0] > ends[1] or all(abs(x - middle) >= reach for x, reach in taken):
        return None
    places = [x + side * reach for x, reach in taken for side in (-1, 1)]
    free = [
        place
        for place in places
        if ends[0] <= place <= ends[1] and all(abs(x - place) >= reach - 1e-9 for x, reach in taken)
    ]
    best = min(free, key=lambda x: (round(abs(x - middle), 6), x), default=None)
    return (middle, True) if best is None else (best, False)


def free_stretch(low: float, high: float, taken: Sequence[float]) -> tuple[float, float]:
    """The middle and the length of the widest stretch between `low` and `high` without a stem."""
    marks = [low, *sorted(x for x in taken if low < x < high), high]
    gap, middle = max((b - a, (a + b) / 2) for a, b in itertools.pairwise(marks))
    return middle, gap
