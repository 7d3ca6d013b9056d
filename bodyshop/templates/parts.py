"""Which drawings a template set is made of, and how they go on the fewest sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bodyshop.assembly import Car
from bodyshop.drawing.frame import MARGIN_MM, content_window
from bodyshop.drawing.items import Item, Sheet
from bodyshop.drawing.tileplan import TilePlan, plan_tiles
from bodyshop.stock.sheets import SheetSize
from bodyshop.templates.ordering import Words, ends_alone, ends_and_words, words_alone
from bodyshop.templates.plan import face_for, plan_panel
from bodyshop.templates.side import side_panel
from bodyshop.templates.view import Panel, Setting

__all__ = ["Part", "end_parts", "template_parts"]

_GAP_MM = 4.0


@dataclass(frozen=True, slots=True)
class Part:
    """A drawing that goes on sheets of its own, its lower left corner the origin."""

    document: str
    content: Sheet

    def planned(self, size: SheetSize) -> TilePlan:
        """How it goes on sheets of that size."""
        # Nothing sticks out of a part's size, so that its items need not be gone through.
        return plan_tiles(replace(self.content, items=()), size)


def template_parts(car: Car, setting: Setting, size: SheetSize) -> list[Part]:
    """Side and plan one over the other, or each by itself where that takes fewer sheets or less glue.

    They are drawn twice when they have to be joined from tiles, so that words keep off the seams.
    """
    face = face_for(car.design.blank)

    def panels(drawn: Setting) -> tuple[Panel, Panel]:
        return side_panel(car, drawn), plan_panel(car, drawn, face)

    side, plan = panels(setting)
    together: dict[str, tuple[Panel, ...]] = {f"side and {face.value} templates": (side, plan)}
    apart: dict[str, tuple[Panel, ...]] = {"side template": (side,), f"{face.value} template": (plan,)}
    parts: list[Part] = []
    for document, chosen in min((together, apart), key=lambda way: _cost(way, size)).items():
        part = Part(document, _stack(chosen))
        seams = _seams(part.planned(size), min(each.room.x for each in chosen))
        if seams:
            redrawn = {each.name: each for each in panels(replace(setting, seams=seams))}
            part = Part(document, _stack([redrawn[each.name] for each in chosen]))
        parts.append(part)
    return parts


def end_parts(panels: Sequence[Panel], words: Words, lying: SheetSize) -> list[Part]:
    """Ends and words on one sheet, best lying like the templates, or by themselves when that is too small."""
    rooms = [content_window(size, MARGIN_MM) for size in (lying, lying.turned)]
    both = ends_and_words(panels, words, rooms)
    if both is not None:
        return [Part("ends and order of work", both)]
    ends = ends_alone(panels, rooms[0])
    if ends is not None:
        parts = [Part("tail and nose ends", ends)]
    else:
        parts = [Part(f"{each.name} end", _stack([each])) for each in panels]
    return [*parts, Part("order of work", words_alone(words, rooms[0]))]


def _cost(way: dict[str, tuple[Panel, ...]], size: SheetSize) -> tuple[int, int]:
    """Sheets, and how many of them are glued."""
    counts = [Part(document, _stack(panels)).planned(size).count for document, panels in way.items()]
    return sum(counts), sum(count for count in counts if count > 1)


def _seams(plan: TilePlan, left: float) -> tuple[float, ...]:
    """Where a drawing will be joined along x, in the coordinates of its panels, which begin at `left`."""
    return tuple(
        plan.part(column, 0).right - plan.overlap_mm / 2 + left for column in range(plan.columns - 1)
    )


def _stack(panels: Sequence[Panel]) -> Sheet:
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
