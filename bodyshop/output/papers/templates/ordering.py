"""The sheet beside the templates: both ends of the blank, what fails, the order of work, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bodyshop.drawing.layout.blocks import numbered_list, paragraph, text_block_height_mm, text_lines
from bodyshop.drawing.sheet.items import Item, Sheet, Weight
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import rectangle
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.view import Panel
from bodyshop.output.words.papers import VerdictStamp

__all__ = [
    "PlacedWords",
    "Words",
    "ends_and_words",
    "fitted_words",
    "words_alone",
    "words_height_mm",
]

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
class PlacedWords:
    """Words laid out, in what size, how many findings are among them, and the rectangle they fill."""

    items: list[Item]
    size: float
    findings: int
    rect: Rect

    @property
    def score(self) -> tuple[float, int, float]:
        """What matters, more being better: letters up to a good size, then findings, then larger letters."""
        return min(self.size, _GOOD_MM), self.findings, self.size


def ends_and_words(panels: Sequence[Panel], words: Words, rooms: Sequence[Rect]) -> Sheet | None:
    """Panels and words on one sheet of the better of the rooms; None when they do not go in together.

    The panels are spread out along one side. The first room that has words in letters of a good size and
    all the findings is taken.
    """
    best: Sheet | None = None
    best_score: tuple[float, int, float] | None = None
    enough = (_GOOD_MM, min(_FINDINGS[0], len(words.stamp.lines)))
    for room in rooms:
        laid = _both(panels, words, room)
        if laid is None:
            continue
        sheet, text = laid
        if best_score is None or text.score > best_score:
            best, best_score = sheet, text.score
        if text.score[:2] == enough:
            break
    return best


def _both(panels: Sequence[Panel], words: Words, room: Rect) -> tuple[Sheet, PlacedWords] | None:
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
    text = fitted_words(words, rest)
    if text is None:
        return None
    return Sheet(room.width, room.height, (*items, *text.items)), text


def words_alone(words: Words, room: Rect) -> Sheet:
    """Words on a sheet of their own, in the largest letters that go in."""
    whole = Rect(0.0, 0.0, room.width, room.height)
    text = fitted_words(words, whole, _SIZES_MM[-1])
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
    left = min(p.room.x for p in panels)
    width = max(p.room.right for p in panels) - left
    if height > room.height:
        width = sum(p.room.width for p in panels) + _GAP_MM * (len(panels) - 1)
        return _abreast(panels, Rect(0.0, 0.0, width, room.height)) if width < 0.6 * room.width else None
    items: list[Item] = []
    top = room.height - (room.height - height) / 2
    for each in panels:
        items += each.moved(-left, top - each.room.top)
        top -= each.room.height + _GAP_MM
    return items, Rect(0.0, 0.0, width, room.height)


def fitted_words(
    words: Words, rect: Rect, least_mm: float = _READABLE_MM, most_mm: float = _SIZES_MM[0]
) -> PlacedWords | None:
    """The words in the largest letters that go in, with as many findings as stay readable.

    None when they do not go in with letters of `least_mm`; letters are at most `most_mm`.
    """
    if rect.width < _LEAST_COLUMN_MM:
        return None
    told = len(words.stamp.lines)
    known = [size for size in _SIZES_MM if least_mm <= size <= most_mm]
    readable = [size for size in known if size >= _READABLE_MM]
    tries = [(readable, most) for most in _FINDINGS] if told else [(readable, 0)]
    for sizes, most in [*tries, (known, _FINDINGS[-1])]:
        size = _largest(words, rect, sizes, most)
        if size is not None:
            items, height = _laid(words, rect, size, most)
            taken = Rect(rect.x, rect.top - height, rect.width, height)
            return PlacedWords(items, size, min(most, told), taken)
    return None


def words_height_mm(words: Words, width_mm: float, size_mm: float) -> float:
    """The height that all the words take in a column or two of that width."""
    return _laid(words, Rect(0.0, 0.0, width_mm, 0.0), size_mm, _FINDINGS[0])[1]


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
