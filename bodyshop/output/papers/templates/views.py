"""All templates of a car: which drawings make a set, and all of them on one for machines."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import paragraph
from bodyshop.drawing.layout.marks import check_bar
from bodyshop.drawing.layout.tiling import TilePlan, plan_tiles
from bodyshop.drawing.sheet.items import Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import moved
from bodyshop.foundation.text.small_words import listed
from bodyshop.output.papers.templates.faces import BlankFace, faces_for
from bodyshop.output.papers.templates.gauges import gauge_panels
from bodyshop.output.papers.templates.guides import axle_guides, nose_panel, tail_panel
from bodyshop.output.papers.templates.plan import plan_panel
from bodyshop.output.papers.templates.side import side_panel
from bodyshop.output.papers.templates.view import NOTE_MM, TITLE_MM, Panel, TemplateSettings, pitch
from bodyshop.output.words.papers import VerdictStamp

__all__ = [
    "SheetDrawing",
    "grouped",
    "large_panels",
    "small_panels",
    "stacked",
    "template_parts",
    "whole_drawing",
]


_GAP_MM = 4.0
# With more large templates than this, only neighbours are put on sheets together: there are too many ways.
_FEW: Final = 4


@dataclass(frozen=True, slots=True)
class SheetDrawing:
    """A drawing that goes on sheets of its own, its lower left corner the origin."""

    document: str
    content: Sheet

    def planned(self, size: SheetSize) -> TilePlan:
        """How it goes on sheets of that size."""
        # Nothing sticks out of a part's size, so that its items need not be gone through.
        return plan_tiles(replace(self.content, items=()), size)


def template_parts(
    car: Car, setting: TemplateSettings, size: SheetSize, faces: Sequence[BlankFace] = ()
) -> list[SheetDrawing]:
    """Side and plans at full size, as they take fewest sheets; without `faces` plans for the usual ones."""
    chosen = faces or faces_for(car.design.blank)

    def draw(drawn: TemplateSettings) -> list[Panel]:
        return large_panels(car, drawn, chosen)

    return grouped(draw, setting, size)


def grouped(
    draw: Callable[[TemplateSettings], Sequence[Panel]], setting: TemplateSettings, size: SheetSize
) -> list[SheetDrawing]:
    """Large templates one over the other or by themselves, as that takes fewest sheets, then least glue.

    `draw` draws all of them, in their order, named as their sheets are to be called ("side", "top"). They
    are drawn again where they have to be joined from tiles, so that words keep off the seams.

    Raises:
        ProblemsError: one would take more sheets than anyone would glue.
    """
    panels = list(draw(setting))
    ways = list(_ways(range(len(panels))))
    best = min(ways, key=lambda way: _cost([[panels[k] for k in group] for group in way], size))
    parts: list[SheetDrawing] = []
    for group in best:
        chosen = [panels[k] for k in group]
        part = SheetDrawing(_called(chosen), stacked(chosen))
        seams = _seams(part.planned(size), min(each.room.x for each in chosen))
        if seams:
            redrawn = list(draw(replace(setting, seams=seams)))
            part = SheetDrawing(part.document, stacked([redrawn[k] for k in group]))
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
    plans = [SheetDrawing("", replace(stacked(panels), items=())).planned(size) for panels in way]
    seams = sum((p.columns - 1) * p.rows + p.columns * (p.rows - 1) for p in plans)
    paper = sum(p.count * p.size.width_mm * p.size.height_mm for p in plans) if size.free else 0.0
    return sum(plan.count for plan in plans), seams, round(paper, 3)


def _called(panels: Sequence[Panel]) -> str:
    names = [each.name for each in panels]
    return f"{listed(names)} template{'' if len(names) == 1 else 's'}"


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


_VIEWS_GAP_MM = 10.0
_HEAD_MM = 6.0
_BAR_ROW_MM = 12.0


def large_panels(car: Car, setting: TemplateSettings, faces: Sequence[BlankFace]) -> list[Panel]:
    """The side, and the plan for each of the faces: as long as the blank."""
    alone = len(faces) == 1
    return [side_panel(car, setting), *(plan_panel(car, setting, face, alone=alone) for face in faces)]


def small_panels(car: Car, setting: TemplateSettings) -> list[Panel]:
    """Guides, ends and gauges: what goes several to a sheet."""
    figures = setting.figures
    return [
        tail_panel(car, figures),
        *axle_guides(car, figures),
        nose_panel(car, figures),
        *gauge_panels(car, setting.gauges, figures),
    ]


def whole_drawing(
    car: Car, verdict: VerdictStamp, setting: TemplateSettings, faces: Sequence[BlankFace]
) -> Sheet:
    """Every template once and whole, on one drawing without sheets, seams or title block.

    It says whose it is, what its verdict was, what a unit of it is, and the caution of every sheet.
    """
    large, small = large_panels(car, setting, faces), small_panels(car, setting)
    left = min(each.room.x for each in large)
    width = max(each.room.right for each in large) - left
    placed: list[tuple[Panel, float, float]] = []
    # Levels count down from the top, whatever the height comes to.
    level = 0.0
    for each in large:
        placed.append((each, -left, level))
        level -= each.room.height + _VIEWS_GAP_MM
    for row in _rows(small, width):
        across = 0.0
        for each in row:
            placed.append((each, across - each.room.x, level))
            across += each.room.width + _VIEWS_GAP_MM
        level -= max(each.room.height for each in row) + _VIEWS_GAP_MM
    head, head_height = _head(verdict, setting, width)
    foot = -level
    items: list[Item] = []
    for each, dx, top in placed:
        items += each.moved(dx, foot + top - each.room.top)
    items.append(moved(head, 0.0, foot + _VIEWS_GAP_MM))
    return Sheet(width, foot + _VIEWS_GAP_MM + head_height, items, "all templates, whole")


def _rows(panels: Sequence[Panel], width: float) -> list[list[Panel]]:
    """Panels side by side, a new row where the width is used up; tall ones together."""
    rows: list[list[Panel]] = []
    used = 0.0
    for each in sorted(panels, key=lambda one: (-round(one.room.height, 3), one.name)):
        if not rows or used + each.room.width > width:
            rows.append([])
            used = 0.0
        rows[-1].append(each)
        used += each.room.width + _VIEWS_GAP_MM
    return rows


def _head(verdict: VerdictStamp, setting: TemplateSettings, width: float) -> tuple[list[Item], float]:
    """What a sheet says in its title block and head, from the foot up; and how high it is."""
    caution = " ".join(each.sentence for each in cautions_for(Operation.WORKSHOP))
    lines = [f"{setting.name} · {setting.fingerprint}", verdict.word]
    if verdict.rulebook:
        lines[1] += f" ({verdict.rulebook})"
    lines.append("full size: one unit of this drawing is one millimetre")
    block = paragraph(caution, (0.0, 0.0), width, NOTE_MM, layer=Layer.CAUTION)
    low = _BAR_ROW_MM
    items: list[Item] = list(check_bar((2.0, 0.0), setting.figures.bar))
    items.append(moved(block.items, 0.0, low + block.height_mm))
    low += block.height_mm + _HEAD_MM
    for k, words in enumerate(reversed(lines)):
        last = k + 1 == len(lines)
        height = TITLE_MM if last else NOTE_MM
        weight = Weight.BOLD if last or (k == 1 and verdict.fails) else Weight.REGULAR
        shown = shorten(words, height, width, bold=weight is Weight.BOLD)
        items.append(Text(shown, (0.0, low), height, weight=weight))
        low += pitch(height) + 1.0
    return items, low
