"""All templates of a car, drawn but not yet on sheets; and the same on one drawing, for machines."""

from __future__ import annotations

from collections.abc import Sequence

from bodyshop.assembly import Car
from bodyshop.drawing.blocks import paragraph
from bodyshop.drawing.items import Item, Sheet, Text, Weight
from bodyshop.drawing.lettering import shorten
from bodyshop.drawing.marks import check_bar
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.shapes import moved
from bodyshop.drawing.stamp import VerdictStamp
from bodyshop.stock.cautions import Operation, cautions_for
from bodyshop.templates.ends import nose_panel, tail_panel
from bodyshop.templates.faces import Face
from bodyshop.templates.gauges import gauge_panels
from bodyshop.templates.guides import axle_guides
from bodyshop.templates.plan import plan_panel
from bodyshop.templates.side import side_panel
from bodyshop.templates.view import NOTE_MM, TITLE_MM, Panel, Setting, pitch

__all__ = ["large_panels", "small_panels", "whole_drawing"]

_GAP_MM = 10.0
_HEAD_MM = 6.0
_BAR_ROW_MM = 12.0


def large_panels(car: Car, setting: Setting, faces: Sequence[Face]) -> list[Panel]:
    """The side, and the plan for each of the faces: as long as the blank."""
    alone = len(faces) == 1
    return [side_panel(car, setting), *(plan_panel(car, setting, face, alone=alone) for face in faces)]


def small_panels(car: Car, setting: Setting) -> list[Panel]:
    """Guides, ends and gauges: what goes several to a sheet."""
    figures = setting.figures
    return [
        tail_panel(car, figures),
        *axle_guides(car, figures),
        nose_panel(car, figures),
        *gauge_panels(car, setting.gauges, figures),
    ]


def whole_drawing(car: Car, verdict: VerdictStamp, setting: Setting, faces: Sequence[Face]) -> Sheet:
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
        level -= each.room.height + _GAP_MM
    for row in _rows(small, width):
        across = 0.0
        for each in row:
            placed.append((each, across - each.room.x, level))
            across += each.room.width + _GAP_MM
        level -= max(each.room.height for each in row) + _GAP_MM
    head, head_height = _head(verdict, setting, width)
    foot = -level
    items: list[Item] = []
    for each, dx, top in placed:
        items += each.moved(dx, foot + top - each.room.top)
    items.append(moved(head, 0.0, foot + _GAP_MM))
    return Sheet(width, foot + _GAP_MM + head_height, items, "all templates, whole")


def _rows(panels: Sequence[Panel], width: float) -> list[list[Panel]]:
    """Panels side by side, a new row where the width is used up; tall ones together."""
    rows: list[list[Panel]] = []
    used = 0.0
    for each in sorted(panels, key=lambda one: (-round(one.room.height, 3), one.name)):
        if not rows or used + each.room.width > width:
            rows.append([])
            used = 0.0
        rows[-1].append(each)
        used += each.room.width + _GAP_MM
    return rows


def _head(verdict: VerdictStamp, setting: Setting, width: float) -> tuple[list[Item], float]:
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
