"""Small templates packed on sheets together, and the order of work beside them or on a sheet of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bodyshop.drawing.layout.frame import MARGIN_MM, content_window
from bodyshop.drawing.layout.tiling import cut_to
from bodyshop.drawing.sheet.items import Item, Sheet
from bodyshop.drawing.sheet.paper import SheetSide, SheetSize
from bodyshop.foundation.text.small_words import listed
from bodyshop.geometry.packing import PackedSheet, pack
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.ordering import (
    PlacedWords,
    Words,
    ends_and_words,
    fitted_words,
    words_alone,
    words_height_mm,
)
from bodyshop.output.papers.templates.view import Panel
from bodyshop.output.papers.templates.views import SheetDrawing, stacked

__all__ = ["with_small"]

_GAP_MM: Final = 8.0
_ORDER: Final = "order of work"
_TOP_MM: Final = 2.0
# Capitals of the words where a roll is cut longer for them.
_ROLL_TEXT_MM: Final = 3.0


def with_small(
    parts: Sequence[SheetDrawing], panels: Sequence[Panel], words: Words, size: SheetSize
) -> list[SheetDrawing]:
    """Large templates, small ones and the order of work, on the fewest sheets that are found.

    Small templates are packed together; a large one that takes a single sheet gives them its room where
    that saves a sheet, or paper off a roll.

    Raises:
        ProblemsError: one would take more sheets than anyone would glue.
    """
    lying = size if size.free is not None else parts[0].planned(size).size
    apart = [*parts, *_nested(panels, words, lying)]
    whole = [part for part in parts if part.planned(size).count == 1]
    if not whole:
        return apart
    joined = [Panel(part.document, tuple(part.content.items), _room(part.content)) for part in whole]
    tiled = [part for part in parts if part not in whole]
    together = [*tiled, *_nested([*joined, *panels], words, lying)]
    return min((apart, together), key=lambda made: _paper(made, size))


def _lowered(room: Rect) -> Rect:
    """A sheet's room less a little at its top, so that no title touches the frame."""
    return Rect(room.x, room.y, room.width, room.height - _TOP_MM)


def _room(content: Sheet) -> Rect:
    return Rect(0.0, 0.0, content.width_mm, content.height_mm)


def _paper(parts: Sequence[SheetDrawing], size: SheetSize) -> tuple[int, float]:
    """Sheets, and how much of a roll is cut off."""
    plans = [part.planned(size) for part in parts]
    area = sum(plan.count * plan.size.width_mm * plan.size.height_mm for plan in plans)
    return sum(plan.count for plan in plans), 0.0 if size.free is None else round(area, 3)


def _nested(panels: Sequence[Panel], words: Words, lying: SheetSize) -> list[SheetDrawing]:
    """Panels and words on the fewest sheets that are found; `lying` is how the sheets lie by preference.

    Panels that are larger than a sheet are joined from tiles by themselves.
    """
    sizes = (lying, lying.turned)
    rooms = [_lowered(content_window(size, MARGIN_MM)) for size in sizes]
    small = [each for each in panels if any(_goes_in(each, room) for room in rooms)]
    large = [SheetDrawing(_called([each]), stacked([each])) for each in panels if each not in small]
    if not small:
        return [*large, SheetDrawing(_ORDER, words_alone(words, rooms[0]))]
    if lying.free is not None:
        return [*large, *_off_a_roll(small, words, sizes)]
    beside = ends_and_words(small, words, rooms)
    if beside is not None:
        return [*large, SheetDrawing(_called(small, _ORDER), beside)]
    packed = pack(_sizes(small), [(room.width, room.height) for room in rooms], _GAP_MM)
    if packed is None:
        # Some go in only one way up, some only the other: each kind by itself.
        upright = [each for each in small if _goes_in(each, rooms[0])]
        others = [each for each in small if each not in upright]
        rest = [part for part in _nested(upright, words, lying) if part.document != _ORDER]
        return [*large, *rest, *_nested(others, words, lying.turned)]
    return [*large, *_sheets(small, words, packed, rooms[0])]


def _sheets(
    panels: Sequence[Panel], words: Words, packed: Sequence[PackedSheet], room: Rect
) -> list[SheetDrawing]:
    """The packed sheets, the words on the one that has best room for them."""
    best: tuple[int, PlacedWords] | None = None
    for number, sheet in enumerate(packed):
        for laid in _beside(words, sheet):
            if best is None or laid.score > best[1].score:
                best = (number, laid)
    parts: list[SheetDrawing] = []
    for number, sheet in enumerate(packed):
        chosen = [panels[k] for k, _ in sheet.places]
        items = _placed(panels, sheet)
        told = best is not None and best[0] == number
        items += best[1].items if best is not None and told else []
        size = sheet.room
        parts.append(SheetDrawing(_called(chosen, _ORDER if told else ""), Sheet(size[0], size[1], items)))
    if best is None:
        parts.append(SheetDrawing(_ORDER, words_alone(words, room)))
    return parts


def _beside(words: Words, sheet: PackedSheet) -> Iterator[PlacedWords]:
    """The words in the free rectangles of a sheet, where they can be read."""
    for rect in sheet.free:
        laid = fitted_words(words, rect)
        if laid is not None:
            yield laid


def _off_a_roll(panels: Sequence[Panel], words: Words, sizes: Sequence[SheetSize]) -> list[SheetDrawing]:
    """As little paper as is found, across the roll or along it."""
    ways: list[tuple[tuple[int, float], list[SheetDrawing]]] = []
    for size in sizes:
        room = _lowered(content_window(size, MARGIN_MM))
        along = 0 if size.free is SheetSide.WIDTH else 1

        def length(used: tuple[float, float], along: int = along) -> float:
            return used[along]

        packed = pack(_sizes(panels), [(room.width, room.height)], _GAP_MM, shorten=length)
        if packed is None:
            continue
        parts = [_cut(panels, words if sheet is packed[-1] else None, sheet, along) for sheet in packed]
        if any(part is None for part in parts):
            parts = [_cut(panels, None, sheet, along) for sheet in packed]
            parts.append(SheetDrawing(_ORDER, words_alone(words, room)))
        made = [part for part in parts if part is not None]
        paper = sum(_length(size, part, along) for part in made) * (size.height_mm, size.width_mm)[along]
        ways.append(((len(made), round(paper, 3)), made))
    return min(ways, key=lambda way: way[0])[1]


def _length(size: SheetSize, part: SheetDrawing, along: int) -> float:
    content = (part.content.width_mm, part.content.height_mm)[along]
    cut = cut_to(size, content)
    return (cut.width_mm, cut.height_mm)[along]


def _cut(panels: Sequence[Panel], words: Words | None, sheet: PackedSheet, along: int) -> SheetDrawing | None:
    """One sheet off a roll with its words, as long as it has to be; None when that is too long."""
    chosen = [panels[k] for k, _ in sheet.places]
    items, used, room = _placed(panels, sheet), sheet.used, sheet.room
    if words is None:
        return _trimmed(_called(chosen), items, used, room)
    # As much of the roll as the panels take anyhow, over its whole width.
    taken = Rect(0.0, 0.0, used[0], room[1])
    inside = taken if along == 0 else Rect(0.0, room[1] - used[1], room[0], used[1])
    best: PlacedWords | None = None
    for rect in sheet.free:
        common = _common(rect, inside)
        laid = None if common is None else fitted_words(words, common, most_mm=_ROLL_TEXT_MM)
        if laid is not None and (best is None or laid.score > best.score):
            best = laid
    if best is None:
        # Below everything, or behind it, over the whole width of the roll.
        if along == 1:
            height = words_height_mm(words, room[0], _ROLL_TEXT_MM)
            rect = Rect(0.0, room[1] - used[1] - _GAP_MM - height, room[0], height)
        else:
            width = next(
                (w for w in range(80, 400, 10) if words_height_mm(words, float(w), _ROLL_TEXT_MM) <= room[1]),
                0,
            )
            rect = Rect(used[0] + 2 * _GAP_MM, 0.0, float(width), room[1])
        if rect.width < 1.0 or rect.y < 0.0 or rect.right > room[0]:
            return None
        best = fitted_words(words, rect, most_mm=_ROLL_TEXT_MM)
        if best is None:
            return None
        used = (room[0], room[1] - rect.y) if along == 1 else (rect.right, room[1])
    low = min(room[1], room[1] - best.rect.y + _TOP_MM)
    reach = (max(used[0], best.rect.right), max(used[1], low))
    return _trimmed(_called(chosen, _ORDER), [*items, *best.items], reach, room)


def _trimmed(
    name: str, items: Sequence[Item], used: tuple[float, float], room: tuple[float, float]
) -> SheetDrawing:
    """Items that reach so far from the top left corner of a room, on a sheet no larger than that."""
    moved = Panel(name, tuple(items), Rect(0.0, room[1] - used[1], used[0], used[1]))
    return SheetDrawing(name, Sheet(used[0], used[1], moved.moved(0.0, used[1] - room[1])))


def _common(one: Rect, other: Rect) -> Rect | None:
    x, y = max(one.x, other.x), max(one.y, other.y)
    width, height = min(one.right, other.right) - x, min(one.top, other.top) - y
    return Rect(x, y, width, height) if width > 0.0 and height > 0.0 else None


def _placed(panels: Sequence[Panel], sheet: PackedSheet) -> list[Item]:
    items: list[Item] = []
    for number, rect in sheet.places:
        room = panels[number].room
        items += panels[number].moved(rect.x - room.x, rect.y - room.y)
    return items


def _sizes(panels: Sequence[Panel]) -> list[tuple[float, float]]:
    return [(each.room.width, each.room.height) for each in panels]


def _goes_in(panel: Panel, room: Rect) -> bool:
    return panel.room.width <= room.width + 1e-6 and panel.room.height <= room.height + 1e-6


def _called(panels: Sequence[Panel], more: str = "") -> str:
    """What a sheet is called: by all that is on it, those of a kind together."""
    names = list(dict.fromkeys(each.name for each in panels))
    for one, many, before in ((" axle guide", "axle guides", ""), ("gauge ", "gauges", "gauge ")):
        alike = [name for name in names if (name.startswith(one) if before else name.endswith(one))]
        if len(alike) > 1:
            numbers = " ".join(sorted((name.removeprefix(before) for name in alike), key=_natural))
            at = names.index(alike[0])
            names = [name for name in names if name not in alike]
            names.insert(at, f"{many} {numbers}" if before else many)
    names += [more] if more else []
    return listed(names)


def _natural(name: str) -> tuple[int, str]:
    return len(name), name
