"""Packing upright rectangles on as few sheets as can be found, the same way every time.

Each sheet keeps the list of its largest free rectangles (every free rectangle lies in one of them), as in
the maximal-rectangles way of packing. Rectangles are not turned: they carry words. Several orders and
rules are tried, and the result with the fewest sheets is kept; of those, the one that leaves the largest
free rectangle on its last sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.geometry.paths import Rect

__all__ = ["PackedSheet", "pack"]

Size = tuple[float, float]

_SLACK_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class PackedSheet:
    """What goes on one sheet: the room, and where each rectangle lies in it, by its number.

    `free` are the largest rectangles left free, `gap_mm` away from what is placed.
    """

    room: Size
    places: tuple[tuple[int, Rect], ...]
    free: tuple[Rect, ...]

    @property
    def used(self) -> Size:
        """How far from the top left corner the rectangles reach, to the right and down."""
        right = max((rect.right for _, rect in self.places), default=0.0)
        low = min((rect.y for _, rect in self.places), default=self.room[1])
        return right, self.room[1] - low


# Inside, y runs down from the top edge: (x, y, width, height).
_Box = tuple[float, float, float, float]
_Rule = Callable[[_Box, Size], tuple[float, ...]]

_ORDERS: Final[Sequence[Callable[[Size], tuple[float, ...]]]] = (
    lambda size: (-size[1], -size[0]),
    lambda size: (-size[0], -size[1]),
    lambda size: (-size[0] * size[1],),
    lambda size: (-max(size), -min(size)),
)


def _down(box: _Box, _: Size) -> tuple[float, ...]:
    return box[1], box[0]


def _across(box: _Box, _: Size) -> tuple[float, ...]:
    return box[0], box[1]


_RULES: Final[Sequence[_Rule]] = (
    _down,
    _across,
    lambda box, size: (min(box[2] - size[0], box[3] - size[1]), box[1], box[0]),
    lambda box, size: (box[2] * box[3] - size[0] * size[1], box[1], box[0]),
)


def pack(
    sizes: Sequence[Size],
    rooms: Sequence[Size],
    gap_mm: float,
    *,
    shorten: Callable[[Size], float] | None = None,
) -> list[PackedSheet] | None:
    """Rectangles on sheets of one of the rooms; None when one is larger than every room.

    Args:
        sizes: width and height of each rectangle, mm.
        rooms: the room of a sheet, one for each way that it can lie; the first goes before the others.
        gap_mm: kept between rectangles.
        shorten: for paper from a roll: what a sheet costs that reaches so far right and down; the least
            sum of it is looked for once the number of sheets is settled.

    >>> sheets = pack([(100, 60), (100, 60), (190, 250)], [(190, 277)], gap_mm=5)
    >>> len(sheets)
    2
    """
    best: list[PackedSheet] | None = None
    best_score: tuple[float, ...] = ()
    for room in rooms:
        for order in _ORDERS:
            ranked = sorted(range(len(sizes)), key=lambda k: (*order(sizes[k]), k))
            for rule in _RULES:
                packed = _packed(sizes, ranked, room, gap_mm, rule)
                if packed is None:
                    continue
                cost = 0.0 if shorten is None else sum(shorten(sheet.used) for sheet in packed)
                left = max((box.width * box.height for box in packed[-1].free), default=0.0)
                score = (len(packed), round(cost, 3), -round(left, 3))
                if best is None or score < best_score:
                    best, best_score = packed, score
    return best


def _packed(
    sizes: Sequence[Size], ranked: Iterable[int], room: Size, gap: float, rule: _Rule
) -> list[PackedSheet] | None:
    """One try: each rectangle on the first sheet that has room for it."""
    # A gap to the right of and below everything, the sheet's edge too, keeps rectangles apart.
    whole: _Box = (0.0, 0.0, room[0] + gap, room[1] + gap)
    free: list[list[_Box]] = []
    places: list[list[tuple[int, _Box]]] = []
    for number in ranked:
        size = (sizes[number][0] + gap, sizes[number][1] + gap)
        points = ((sheet, _free_box(boxes, size, rule)) for sheet, boxes in enumerate([*free, [whole]]))
        sheet, point = next(((sheet, point) for sheet, point in points if point is not None), (0, None))
        if point is None:
            return None
        if sheet == len(free):
            free.append([whole])
            places.append([])
        taken = (point[0], point[1], *size)
        free[sheet] = _without(free[sheet], taken)
        places[sheet].append((number, taken))
    return [
        PackedSheet(
            room,
            tuple(sorted((number, _rect(box, room, gap)) for number, box in placed)),
            tuple(_rect(box, room, gap) for box in boxes if box[2] > gap and box[3] > gap),
        )
        for placed, boxes in zip(places, free, strict=True)
    ]


def _free_box(boxes: Sequence[_Box], size: Size, rule: _Rule) -> _Box | None:
    fitting = [box for box in boxes if size[0] <= box[2] + _SLACK_MM and size[1] <= box[3] + _SLACK_MM]
    return min(fitting, key=lambda box: (*rule(box, size), box), default=None)


def _without(boxes: Sequence[_Box], taken: _Box) -> list[_Box]:
    """The largest free rectangles once another is taken."""
    x, y, width, height = taken
    cut: list[_Box] = []
    for box in boxes:
        left, top, wide, high = box
        right, low = left + wide, top + high
        if x >= right or x + width <= left or y >= low or y + height <= top:
            cut.append(box)
            continue
        cut += [
            (left, top, x - left, high),
            (x + width, top, right - x - width, high),
            (left, top, wide, y - top),
            (left, y + height, wide, low - y - height),
        ]
    kept = sorted({box for box in cut if box[2] > _SLACK_MM and box[3] > _SLACK_MM})
    return [box for box in kept if not any(other != box and _holds(other, box) for other in kept)]


def _holds(outer: _Box, inner: _Box) -> bool:
    return (
        outer[0] <= inner[0]
        and outer[1] <= inner[1]
        and outer[0] + outer[2] >= inner[0] + inner[2]
        and outer[1] + outer[3] >= inner[1] + inner[3]
    )


def _rect(box: _Box, room: Size, gap: float) -> Rect:
    """A box less the gap at its right and foot, with y up from the room's lower edge."""
    width, height = box[2] - gap, box[3] - gap
    return Rect(box[0], room[1] - box[1] - height, width, height)
