"""How many sheets a drawing takes at full size, and which part of it goes on which.

Paper from a roll is cut to what a drawing needs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bodyshop.drawing.extent import bounds
from bodyshop.drawing.frame import MARGIN_MM, content_window
from bodyshop.drawing.items import Rect, Sheet
from bodyshop.drawing.marks import BarUnit, bar_length_mm
from bodyshop.problems import Problem, ProblemsError
from bodyshop.stock.sheets import LEAST_SIDE_MM, SheetSize, Side

__all__ = ["LEAST_OVERLAP_MM", "MOST_TILES", "OVERLAP_MM", "TilePlan", "cut_to", "plan_tiles"]

OVERLAP_MM = 20.0
"""Shared by neighbours: half is the flap that is glued (common practice, no published source)."""
LEAST_OVERLAP_MM = 10.0
MOST_TILES = 100

# A drawing larger than its room by less than this still fits: it is rounding, not size.
_SLACK_MM = 1e-6
# Over the upright check bar, for its last figure.
_OVER_BAR_MM = 4.0
# From this width on the check bar stands beside the title block, not over it.
_WIDE_MM = 280.0


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
    """The way of laying the sheet, upright or on its side, that takes fewest sheets; of a roll, least paper.

    Raises:
        ValueError: the overlap is less than `LEAST_OVERLAP_MM`.
        ProblemsError: more than `MOST_TILES` sheets would be needed, or the paper is too small for its
            frame and check bars.
    """
    if overlap_mm < LEAST_OVERLAP_MM:
        raise ValueError(f"an overlap of {overlap_mm} mm is too little to glue")
    need = Rect(0.0, 0.0, content.width_mm, content.height_mm)
    drawn = bounds(content.items)
    if drawn is not None:
        x, y = min(0.0, drawn.x), min(0.0, drawn.y)
        need = Rect(x, y, max(need.right, drawn.right) - x, max(need.top, drawn.top) - y)

    def plan(lying: SheetSize) -> TilePlan | None:
        window = content_window(lying, margin_mm)
        if not _has_room(window, overlap_mm):
            return None
        columns = _pieces(need.width, window.width, overlap_mm)
        rows = _pieces(need.height, window.height, overlap_mm)
        return _cut_off(TilePlan(lying, columns, rows, need, overlap_mm, window), margin_mm)

    upright, side = plan(size), plan(size.turned)
    likes_side = need.width >= need.height
    ways = [way for way in ((side, upright) if likes_side else (upright, side)) if way is not None]
    if not ways:
        raise ProblemsError([_too_small(size)])
    best = min(ways, key=_paper)
    if best.count > MOST_TILES:
        message = (
            f"the drawing is {need.width:.0f} by {need.height:.0f} mm at full size "
            f"and would take {best.count} sheets of {size.name}"
        )
        raise ProblemsError([Problem("sheet-count", message, expected=f"at most {MOST_TILES} sheets")])
    return best


def cut_to(size: SheetSize, content_mm: float, margin_mm: float = MARGIN_MM) -> SheetSize:
    """A roll's sheet with just enough of its free side for content that takes so much of it."""
    if size.free is None:
        return size
    across = size.free is Side.WIDTH
    # On a narrow sheet the bars stand over the title block, and less height is left: then it stays wide.
    window = content_window(size, margin_mm)
    whole, room = (size.width_mm, window.width) if across else (size.height_mm, window.height)
    least = math.ceil(max(content_mm + whole - room, LEAST_SIDE_MM) - _SLACK_MM)
    for length in (least, max(least, _WIDE_MM)):
        cut = size.cut(length)
        if not across or content_window(cut, margin_mm).height >= window.height - _SLACK_MM:
            return cut
    return size


def _cut_off(plan: TilePlan, margin_mm: float) -> TilePlan:
    """The plan on paper cut off a roll, where it is from a roll."""
    if plan.size.free is None:
        return plan
    part = plan.part_mm[0 if plan.size.free is Side.WIDTH else 1]
    window = plan.window
    upright = bar_length_mm(BarUnit.INCH) + _OVER_BAR_MM
    size = cut_to(plan.size, part if plan.size.free is Side.WIDTH else max(part, upright), margin_mm)
    window = content_window(size, margin_mm)
    return replace(plan, size=size, window=window)


def _paper(plan: TilePlan) -> tuple[int, float]:
    """What counts in choosing: sheets first; then, off a roll, the paper itself."""
    area = plan.count * plan.size.width_mm * plan.size.height_mm
    return plan.count, 0.0 if plan.size.free is None else round(area, 3)


def _has_room(window: Rect, overlap_mm: float) -> bool:
    """Whether the upright check bar stands in it, and a tile shows more than its seams."""
    least = bar_length_mm(BarUnit.INCH) + _OVER_BAR_MM
    return window.height >= least and window.width > 2 * overlap_mm and window.height > 2 * overlap_mm


def _too_small(size: SheetSize) -> Problem:
    message = (
        f"{size.name} is too small: margins, title block and check bars leave no room for a drawing "
        "either way up"
    )
    return Problem("sheet-small", message, expected="a larger sheet, such as a4 or letter")


def _pieces(length: float, room: float, overlap: float) -> int:
    if length <= room + _SLACK_MM:
        return 1
    return math.ceil((length - overlap - _SLACK_MM) / (room - overlap))
