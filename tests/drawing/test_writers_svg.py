"""The SVG read back by svgelements and by the standard library's XML parser."""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import svgelements

from bodyshop.drawing.layout.marks import BarUnit, check_bar
from bodyshop.drawing.sheet.items import Circle, Clip, Group, Hatch, Item, Path, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.pens import Layer, Pen, pen_style
from bodyshop.drawing.sheet.shapes import line, polyline, rectangle
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.drawing.writers.svg import write_svg
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import ArcTo, CubicTo, MoveTo, Rect

_META = DocMeta("Kestrel", "Bench 4", "templates at full size", ("7f3a91c0",))
_NS = "{http://www.w3.org/2000/svg}"
# Source: CSS: 96 px to the inch, so the reader's pixels are 25.4 / 96 mm.
_PX = 25.4 / 96


def _svg(*items: Item, width: float = 297.0, height: float = 210.0) -> str:
    return write_svg(Sheet(width, height, items, "sheet 1 of 1"), _META)


def _xml(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - we wrote it ourselves


def _shapes(text: str) -> list[svgelements.Shape]:
    """Everything drawn but the white paper, in pixels."""
    found = svgelements.SVG.parse(io.StringIO(text), reify=True, ppi=96)
    shapes = [e for e in found.elements() if isinstance(e, svgelements.Shape)]
    return shapes[1:]


@pytest.mark.parametrize("paper", ["a4", "a3", "letter", "legal", "tabloid"])
def test_size_and_view_box_are_one_number(paper: str) -> None:
    size = sheet_sizes()[paper].turned
    root = _xml(_svg(width=size.width_mm, height=size.height_mm))
    assert root.get("width") == f"{size.width_mm:g}mm"
    assert root.get("height") == f"{size.height_mm:g}mm"
    assert root.get("viewBox") == f"0 0 {size.width_mm:g} {size.height_mm:g}"
    read = svgelements.SVG.parse(io.StringIO(_svg(width=size.width_mm, height=size.height_mm)), ppi=96)
    assert read.width * _PX == pytest.approx(size.width_mm, abs=0.001)
    assert read.height * _PX == pytest.approx(size.height_mm, abs=0.001)


def test_lines_to_a_micron_and_y_turned_over() -> None:
    (shape,) = _shapes(_svg(polyline(((10, 20), (117.123456, 20.5), (296.9, 209.9)), Layer.CUT)))
    ends = [segment.end for segment in shape.segments()]
    points = np.array([(p.x * _PX, 210 - p.y * _PX) for p in ends])
    expected = np.array([(10, 20), (117.123456, 20.5), (296.9, 209.9)])
    assert points == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize("unit", [BarUnit.MM, BarUnit.INCH])
def test_check_bar_length(unit: BarUnit) -> None:
    base = _shapes(_svg(*check_bar((20, 30), unit)))[0]
    length = 100 if unit is BarUnit.MM else 101.6
    assert svgelements.Path(base).length() * _PX == pytest.approx(length, abs=0.001)


@pytest.mark.parametrize("sweep", [0.4, -0.4, 2.0, -2.0, 3.5, -6.0])
def test_arcs_stay_arcs_and_turn_the_right_way(sweep: float) -> None:
    arc = ArcTo.circular((120, 90), 60, 0.7, sweep)
    text = _svg(Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT))
    (shape,) = _shapes(text)
    assert not any(isinstance(s, (svgelements.CubicBezier, svgelements.Line)) for s in shape.segments())
    for share in (0.0, 0.25, 0.5, 1.0):
        point = svgelements.Path(shape).point(share)
        expected = arc.at(0.7 + share * sweep)
        assert (point.x * _PX, 210 - point.y * _PX) == pytest.approx(expected, abs=0.01)
    assert svgelements.Path(shape).length(error=1e-9) * _PX == pytest.approx(60 * abs(sweep), abs=0.001)


@pytest.mark.parametrize("turn", [0.0, 0.5, -1.2])
@pytest.mark.parametrize("mirrored", [False, True])
def test_stretched_arcs_are_exact_ellipses(turn: float, mirrored: bool) -> None:
    # Expected: points of the circle mapped one by one.
    stretch = Affine.stretch(1.0, 1.3).then(Affine.turn(turn, (100, 100)))
    if mirrored:
        stretch = stretch.then(Affine.mirror_x(100))
    arc = ArcTo.circular((100, 70), 40, 0.2, 1.9)
    text = _svg(Group(stretch, (Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT),)))
    (shape,) = _shapes(text)
    arcs = [s for s in shape.segments() if isinstance(s, svgelements.Arc)]
    assert len(arcs) == 2
    mapped = np.array([stretch.point(arc.at(0.2 + 1.9 * k / 2000)) for k in range(2001)])
    for part in arcs:
        for share in (0.0, 0.3, 0.7, 1.0):
            p = part.point(share)
            offsets = np.hypot(mapped[:, 0] - p.x * _PX, mapped[:, 1] - (210 - p.y * _PX))
            # 2000 points on 100 mm stand 0.05 mm apart: the nearest is within half of that along the curve.
            assert offsets.min() < 0.04


def test_circles_are_circles() -> None:
    root = _xml(_svg(Circle((60, 50), 2.25, Layer.HOLE, Pen.VISIBLE)))
    (circle,) = root.iter(f"{_NS}circle")
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("60", "160", "2.25")


def test_cubics_stay_cubics() -> None:
    text = _svg(Path((MoveTo((5, 5)), CubicTo((50, 80), (200, 3), (290, 200))), Layer.CUT, Pen.CUT))
    (path,) = _xml(text).iter(f"{_NS}path")
    assert path.get("d") == "M5,205 C50,130 200,207 290,10"


def test_groups_carry_layer_pen_and_black() -> None:
    text = _svg(
        line((0, 0), (10, 0), Layer.CUT),
        line((0, 5), (10, 5), Layer.CUT),
        line((0, 9), (10, 9), Layer.HIDDEN),
        rectangle(Rect(20, 20, 10, 10), Layer.BLANK, fill_grey=0.9),
    )
    root = _xml(text)
    groups = root.findall(f"{_NS}g")
    assert [g.get("class") for g in groups] == ["cut", "outline-hidden", "blank"]
    assert [len(g) for g in groups] == [2, 1, 1]
    hidden = pen_style(Pen.HIDDEN)
    assert groups[1].get("stroke-width") == f"{hidden.width_mm:g}"
    assert groups[1].get("stroke-dasharray") == " ".join(f"{d:g}" for d in hidden.dashes_mm)
    strokes = {e.get("stroke") for e in root.iter() if e.get("stroke")}
    assert strokes <= {"black", "none"}
    greys = {e.get("fill") for e in root.iter() if e.get("fill")}
    assert greys <= {"black", "none", "white", "#e6e6e6"}


def test_text_keeps_its_words_its_width_and_its_place() -> None:
    words = "Wall < 3 mm & Ø19 “Ελλ” Ж"
    text = _svg(Text(words, (30, 40), 2.5, rotation_rad=math.pi / 2, weight=Weight.BOLD))
    (element,) = _xml(text).iter(f"{_NS}text")
    assert element.text == words
    assert float(element.get("textLength", "")) == pytest.approx(
        text_width_mm(words, 2.5, bold=True), abs=1e-5
    )
    assert element.get("transform") == "rotate(-90 30 170)"
    assert (element.get("x"), element.get("y")) == ("30", "170")
    assert element.get("font-weight") == "bold"


def test_clips_are_windows() -> None:
    text = _svg(
        Clip(Rect(10, 20, 30, 40), (line((0, 0), (100, 100), Layer.CUT),)), line((0, 0), (1, 1), Layer.CUT)
    )
    root = _xml(text)
    (clip,) = root.iter(f"{_NS}clipPath")
    assert clip[0].get("d") == "M10,190 L40,190 L40,150 L10,150 Z"
    window, free = root.findall(f"{_NS}g")
    assert window.get("clip-path") == f"url(#{clip.get('id')})"
    assert free.get("clip-path") is None


def test_the_file_says_what_it_is_and_survives_hostile_words() -> None:
    nasty = "\x00\x1b\ud800🚗 </title><script>alert(1)</script> ]]> &amp;"
    meta = DocMeta(nasty, nasty, nasty, (nasty,))
    root = _xml(write_svg(Sheet(100, 100, (Text(nasty, (5, 5), 3),), nasty), meta))
    title = root.find(f"{_NS}title")
    assert title is not None
    assert title.text is not None
    assert title.text.startswith("🚗 </title>")
    assert not list(root.iter(f"{_NS}script"))
    named = _xml(_svg())
    description = named.find(f"{_NS}desc")
    assert description is not None
    assert description.text is not None
    assert "Print at actual size (100 %)" in description.text
    assert "sheet 1 of 1" in description.text


def test_hatch_strokes_are_those_of_the_drawing() -> None:
    hatch = Hatch((((20, 20), (60, 20), (60, 50), (20, 50)),), 5, 0.0)
    shapes = _shapes(_svg(hatch))
    lengths = [svgelements.Path(s).length() * _PX for s in shapes]
    assert lengths == pytest.approx([40.0] * 5, abs=0.001)


def test_the_same_sheet_makes_the_same_text() -> None:
    items = (Text("a", (1, 1), 2), Clip(Rect(0, 0, 5, 5), (line((0, 0), (9, 9), Layer.CUT),)))
    assert _svg(*items) == _svg(*items)
    assert _svg(*items).endswith("</svg>\n")
