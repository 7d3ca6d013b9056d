"""Which drawings a template set is made of, and how they go on the fewest sheets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.assembly import Car
from bodyshop.drawing.items import Item, Sheet
from bodyshop.drawing.tileplan import TilePlan, plan_tiles
from bodyshop.stock.sheets import SheetSize
from bodyshop.templates.faces import Face, faces_for
from bodyshop.templates.view import Panel, Setting
from bodyshop.templates.views import large_panels

__all__ = ["Part", "grouped", "stacked", "template_parts"]

_GAP_MM = 4.0
# With more large templates than this, only neighbours are put on sheets together: there are too many ways.
_FEW: Final = 4


@dataclass(frozen=True, slots=True)
class Part:
    """A drawing that goes on sheets of its own, its lower left corner the origin."""

    document: str
    content: Sheet

    def planned(self, size: SheetSize) -> TilePlan:
        """How it goes on sheets of that size."""
        # Nothing sticks out of a part's size, so that its items need not be gone through.
        return plan_tiles(replace(self.content, items=()), size)


def template_parts(car: Car, setting: Setting, size: SheetSize, faces: Sequence[Face] = ()) -> list[Part]:
    """Side and plans at full size, as they take fewest sheets; without `faces` plans for the usual ones."""
    chosen = faces or faces_for(car.design.blank)

    def draw(drawn: Setting) -> list[Panel]:
        return large_panels(car, drawn, chosen)

    return grouped(draw, setting, size)


def grouped(draw: Callable[[Setting], Sequence[Panel]], setting: Setting, size: SheetSize) -> list[Part]:
    """Large templates one over the other or by themselves, as that takes fewest sheets, then least glue.

    `draw` draws all of them, in their order, named as their sheets are to be called ("side", "top"). They
    are drawn again where they have to be joined from tiles, so that words keep off the seams.

    Raises:
        ProblemsError: one would take more sheets than anyone would glue.
    """
    panels = list(draw(setting))
    ways = list(_ways(range(len(panels))))
    best = min(ways, key=lambda way: _cost([[panels[k] for k in group] for group in way], size))
    parts: list[Part] = []
    for group in best:
        chosen = [panels[k] for k in group]
        part = Part(_called(chosen), stacked(chosen))
        seams = _seams(part.planned(size), min(each.room.x for each in chosen))
        if seams:
            redrawn = list(draw(replace(setting, seams=seams)))
            part = Part(part.document, stacked([redrawn[k] for k in group]))
        parts.append(part)
    return parts


def _ways(numbers: Sequence[int]) -> Iterator[list[list[int]]]:
    """All ways of putting things on stacks, the order kept: all in one first, each alone last."""
    if not numbers:
        yield []
        return
    first, rest = numbers[0], list(numbers[1:])
    for count in range(len(rest), -1, -1):
        for companions in _choices(rest, count, neighbours=len(numbers) > _FEW):
            left = [number for number in rest if number not in companions]
            for way in _ways(left):
                yield [[first, *companions], *way]


def _choices(numbers: Sequence[int], count: int, *, neighbours: bool) -> Iterator[tuple[int, ...]]:
    from itertools import combinations

    if neighbours:
        yield tuple(numbers[:count])
    else:
        yield from combinations(numbers, count)


def _cost(way: Sequence[Sequence[Panel]], size: SheetSize) -> tuple[int, int, float]:
    """Sheets, seams to be glued, and how much of a roll is cut off."""
    plans = [Part("", replace(stacked(panels), items=())).planned(size) for panels in way]
    seams = sum((p.columns - 1) * p.rows + p.columns * (p.rows - 1) for p in plans)
    paper = sum(p.count * p.size.width_mm * p.size.height_mm for p in plans) if size.free else 0.0
    return sum(plan.count for plan in plans), seams, round(paper, 3)


def _called(panels: Sequence[Panel]) -> str:
    names = [each.name for each in panels]
    if len(names) == 1:
        return f"{names[0]} template"
    return f"{', '.join(names[:-1])} and {names[-1]} templates"


def _seams(plan: TilePlan, left: float) -> tuple[float, ...]:
    """Where a drawing will be joined along x, in the coordinates of its panels, which begin at `left`."""
    return tuple(
        plan.part(column, 0).right - plan.overlap_mm / 2 + left for column in range(plan.columns - 1)
    )


def stacked(panels: Sequence[Panel]) -> Sheet:
    """Panels one below the other, their x in line; the origin at the lower left."""
    left = min(each.room.x for each in panels)
    width = max(each.room.right for each in panels) - left
    height = sum(each.room.height for each in panels) + _GAP_MM * (len(panels) - 1)
    items: list[Item] = []
    top = height
    for each in panels:
        items += each.moved(-left, top - each.room.top)
        top -= each.room.height + _GAP_MM
    return Sheet(width, height, items)
