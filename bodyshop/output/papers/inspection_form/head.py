"""What stands round the table: the block with event, car and rulebook, and the one for the result."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.layout.blocks import Block, caution_box, paragraph
from bodyshop.drawing.sheet.items import Item, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import line, rectangle
from bodyshop.foundation.units import MassUnit
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.inspection_form.form import box
from bodyshop.rules.rulebook import BreachEffects

__all__ = ["FormHead", "PointsTotal", "lay_head", "lay_result", "lay_strip"]

_LABEL_MM: Final = 1.35
_PAD_MM: Final = 1.4
_DESIGNED: Final = "on the drawing"
_BUILT: Final = "finished car"
_WRAPPED: Final = frozenset((_DESIGNED, _BUILT, "inspection"))
"""Fields that are printed whole, on as many lines as they need."""
_WRAPPED_MM: Final = 1.9
_LEADING: Final = 1.5
_ROW_MM: Final = 8.4


@dataclass(frozen=True, slots=True)
class FormHead:
    """The words of the block. Empty fields are lines to write on.

    `standing` is what the program made of the design, empty on a blank sheet, framed where `fails`; `built`
    what the finished car came to as it was measured, empty where it was not, framed where `built_fails`.
    """

    kind: str
    event: str
    rulebook: str
    division: str
    fingerprint: str
    reading: str
    car: str = ""
    bench: str = ""
    date: str = ""
    owner: str = ""
    design: str = ""
    standing: str = ""
    fails: bool = False
    built: str = ""
    built_fails: bool = False
    inspection: str = ""


@dataclass(frozen=True, slots=True)
class PointsTotal:
    """What the points come to. `label` names the room for the score, empty where the book has none;
    `points_off` and `score` are filled in, empty to be written on.
    """

    label: str = ""
    points_off: str = ""
    score: str = ""


def lay_head(head: FormHead, x: float, top: float, width: float, sheet: str) -> Block:
    """The block at the top of the first sheet."""
    items: list[Item] = [
        Text(shorten(head.event, 3.6, width - 42.0, bold=True), (x, top - 3.8), 3.6, weight=Weight.BOLD),
        *_right(head.kind, x + width, top - 3.8, 2.6),
    ]
    y = top - 6.4
    rows: tuple[tuple[tuple[float, str, str], ...], ...] = (
        (
            (0.34, "car", head.car),
            (0.22, "bench", head.bench),
            (0.22, "date", head.date),
            (0.22, "inspector", ""),
        ),
        (
            (0.34, "rulebook", head.rulebook),
            (0.22, "division", head.division),
            (0.22, "rulebook code", head.fingerprint),
            (0.22, "sheet", sheet),
        ),
    )
    if head.standing:
        designed = (
            (0.56, _DESIGNED, head.standing),
            (0.22, "design code", head.design),
            (0.22, "owner", head.owner),
        )
        rows = (*rows, designed)
    elif head.owner:
        rows = (*rows, ((1.0, "owner", head.owner),))
    if head.built:
        rows = (*rows, ((0.56, _BUILT, head.built), (0.44, "inspection", head.inspection)))
    heavy = {
        *([_DESIGNED] if head.fails else []),
        *([_BUILT] if head.built_fails else []),
    }
    for row in rows:
        height = _ROW_MM + _more_lines(row, width) * _WRAPPED_MM * _LEADING
        items += _cells(row, Rect(x, y - height, width, height), heavy=heavy)
        y -= height
    frame = Rect(x, y, width, top - 6.4 - y)
    items.append(rectangle(frame, Layer.BORDER, Pen.FRAME))
    note = paragraph(head.reading, (x, y - 1.6), width, 1.75)
    items += note.items
    return Block(tuple(items), top - y + 1.6 + note.height_mm + 1.0)


def lay_strip(head: FormHead, x: float, top: float, width: float, sheet: str) -> Block:
    """The narrow block at the top of the sheets that follow."""
    row = (
        (0.30, "event", head.event),
        (0.22, "car", head.car),
        (0.12, "bench", head.bench),
        (0.12, "division", head.division),
        (0.14, "rulebook code", head.fingerprint),
        (0.10, "sheet", sheet),
    )
    frame = Rect(x, top - 8.4, width, 8.4)
    return Block((*_cells(row, frame), rectangle(frame, Layer.BORDER, Pen.FRAME)), 9.4)


def _cells(row: Sequence[tuple[float, str, str]], rect: Rect, heavy: Collection[str] = ()) -> list[Item]:
    items: list[Item] = []
    left = rect.x
    for share, label, value in row:
        cell = Rect(left, rect.y, share * rect.width, rect.height)
        if left > rect.x:
            items.append(line((left, rect.y), (left, rect.top), Layer.BORDER, Pen.RULE))
        items.append(Text(label, (left + _PAD_MM, cell.top - 1.0 - _LABEL_MM), _LABEL_MM, layer=Layer.BORDER))
        room = cell.width - 2 * _PAD_MM
        bold = label in {"car", _DESIGNED, _BUILT}
        size = 2.3
        while size > 1.6 and text_width_mm(value, size, bold=bold) > room:
            size -= 0.1
        lines = [shorten(value, size, room, bold=bold)]
        if label in _WRAPPED and size < _WRAPPED_MM:
            size = _WRAPPED_MM
            lines = wrap(value, size, room, bold=bold)
        weight = Weight.BOLD if bold else Weight.REGULAR
        for number, words in enumerate(reversed(lines)):
            at = (left + _PAD_MM, cell.y + 1.9 + number * size * _LEADING)
            items.append(Text(words, at, size, weight=weight, layer=Layer.BORDER))
        if label in heavy:
            items.append(rectangle(cell.inset(0.5), Layer.BORDER, Pen.HEAVY))
        left = cell.right
    items.append(line((rect.x, rect.y), (rect.right, rect.y), Layer.BORDER, Pen.RULE))
    return items


def _more_lines(row: Sequence[tuple[float, str, str]], width: float) -> int:
    """How many lines more than one a row needs for its verdict to be read whole."""
    most = 1
    for share, label, value in row:
        room = share * width - 2 * _PAD_MM
        if label in _WRAPPED and text_width_mm(value, _WRAPPED_MM, bold=label != "inspection") > room:
            most = max(most, len(wrap(value, _WRAPPED_MM, room, bold=label != "inspection")))
    return most - 1


def _right(text: str, right: float, y: float, size: float) -> list[Item]:
    return [Text(text, (right - text_width_mm(text, size), y), size)]


# ---------------------------------------------------------------- the result

NO_SUMS: Final = PointsTotal()

_POINTS: Final = frozenset((BreachEffects.POINTS_ONCE, BreachEffects.POINTS_PER_UNIT))
_HARD: Final = frozenset(BreachEffects) - {BreachEffects.ADVICE}
_RESULTS: Final[tuple[tuple[str, frozenset[BreachEffects]], ...]] = (
    ("legal", _HARD),
    ("legal with points off", _POINTS),
    ("not legal", _HARD),
    ("display only", frozenset((BreachEffects.SHOW_ONLY,))),
    ("in order", frozenset((BreachEffects.ADVICE,))),
    ("re-inspect", frozenset()),
)
"""What a car can come to; with some, which consequences a book must know for it to come to that."""


def lay_result(
    x: float,
    top: float,
    width: float,
    cautions: Sequence[str],
    fails: frozenset[BreachEffects],
    mass: MassUnit,
    sums: PointsTotal = NO_SUMS,
) -> Block:
    """The block that an official signs, and the cautions for those who handle cars at an event.

    `fails` are the consequences that the book knows, `mass` is its unit of mass, and `sums` what the points
    come to.
    """
    items: list[Item] = [Text("Result", (x, top - 4.6), 2.6, weight=Weight.BOLD)]
    y = top - 6.4
    at = x + 2.2
    for word, only in _RESULTS:
        if (only and not only & fails) or (word == "in order" and _HARD & fails):
            continue
        items.append(box((at + 1.8, y - 4.2)))
        items.append(Text(word, (at + 4.6, y - 5.1), 2.1))
        at += 4.6 + text_width_mm(word, 2.1) + 6.0
    y -= 8.4
    who = "official" if _HARD & fails else "checked by"
    fields = [*(["points off"] if _POINTS & fails else []), *([sums.label] if sums.label else [])]
    fields += [*([f"mass, {mass.symbol}"] if _HARD & fails else [])]
    fields += [*(["award barred"] if BreachEffects.NO_AWARD in fails else [])]
    fields += [*([f"ballast added, {mass.symbol}"] if BreachEffects.BALLAST in fails else []), who, "time"]
    share = 1.0 / (len(fields) + 1 + bool(sums.label))
    filled = {"points off": sums.points_off, sums.label: sums.score}
    row = tuple(
        (share * (2 if name in (who, sums.label) else 1), name, filled.get(name, "")) for name in fields
    )
    items += _cells(row, Rect(x, y - 9.0, width, 9.0))
    items.append(line((x, y), (x + width, y), Layer.BORDER, Pen.RULE))
    y -= 9.0
    items.append(rectangle(Rect(x, y, width, top - 6.4 - y), Layer.BORDER, Pen.FRAME))
    y -= 2.0
    caution = caution_box(list(cautions), (x, y), width, 1.75, heading="Safety")
    return Block((*items, *caution.items), top - y + caution.height_mm)
