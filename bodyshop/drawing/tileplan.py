"""How many sheets a drawing takes at full size, and which part of it goes on which."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.drawing.extent import bounds
from bodyshop.drawing.frame import MARGIN_MM, content_window
from bodyshop.drawing.items import Rect, Sheet
from bodyshop.problems import Problem, ProblemsError
from bodyshop.stock.sheets import SheetSize

__all__ = ["LEAST_OVERLAP_MM", "MOST_TILES", "OVERLAP_MM", "TilePlan", "plan_tiles"]

OVERLAP_MM = 20.0
"""Shared by neighbours: half is the flap that is glued (common practice, no published source)."""
LEAST_OVERLAP_MM = 10.0
MOST_TILES = 100

# A drawing larger than its room by less than this still fits: it is rounding, not size.
_SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class TilePlan:
    """How a drawing goes on sheets: the sheet as it lies, and the grid of tiles."""

    size: SheetSize
    columns: int
    rows: int
    content: Rect
    """What must show, in the drawing's own coordinates: its size, and anything that sticks out of it."""
    overlap_mm: float
    window: Rect
    """The room for content on each sheet."""

    @property
    def count(self) -> int:
        """How many sheets."""
        return self.columns * self.rows

    @property
    def part_mm(self) -> tuple[float, float]:
        """Width and height of the part of the drawing that each tile shows."""
        return (
            (self.content.width + (self.columns - 1) * self.overlap_mm) / self.columns,
            (self.content.height + (self.rows - 1) * self.overlap_mm) / self.rows,
        )

    def part(self, column: int, row: int) -> Rect:
        """The part of the drawing that a tile shows, in the drawing's coordinates."""
        width, height = self.part_mm
        x = self.content.x + column * (width - self.overlap_mm)
        y = self.content.top - row * (height - self.overlap_mm) - height
        return Rect(x, y, width, height)


def plan_tiles(
    content: Sheet,
    size: SheetSize,
    *,
    margin_mm: float = MARGIN_MM,
    overlap_mm: float = OVERLAP_MM,
) -> TilePlan:
    """The way of laying the sheet, upright or on its side, that takes fewest sheets.

    Raises:
        ValueError: the overlap is less than `LEAST_OVERLAP_MM`.
        ProblemsError: more than `MOST_TILES` sheets would be needed.
    """
    if overlap_mm < LEAST_OVERLAP_MM:
        raise ValueError(f"an overlap of {overlap_mm} mm is too little to glue")
    need = Rect(0.0, 0.0, content.width_mm, content.height_mm)
    drawn = bounds(content.items)
    if drawn is not None:
        x, y = min(0.0, drawn.x), min(0.0, drawn.y)
        need = Rect(x, y, max(need.right, drawn.right) - x, max(need.top, drawn.top) - y)

    def plan(lying: SheetSize) -> TilePlan:
        window = content_window(lying, margin_mm)
        columns = _pieces(need.width, window.width, overlap_mm)
        rows = _pieces(need.height, window.height, overlap_mm)
        return TilePlan(lying, columns, rows, need, overlap_mm, window)

    upright, side = plan(size), plan(size.turned)
    likes_side = need.width >= need.height
    best = min((side, upright) if likes_side else (upright, side), key=lambda choice: choice.count)
    if best.count > MOST_TILES:
        message = (
            f"the drawing is {need.width:.0f} by {need.height:.0f} mm at full size "
            f"and would take {best.count} sheets of {size.name}"
        )
        raise ProblemsError([Problem("sheet-count", message, expected=f"at most {MOST_TILES} sheets")])
    return best


def _pieces(length: float, room: float, overlap: float) -> int:
    if length <= room + _SLACK_MM:
        return 1
    return math.ceil((length - overlap - _SLACK_MM) / (room - overlap))
