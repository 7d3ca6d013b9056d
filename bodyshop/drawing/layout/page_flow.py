"""Pieces of a page, one below the other, over as many sheets as they need: all papers are laid by it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.layout.blocks import text_block_height_mm, text_lines
from bodyshop.drawing.sheet.items import Group, Item, Weight
from bodyshop.drawing.sheet.lettering import LINE_PITCH, wrap
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Rect

__all__ = ["FlowItem", "PageFlow", "beside", "flow", "stacked", "words"]

_MOST_LINES: Final = 24
_SLACK_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class FlowItem:
    """Items below and to the right of the origin, and the height they take, mm.

    `before_mm` is left free above, but not at the top of a sheet; `joined` keeps the piece on one sheet
    with the next; `running` stands again at the top of a sheet that this piece begins.
    """

    items: tuple[Item, ...]
    height_mm: float
    before_mm: float = 0.0
    joined: bool = False
    running: FlowItem | None = None


class PageFlow:
    """Sheets filled from top to bottom. `rooms` are the rectangles to fill, as many as may be needed.

    `bodies` are the items of each sheet; `y` is how far down this sheet is filled.
    """

    def __init__(self, rooms: Iterable[Rect]) -> None:
        self._rooms: Iterator[Rect] = iter(rooms)
        self.bodies: list[list[Item]] = []
        self.turn()

    def turn(self) -> None:
        """Start a new sheet."""
        self.room = next(self._rooms)
        self.bodies.append([])
        self.y = self.room.top

    @property
    def left_mm(self) -> float:
        """Room down to the foot of this sheet."""
        return self.y - self.room.y

    def fits(self, height_mm: float) -> bool:
        """Whether something so high fits below what stands here."""
        return height_mm <= self.left_mm + _SLACK_MM

    def lay(self, items: Sequence[Item], height_mm: float) -> None:
        """Put items, drawn from (0, 0) downwards, here and go on below them."""
        self.bodies[-1].append(Group(Affine.move(self.room.x, self.y), tuple(items)))
        self.y -= height_mm


def flow(pieces: Sequence[FlowItem], rooms: Iterable[Rect]) -> list[list[Item]]:
    """The items of each sheet. `rooms` are the rectangles to fill, as many as may be needed.

    A piece that is higher than an empty room runs over its foot: makers of pieces see to it that none is.
    """
    pages = PageFlow(rooms)
    for run in _runs(pieces):
        body = pages.bodies[-1]
        if body and not pages.fits(sum(piece.height_mm + piece.before_mm for piece in run)):
            pages.turn()
            body = pages.bodies[-1]
        again = run[0].running if len(pages.bodies) > 1 and not body else None
        for piece in run if again is None else [again, *run]:
            pages.y -= piece.before_mm if body else 0.0
            pages.lay(piece.items, piece.height_mm)
    return pages.bodies


def _runs(pieces: Sequence[FlowItem]) -> Iterable[list[FlowItem]]:
    """Pieces that stay together."""
    run: list[FlowItem] = []
    for piece in pieces:
        run.append(piece)
        if not piece.joined:
            yield run
            run = []
    if run:
        yield run


def words(
    text: str,
    width_mm: float,
    height_mm: float,
    *,
    bold: bool = False,
    indent_mm: float = 0.0,
    before_mm: float = 0.0,
) -> list[FlowItem]:
    """A paragraph, in pieces when it is very long."""
    weight = Weight.BOLD if bold else Weight.REGULAR
    lines = wrap(text, height_mm, width_mm - indent_mm, bold=bold)
    parts = [lines[k : k + _MOST_LINES] for k in range(0, len(lines), _MOST_LINES)]
    gap = (LINE_PITCH - 1.0) * height_mm * 0.5
    return [
        FlowItem(
            tuple(text_lines(part, (indent_mm, 0.0), height_mm, weight=weight)),
            text_block_height_mm(len(part), height_mm),
            before_mm if k == 0 else gap,
        )
        for k, part in enumerate(parts)
    ]


def beside(parts: Sequence[tuple[float, Sequence[FlowItem]]], before_mm: float = 0.0) -> FlowItem:
    """Columns side by side as one piece: each the x of its left edge and what stands in it."""
    items: list[Item] = []
    height = 0.0
    for x, pieces in parts:
        column = stacked(pieces)
        items.append(Group(Affine.move(x, 0.0), column.items))
        height = max(height, column.height_mm)
    return FlowItem(tuple(items), height, before_mm)


def stacked(pieces: Sequence[FlowItem], before_mm: float = 0.0) -> FlowItem:
    """Pieces one below the other as one piece."""
    items: list[Item] = []
    y = 0.0
    for k, piece in enumerate(pieces):
        y -= piece.before_mm if k else 0.0
        items.append(Group(Affine.move(0.0, y), piece.items))
        y -= piece.height_mm
    return FlowItem(tuple(items), -y, before_mm)
