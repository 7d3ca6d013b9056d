"""Blocks laid from top to bottom, sheet after sheet, each sheet with its frame, title block and head."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import repeat
from typing import Final

from bodyshop.drawing.layout.blocks import Block, paragraph
from bodyshop.drawing.layout.frame import TitleBlock, page_frame
from bodyshop.drawing.layout.page_flow import PageFlow
from bodyshop.drawing.layout.table import Table, lay_table
from bodyshop.drawing.sheet.items import Sheet, Weight
from bodyshop.drawing.sheet.paper import SheetSize

__all__ = ["Pages"]

_HEADING_MM: Final = 2.6
_GAP_MM: Final = 3.0


class Pages:
    """A document in the making. `put` starts a new sheet when a block does not fit below the last one.

    `head` lays what stands at the top of every sheet into the width it is given, mm.
    """

    def __init__(self, size: SheetSize, title: TitleBlock, head: Callable[[float], Block]) -> None:
        self._size = size
        self._title = title
        self._window = page_frame(size, title, bar=None).window
        self._head = head(self._window.width)
        self._scales: list[list[str]] = [[]]
        self._flow = PageFlow(repeat(self._window))
        self._lay_head()

    @property
    def width_mm(self) -> float:
        """Room across."""
        return self._window.width

    @property
    def left_mm(self) -> float:
        """Room down to the foot of this sheet."""
        return self._flow.left_mm

    @property
    def room_mm(self) -> float:
        """Room down an empty sheet."""
        return self._window.height - self._head.height_mm - _GAP_MM

    def turn(self) -> None:
        """Start a new sheet."""
        self._flow.turn()
        self._scales.append([])
        self._lay_head()

    def _lay_head(self) -> None:
        self._flow.lay(self._head.items, self._head.height_mm + _GAP_MM)

    def scale(self, words: str) -> None:
        """Say in this sheet's title block what a drawing on it is drawn to."""
        if words not in self._scales[-1]:
            self._scales[-1].append(words)

    def heading(self, words: str, with_mm: float = 20.0) -> None:
        """A heading, on the same sheet as at least `with_mm` of what follows."""
        block = paragraph(words, (0.0, 0.0), self.width_mm, _HEADING_MM, weight=Weight.BOLD)
        if block.height_mm + with_mm > self.left_mm:
            self.turn()
        elif len(self._flow.bodies[-1]) > 1:
            self._flow.y -= _HEADING_MM / 2
        self.put(block, gap_mm=1.2)

    def put(self, block: Block, gap_mm: float = _GAP_MM) -> None:
        """A block drawn from (0, 0) downwards; it is kept whole."""
        if not self._flow.fits(block.height_mm):
            self.turn()
        self._flow.lay(block.items, block.height_mm + gap_mm)

    def table(self, table: Table, gap_mm: float = _GAP_MM + 1.0) -> None:
        """A table, going on to the next sheet where it must."""
        rest: Table | None = table
        fresh = False
        while rest is not None:
            laid = lay_table(rest, (0.0, 0.0), self.left_mm, fresh=fresh)
            self._flow.lay(laid.items, laid.height_mm + gap_mm)
            rest = laid.rest
            if rest is not None:
                self.turn()
                fresh = True

    def sheets(self) -> list[Sheet]:
        """All sheets, numbered."""
        total = len(self._flow.bodies)
        done: list[Sheet] = []
        for number, (body, scale) in enumerate(zip(self._flow.bodies, self._scales, strict=True), 1):
            title = replace(self._title, sheet=number, sheets=total, scale=", ".join(scale) or "none")
            frame = page_frame(self._size, title, bar=None)
            name = f"sheet {number} of {total}"
            items = (*frame.items, *body)
            done.append(Sheet(self._size.width_mm, self._size.height_mm, items, name))
        return done
