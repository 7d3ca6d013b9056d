"""Running text on a sheet: paragraphs, lists and caution boxes, each with the height it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import LINE_PITCH, descent_mm, wrap
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import disc, polygon, rectangle
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import Rect

__all__ = ["Block", "caution_box", "numbered_list", "paragraph", "text_block_height_mm", "text_lines"]


@dataclass(frozen=True, slots=True)
class Block:
    """Items laid downwards from a top edge, and the height they take, mm."""

    items: tuple[Item, ...]
    height_mm: float


def text_block_height_mm(lines: int, height_mm: float) -> float:
    """Height of so many lines, from the top of the capitals to the foot of the descenders."""
    if lines == 0:
        return 0.0
    # Bold letters hang a little lower than regular ones.
    return height_mm + (lines - 1) * LINE_PITCH * height_mm + descent_mm(height_mm, bold=True)


def text_lines(
    lines: Sequence[str],
    top_left: Point,
    height_mm: float,
    *,
    anchor: Anchor = Anchor.START,
    weight: Weight = Weight.REGULAR,
    layer: Layer = Layer.TEXT,
) -> list[Item]:
    """Lines one below the other; `top_left` is the top of the first capitals (or top middle, top right)."""
    x, top = top_left
    return [
        Text(words, (x, top - height_mm - k * LINE_PITCH * height_mm), height_mm, anchor, 0.0, weight, layer)
        for k, words in enumerate(lines)
        if words
    ]


def paragraph(
    text: str,
    top_left: Point,
    width_mm: float,
    height_mm: float = 2.5,
    *,
    weight: Weight = Weight.REGULAR,
    layer: Layer = Layer.TEXT,
) -> Block:
    """Text wrapped to a width."""
    lines = wrap(text, height_mm, width_mm, bold=weight is Weight.BOLD)
    items = text_lines(lines, top_left, height_mm, weight=weight, layer=layer)
    return Block(tuple(items), text_block_height_mm(len(lines), height_mm))


def numbered_list(
    entries: Sequence[str],
    top_left: Point,
    width_mm: float,
    height_mm: float = 2.5,
    *,
    first: int = 1,
    gap_mm: float | None = None,
) -> Block:
    """Steps to be done in order, each with its number hung to the left."""
    gap = height_mm if gap_mm is None else gap_mm
    indent = height_mm * (2.6 if first + len(entries) > 10 else 2.0)
    x, top = top_left
    y = top
    items: list[Item] = []
    for k, entry in enumerate(entries):
        if k:
            y -= gap
        items.append(Text(f"{first + k}", (x, y - height_mm), height_mm, weight=Weight.BOLD))
        block = paragraph(entry, (x + indent, y), width_mm - indent, height_mm)
        items.extend(block.items)
        y -= block.height_mm
    return Block(tuple(items), top - y)


def caution_box(
    text: str | Sequence[str],
    top_left: Point,
    width_mm: float,
    height_mm: float = 2.2,
    *,
    heading: str = "Caution",
) -> Block:
    """A framed warning with a triangle. Several texts become several paragraphs."""
    x, top = top_left
    pad, sign = 2.2, 7.0
    left = x + pad + sign + pad
    room = x + width_mm - pad - left
    y = top - pad
    items: list[Item] = text_lines(
        [heading], (left, y), height_mm * 1.15, weight=Weight.BOLD, layer=Layer.CAUTION
    )
    y -= text_block_height_mm(1, height_mm * 1.15) + 0.8
    for entry in [text] if isinstance(text, str) else text:
        block = paragraph(entry, (left, y), room, height_mm, layer=Layer.CAUTION)
        items.extend(block.items)
        y -= block.height_mm + 0.9
    height = max(top - (y + 0.9) + pad, sign + 2 * pad)
    frame = rectangle(Rect(x, top - height, width_mm, height), Layer.CAUTION, Pen.FRAME)
    items = [frame, *_warning_sign((x + pad, top - pad), sign), *items]
    return Block(tuple(items), height)


def _warning_sign(top_left: Point, width_mm: float) -> list[Item]:
    """A triangle with an exclamation mark, drawn rather than lettered so that it always prints."""
    x, top = top_left
    height = 0.87 * width_mm
    base, middle = top - height, x + width_mm / 2
    corners = ((x, base), (x + width_mm, base), (middle, top))
    bar = (
        (middle - 0.45, base + 0.66 * height),
        (middle - 0.2, base + 0.28 * height),
        (middle + 0.2, base + 0.28 * height),
        (middle + 0.45, base + 0.66 * height),
    )
    return [
        polygon(corners, Layer.CAUTION, Pen.CUT),
        polygon(bar, Layer.CAUTION, Pen.HATCH, 0.0),
        disc((middle, base + 0.14 * height), 0.42, Layer.CAUTION),
    ]
