"""Small templates on sheets together: nothing is lost, nothing is cut, few sheets are used."""

from __future__ import annotations

import itertools

import pytest

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import sheet_size
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import Lettering, bounds, replay, text_box
from bodyshop.drawing.sheet.shapes import rectangle
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.nesting import with_small
from bodyshop.output.papers.templates.ordering import Words
from bodyshop.output.papers.templates.view import Panel
from bodyshop.output.papers.templates.views import SheetDrawing
from tests.output.template_cars import FAILING, PASSING

STEPS = [f"Step {number}: saw, drill or sand what the template says, then check it." for number in range(9)]
CAUTIONS = ["Use the drill press only when you have been shown how.", "Your teacher goes first."]
WORDS = Words(PASSING, STEPS, CAUTIONS)


def panel(name: str, width: float, height: float) -> Panel:
    """A panel that is one rectangle, away from its own origin."""
    room = Rect(-30.0, 12.0, width, height)
    return Panel(name, (rectangle(room, Layer.BLANK, Pen.ADJACENT),), room)


def large(width: float, height: float) -> SheetDrawing:
    drawn = rectangle(Rect(0.0, 0.0, width, height), Layer.CUT, Pen.CUT)
    return SheetDrawing("side template", Sheet(width, height, (drawn,)))


SMALL = [
    panel("tail", 70, 100),
    panel("nose", 60, 90),
    panel("front axle guide", 90, 60),
    panel("rear axle guide", 110, 60),
    *(panel(f"gauge G{k}", 45, 70) for k in range(1, 12)),
]


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "a2", "legal", "roll:610", "roll:300", "210x250"])
@pytest.mark.parametrize("count", [2, 4, 15])
@pytest.mark.parametrize("stamp", [PASSING, FAILING])
def test_every_panel_is_there_once_and_whole(paper: str, count: int, stamp: object) -> None:
    size = sheet_size(paper)
    words = Words(stamp, STEPS, CAUTIONS)  # type: ignore[arg-type]
    parts = with_small([large(400, 160)], SMALL[:count], words, size)
    found: list[tuple[float, float]] = []
    told = 0
    for part in parts:
        plan = part.planned(size)
        whole = Rect(0.0, 0.0, part.content.width_mm, part.content.height_mm)
        boxes: list[Rect] = []
        for item in part.content.items:
            box = bounds([item])
            assert box is not None
            assert whole.holds(box, 0.01), part.document
            words_in = [d.text for d in replay(Sheet(0, 0, (item,))) if isinstance(d, Lettering)]
            told += words_in == ["Order of work"]
            if not words_in and not any(b.holds(box) for b in boxes):
                boxes.append(box)
                found.append((round(box.width, 3), round(box.height, 3)))
        if plan.count == 1:
            for one, other in itertools.combinations(boxes, 2):
                assert not one.inset(0.01).touches(other.inset(0.01)), part.document
    assert told == 1
    for each in SMALL[:count]:
        wanted = (round(each.room.width, 3), round(each.room.height, 3))
        assert found.count(wanted) >= sum((p.room.width, p.room.height) == wanted for p in SMALL[:count])
    assert (400.0, 160.0) in found


@pytest.mark.parametrize(
    ("paper", "count", "sheets"), [("a2", 4, 1), ("roll:610", 15, 1), ("500x900", 15, 1), ("a3", 4, 2)]
)
def test_fewest_sheets(paper: str, count: int, sheets: int) -> None:
    size = sheet_size(paper)
    parts = with_small([large(330, 240)], SMALL[:count], WORDS, size)
    assert sum(part.planned(size).count for part in parts) == sheets


def test_sheets_are_called_by_what_is_on_them() -> None:
    size = sheet_size("a2")
    (part,) = with_small([large(330, 240)], SMALL[:8], WORDS, size)
    names = "side template, tail, axle guides, gauges G1 G2 G3 G4, nose and order of work"
    assert sorted(part.document.replace(" and ", ", ").split(", ")) == sorted(
        names.replace(" and ", ", ").split(", ")
    )


def test_a_panel_larger_than_the_sheet_is_tiled() -> None:
    size = sheet_size("a4")
    parts = with_small([large(330, 160)], [panel("tail", 70, 100), panel("ruler", 600, 40)], WORDS, size)
    counts = {part.document: part.planned(size).count for part in parts}
    assert counts["ruler"] >= 3
    assert sum("tail" in name for name in counts) == 1


def test_words_do_not_stand_on_panels() -> None:
    size = sheet_size("a3")
    for part in with_small([large(330, 200)], SMALL[:6], WORDS, size):
        drawn = list(replay(Sheet(0, 0, part.content.items)))
        texts = [text_box(each) for each in drawn if isinstance(each, Lettering)]
        panels = [bounds([item]) for item in part.content.items]
        for box in panels:
            if box is None or (box.width, box.height) not in {(p.room.width, p.room.height) for p in SMALL}:
                continue
            for corners in texts:
                low, high = corners[0], corners[2]
                rect = Rect(low[0], low[1], high[0] - low[0], high[1] - low[1])
                assert not rect.touches(box)
