"""The sheet beside the templates: both ends of the blank, what fails, the order of work, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bodyshop.drawing.blocks import numbered_list, paragraph, text_block_height_mm, text_lines
from bodyshop.drawing.items import Item, Rect, Sheet, Weight
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import rectangle
from bodyshop.templates.stamp import VerdictStamp
from bodyshop.templates.view import Panel

__all__ = ["Words", "ends_alone", "ends_and_words", "words_alone"]

_SIZES_MM = (4.5, 4.2, 3.9, 3.7, 3.5, 3.2, 3.0, 2.8, 2.6, 2.4, 2.2, 2.0, 1.8)
_GAP_MM = 8.0
# Between the frame and the first words.
_TOP_MM = 3.0
# Between paragraphs, in heights of capitals.
_APART = 1.1
# Fewer findings rather than smaller letters: the report of the check has them all.
_FINDINGS = (8, 6, 4, 2)
_LONGEST = 200
_READABLE_MM, _GOOD_MM = 2.2, 2.5
# Narrower columns than this hold too few words a line.
_LEAST_COLUMN_MM = 78.0


@dataclass(frozen=True, slots=True)
class Words:
    """What is said beside the ends."""

    stamp: VerdictStamp
    steps: Sequence[str]
    cautions: Sequence[str]


@dataclass(frozen=True, slots=True)
class _Laid:
    """Words laid out, in what size, and how many findings are among them."""

    items: list[Item]
    size: float
    findings: int


def ends_and_words(panels: Sequence[Panel], words: Words, rooms: Sequence[Rect]) -> Sheet | None:
    """Panels and words on one sheet of the better of the rooms; None when they do not go in together.

    What has to be readable goes first: letters up to `_GOOD_MM`, then findings, then panels (the last
    ones may be left out), then larger letters. The first room that has it all is taken.
    """
    best: Sheet | None = None
    best_score: tuple[float, int, int, float] | None = None
    enough = (_GOOD_MM, min(_FINDINGS[0], len(words.stamp.lines)), len(panels))
    for room in rooms:
        for count in range(len(panels), 0, -1):
            laid = _both(panels[:count], words, room)
            if laid is None:
                continue
            sheet, text = laid
            score = (min(text.size, _GOOD_MM), text.findings, count, text.size)
            if best_score is None or score > best_score:
                best, best_score = sheet, score
            if score[:3] == enough:
                return best
    return best


def _both(panels: Sequence[Panel], words: Words, room: Rect) -> tuple[Sheet, _Laid] | None:
    wide = room.width > 1.1 * room.height
    placed = _stacked(panels, room) if wide else _abreast(panels, room)
    if placed is None:
        return None
    items, taken = placed
    if wide:
        left = taken.width + 2 * _GAP_MM
        rest = Rect(left, 0.0, room.width - left, room.height)
    else:
        rest = Rect(0.0, 0.0, room.width, room.height - taken.height - _GAP_MM)
    if rest.width < _LEAST_COLUMN_MM:
        return None
    text = _fitted(words, rest)
    if text is None:
        return None
    return Sheet(room.width, room.height, (*items, *text.items)), text


def ends_alone(panels: Sequence[Panel], room: Rect) -> Sheet | None:
    """Panels by themselves; None when they do not go on one sheet."""
    placed = _abreast(panels, room)
    return None if placed is None else Sheet(room.width, room.height, placed[0])


def words_alone(words: Words, room: Rect) -> Sheet:
    """Words on a sheet of their own, in the largest letters that go in."""
    whole = Rect(0.0, 0.0, room.width, room.height)
    text = _fitted(words, whole)
    items = _laid(words, whole, _SIZES_MM[-1], _FINDINGS[-1])[0] if text is None else text.items
    return Sheet(room.width, room.height, items)


def _abreast(panels: Sequence[Panel], room: Rect) -> tuple[list[Item], Rect] | None:
    """Panels side by side along the top, spread over the width, their lower edges' views level."""
    width = sum(p.room.width for p in panels)
    height = max(p.room.top for p in panels) - min(p.room.y for p in panels)
    if width + _GAP_MM * (len(panels) - 1) > room.width or height + _TOP_MM > room.height:
        return None
    gap = (room.width - width) / (len(panels) + 1)
    foot = room.height - _TOP_MM - height - min(p.room.y for p in panels)
    items: list[Item] = []
    x = gap
    for each in panels:
        items += each.moved(x - each.room.x, foot)
        x += each.room.width + gap
    return items, Rect(0.0, room.height - height, room.width, height + _TOP_MM)


def _stacked(panels: Sequence[Panel], room: Rect) -> tuple[list[Item], Rect] | None:
    """Panels one below the other at the left; side by side when they are too high for that."""
    height = sum(p.room.height for p in panels) + _GAP_MM * (len(panels) - 1)
    width = max(p.room.width for p in panels)
    left = min(p.room.x for p in panels)
    if height > room.height:
        width = sum(p.room.width for p in panels) + _GAP_MM * (len(panels) - 1)
        return _abreast(panels, Rect(0.0, 0.0, width, room.height)) if width < 0.6 * room.width else None
    items: list[Item] = []
    top = room.height - (room.height - height) / 2
    for each in panels:
        items += each.moved(-left, top - each.room.top)
        top -= each.room.height + _GAP_MM
    return items, Rect(0.0, 0.0, width, room.height)


def _fitted(words: Words, rect: Rect) -> _Laid | None:
    """The words in the largest letters that go in, with as many findings as stay readable."""
    told = len(words.stamp.lines)
    readable = [size for size in _SIZES_MM if size >= _READABLE_MM]
    tries = [(readable, most) for most in _FINDINGS] if told else [(readable, 0)]
    for sizes, most in [*tries, (_SIZES_MM, _FINDINGS[-1])]:
        size = _largest(words, rect, sizes, most)
        if size is not None:
            return _Laid(_laid(words, rect, size, most)[0], size, min(most, told))
    return None


def _largest(words: Words, rect: Rect, sizes: Sequence[float], most: int) -> float | None:
    """The first of the sizes, large to small, in which the words go in; found by halving."""
    low, high = 0, len(sizes)
    while low < high:
        middle = (low + high) // 2
        if _laid(words, rect, sizes[middle], most)[1] <= rect.height:
            high = middle
        else:
            low = middle + 1
    return sizes[low] if low < len(sizes) else None


def _laid(words: Words, rect: Rect, size: float, most: int) -> tuple[list[Item], float]:
    """The words from the top of a rectangle down, and the height they take."""
    items: list[Item] = []
    top = rect.top - _TOP_MM
    if words.stamp.lines:
        box, height = _findings(words.stamp, Rect(rect.x, rect.y, rect.width, top - rect.y), size, most)
        items += box
        top -= height + 1.6 * size
    gap = 2.6 * size
    if rect.width >= 2 * _LEAST_COLUMN_MM + gap:
        column = (rect.width - gap) / 2
        steps, left_height = _steps(words, rect.x, top, column, size)
        cautions, right_height = _cautions(words, rect.x + column + gap, top, column, size)
        return [*items, *steps, *cautions], rect.top - top + max(left_height, right_height)
    steps, left_height = _steps(words, rect.x, top, rect.width, size)
    below = top - left_height - 1.8 * size
    cautions, right_height = _cautions(words, rect.x, below, rect.width, size)
    return [*items, *steps, *cautions], rect.top - below + right_height


def _steps(words: Words, x: float, top: float, width: float, size: float) -> tuple[list[Item], float]:
    head = 1.25 * size
    items = text_lines(["Order of work"], (x, top), head, weight=Weight.BOLD)
    start = top - text_block_height_mm(1, head) - 0.9 * size
    block = numbered_list(words.steps, (x, start), width, size, gap_mm=_APART * size)
    return [*items, *block.items], top - start + block.height_mm


def _cautions(words: Words, x: float, top: float, width: float, size: float) -> tuple[list[Item], float]:
    """The cautions in a frame, the last line, whose word goes first, in heavy letters."""
    pad, text = 1.3 * size, 0.92 * size
    head = paragraph(
        "Caution at the drill press and the saw",
        (x + pad, top - pad),
        width - 2 * pad,
        1.1 * size,
        weight=Weight.BOLD,
        layer=Layer.CAUTION,
    )
    items = list(head.items)
    y = top - pad - head.height_mm - 0.6 * size
    for number, entry in enumerate(words.cautions, 1):
        weight = Weight.BOLD if number == len(words.cautions) else Weight.REGULAR
        block = paragraph(entry, (x + pad, y), width - 2 * pad, text, weight=weight, layer=Layer.CAUTION)
        items += block.items
        y -= block.height_mm + _APART * text
    height = top - (y + _APART * text) + pad
    return [rectangle(Rect(x, top - height, width, height), Layer.CAUTION, Pen.FRAME), *items], height


def _findings(stamp: VerdictStamp, rect: Rect, size: float, most: int) -> tuple[list[Item], float]:
    """What fails, in a heavy frame from the top of `rect` down."""
    pad = 2.2
    shown = [entry if len(entry) <= _LONGEST else entry[: _LONGEST - 1] + "…" for entry in stamp.lines[:most]]
    if len(stamp.lines) > most:
        shown.append(f"and {len(stamp.lines) - most} more: see the report of the check")
    left, top, room = rect.x + pad, rect.top - pad, rect.width - 2 * pad
    items = text_lines([stamp.word], (left, top), size, weight=Weight.BOLD, layer=Layer.CAUTION)
    y = top - text_block_height_mm(1, size) - 0.6 * size
    for entry in shown:
        block = paragraph(entry, (left, y), room, size, layer=Layer.CAUTION)
        items += block.items
        y -= block.height_mm + 0.5 * size
    height = rect.top - y - 0.5 * size + pad
    pen = Pen.HEAVY if stamp.fails else Pen.FRAME
    return [
        rectangle(Rect(rect.x, rect.top - height, rect.width, height), Layer.CAUTION, pen),
        *items,
    ], height
