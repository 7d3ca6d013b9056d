"""DXF files read back with ezdxf's reader: units, layers, line kinds, entities, bytes."""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
from pathlib import Path as PathOnDisk
from typing import Any

import ezdxf
import pytest
from ezdxf.filemanagement import read as read_dxf

from bodyshop.drawing.sheet.items import Circle, Clip, Group, Hatch, Item, Path, Sheet, Text
from bodyshop.drawing.sheet.pens import Layer, Pen, pen_style
from bodyshop.drawing.sheet.shapes import circle, filled, line, polygon, polyline, rectangle
from bodyshop.drawing.writers.dxf import layer_name, write_dxf
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Rect
from tests.output.template_cars import sample_set
from tests.output.template_files import dxf_of

META = DocMeta("Wren: templates", "Bench 2", "templates", ("ABCD-EFGH", "PASSES"))


def read(data: bytes) -> Any:
    document = read_dxf(io.StringIO(data.decode("utf-8")))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    return document


def written(*items: Item, size: tuple[float, float] = (200.0, 100.0)) -> list[Any]:
    return list(read(write_dxf(Sheet(*size, items), META)).modelspace())


def one(*items: Item) -> Any:
    (entity,) = written(*items)
    return entity


def test_a_unit_is_a_millimetre_and_the_sheet_is_where_it_should_be() -> None:
    document = read(write_dxf(Sheet(210, 297, [line((1, 2), (3, 4), Layer.CUT)], "sheet 1 of 2"), META))
    # DXF reference, HEADER: $INSUNITS 4 is millimetres, $MEASUREMENT 1 is metric.
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert document.dxfversion == "AC1024"
    assert tuple(document.header["$EXTMAX"])[:2] == (210, 297)
    told = dict(document.header.custom_vars.properties)
    assert told["title"] == "Wren: templates"
    assert told["keywords"] == "ABCD-EFGH, PASSES"
    assert told["unit"] == "millimetre"


def test_layers_have_trade_names_line_kinds_and_widths() -> None:
    items = [line((0, k), (10, k), layer) for k, layer in enumerate(Layer)]
    document = read(write_dxf(Sheet(50, 50, items), META))
    names = {layer.dxf.name for layer in document.layers} - {"0", "Defpoints"}
    assert names == {layer_name(layer) for layer in Layer}
    assert {"cut", "saw", "relief-cut", "blank", "centre", "hidden", "hole", "datum", "waste"} <= names
    cut, centre = document.layers.get("cut"), document.layers.get("centre")
    assert cut.dxf.lineweight == round(100 * pen_style(Pen.CUT).width_mm) == 50
    assert cut.description
    assert centre.dxf.linetype == "CENTRE"
    # The pattern is in drawing units, which are mm: group 40 is its whole length.
    pattern = document.linetypes.get("CENTRE").pattern_tags.tags
    assert next(tag.value for tag in pattern if tag.code == 40) == pytest.approx(
        sum(pen_style(Pen.CENTRE).dashes_mm)
    )
    for entity in document.modelspace():
        assert not entity.dxf.hasattr("linetype"), "by layer"
        assert not entity.dxf.hasattr("lineweight"), "by layer"


def test_another_pen_than_the_layer_s_is_said() -> None:
    entity = one(line((0, 0), (1, 1), Layer.BLANK, Pen.VISIBLE))
    assert (entity.dxf.linetype.upper(), entity.dxf.lineweight) == ("CONTINUOUS", 35)


def test_lines_and_polylines() -> None:
    entity = one(line((1, 2), (3, 4), Layer.CUT))
    assert entity.dxftype() == "LINE"
    assert tuple(entity.dxf.start)[:2] == (1, 2)
    ring = one(rectangle(Rect(1, 2, 30, 20), Layer.BLANK))
    assert (ring.dxftype(), ring.closed, len(ring)) == ("LWPOLYLINE", True, 4)
    chain = one(polyline(((0, 0), (1, 0), (1, 1)), Layer.TEXT))
    assert (chain.dxftype(), chain.closed, len(chain)) == ("LWPOLYLINE", False, 3)


def test_circles_and_arcs_of_either_sense() -> None:
    whole = one(circle((5, 6), 7, Layer.HOLE))
    assert (whole.dxftype(), tuple(whole.dxf.center)[:2], whole.dxf.radius) == ("CIRCLE", (5, 6), 7)
    left = ArcTo.circular((0, 0), 10, 0.0, math.pi / 2)
    right = ArcTo.circular((0, 0), 10, math.pi / 2, -math.pi / 2)
    for arc in (left, right):
        entity = one(Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT))
        assert entity.dxftype() == "ARC"
        # An ARC runs anticlockwise, whichever way it was drawn.
        assert (entity.dxf.start_angle, entity.dxf.end_angle) == (0, 90)
    mirrored = one(Group(Affine.mirror_y(), (Path((MoveTo(left.begin), left), Layer.CUT, Pen.CUT),)))
    assert (mirrored.dxf.start_angle, mirrored.dxf.end_angle) == (-90, 0)


@pytest.mark.parametrize("sweep", [1.0, -1.0, 2 * math.pi])
def test_a_stretched_arc_is_an_ellipse(sweep: float) -> None:
    arc = ArcTo.circular((10, 5), 8, 0.4, sweep)
    entity = one(Group(Affine.stretch(1.25, 1.0), (Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT),)))
    assert entity.dxftype() == "ELLIPSE"
    assert tuple(entity.dxf.center)[:2] == (12.5, 5)
    assert abs(entity.dxf.major_axis.x) == pytest.approx(10)
    assert entity.dxf.ratio == pytest.approx(0.8)
    ends = {(round(p.x, 5), round(p.y, 5)) for p in (entity.start_point, entity.end_point)}
    if abs(sweep) < 6:
        expected = [arc.at(angle) for angle in (0.4, 0.4 + sweep)]
        assert ends == {(round(1.25 * x, 5), round(y, 5)) for x, y in expected}
        middle = arc.at(0.4 + sweep / 2)
        found = [(p.x, p.y) for p in entity.flattening(1e-4)]
        assert min(math.dist(p, (1.25 * middle[0], middle[1])) for p in found) < 0.05


def test_a_cubic_is_a_spline_with_its_own_control_points() -> None:
    entity = one(Path((MoveTo((0, 0)), CubicTo((1, 5), (6, 5), (9, 0.5))), Layer.CUT, Pen.CUT))
    assert entity.dxftype() == "SPLINE"
    assert entity.dxf.degree == 3
    assert [tuple(p)[:2] for p in entity.control_points] == [(0, 0), (1, 5), (6, 5), (9, 0.5)]
    middle = entity.construction_tool().point(entity.knots[-1] / 2)
    # (p0 + 3 p1 + 3 p2 + p3) / 8
    assert (middle.x, middle.y) == pytest.approx((3.75, 3.8125))


def test_text_is_text() -> None:
    entity = one(Text("Ø 4 ä", (10, 20), 2.5, rotation_rad=math.pi / 2))
    assert (entity.dxftype(), entity.dxf.text, entity.dxf.height) == ("TEXT", "Ø 4 ä", 2.5)
    assert entity.dxf.rotation == pytest.approx(90)
    assert tuple(entity.dxf.insert)[:2] == pytest.approx((10, 20))
    bold, regular = (entity.doc.styles.get(name).dxf.font for name in ("lettering-bold", "lettering"))
    assert bold != regular


def test_words_cannot_be_commands() -> None:
    # DXF reference, TEXT: %% and ^ begin commands; \U+ a character.
    entity = one(Text("50%%d ^J \\U+0041", (0, 0), 2.5))
    assert entity.plain_text() != "50° \n A"
    assert "%%d" not in entity.dxf.text
    assert "\\U+" not in entity.dxf.text


@pytest.mark.parametrize(
    ("words", "stored"), [("2^3", "2^ 3"), ("^J", "^ J"), ("a^b", "a^ b"), ("^I^M", "^ I^ M")]
)
def test_a_caret_in_words_stays_a_caret(words: str, stored: str) -> None:
    # DXF reference, string values: ^ and a letter is a control character, ^ and a space is the caret itself.
    entity = one(Text(words, (0, 0), 2.5))
    assert entity.dxf.text == stored
    assert entity.plain_text() == words


def test_what_a_clip_hides_is_not_in_the_file() -> None:
    inside = Clip(
        Rect(0, 0, 50, 50),
        (
            line((-10, 10), (100, 10), Layer.CUT),
            circle((50, 25), 5, Layer.HOLE),
            Text("in", (10, 10), 2.5),
            Text("out", (80, 10), 2.5),
            polygon(((60, 1), (61, 1), (61, 2)), Layer.DIMENSION, None, 0.0),
        ),
    )
    kinds = {entity.dxftype(): entity for entity in written(inside)}
    assert set(kinds) == {"LINE", "ARC", "TEXT"}
    assert (kinds["LINE"].dxf.start.x, kinds["LINE"].dxf.end.x) == pytest.approx((0, 50))
    assert (kinds["ARC"].dxf.start_angle, kinds["ARC"].dxf.end_angle % 360) == pytest.approx((90, 270))
    assert kinds["TEXT"].dxf.text == "in"


def test_white_paper_takes_the_hatching_away_and_nothing_else() -> None:
    hatch = Hatch((((0, 0), (40, 0), (40, 40), (0, 40)),), 5.0, 0.0)
    cut = line((0, 12), (40, 12), Layer.CUT)
    for entity in written(hatch, cut, filled(Rect(10, 10, 20, 10), Layer.TEXT, 1.0)):
        x0, x1 = sorted((entity.dxf.start.x, entity.dxf.end.x))
        if entity.dxf.layer == "cut":
            assert (x0, x1) == (0, 40)
        elif 10 < entity.dxf.start.y < 20:
            assert x1 <= 10 + 1e-9 or x0 >= 30 - 1e-9


def test_fills() -> None:
    corners = (MoveTo((0, 0)), LineTo((2, 1)), LineTo((2, -1)))
    arrow = one(Path(corners, Layer.DIMENSION, None, closed=True, fill_grey=0.0))
    assert arrow.dxftype() == "SOLID"
    grey = one(filled(Rect(0, 0, 5, 5), Layer.BORDER, 0.75))
    assert grey.dxftype() == "HATCH"
    assert grey.rgb == (191, 191, 191)
    disc = one(Circle((3, 3), 1.0, Layer.DATUM, None, 0.0))
    assert disc.dxftype() == "HATCH"


def test_specks_and_empty_words_are_left_out() -> None:
    assert written(line((1, 1), (1, 1), Layer.CUT), Text("  ", (0, 0), 2.5)) == []


def test_the_same_sheet_makes_the_same_bytes() -> None:
    made = sample_set("kestrel", "a4")
    first = dxf_of(made)
    assert first == dxf_of(made)
    assert list(first) == [f"templates-{k}.dxf" for k in range(1, len(made.sheets) + 1)]
    for data in first.values():
        text = data.decode("utf-8")
        assert "ezdxf" not in text.partition("ENTITIES")[2].partition("ENDSEC")[0]
        assert str(PathOnDisk.home()) not in text


_PROGRAM = """
import hashlib
from bodyshop.drawing.sheet.items import Sheet, Text
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import circle, filled, line
from bodyshop.drawing.sheet.items import Rect
from bodyshop.drawing.writers.dxf import write_dxf
from bodyshop.drawing.writers.meta import DocMeta
items = [line((0, k), (9, k), layer) for k, layer in enumerate(Layer)]
items += [circle((5, 5), 3, Layer.HOLE), Text("Wren", (1, 1), 2.5)]
items += [filled(Rect(0, 0, 5, 5), Layer.BORDER, 0.5)]
print(hashlib.sha256(write_dxf(Sheet(50, 50, items), DocMeta("Wren"))).hexdigest())
"""


def test_another_run_makes_the_same_bytes() -> None:
    """Two interpreters that keep their sets in different orders."""
    found = {
        subprocess.run(
            [sys.executable, "-c", _PROGRAM],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(found) == 1


def test_a_library_set_to_stamp_dates_is_left_as_it_was() -> None:
    library: Any = ezdxf
    before = library.options.write_fixed_meta_data_for_testing
    write_dxf(Sheet(10, 10, [LINE]), META)
    assert library.options.write_fixed_meta_data_for_testing == before


LINE = line((0, 0), (1, 1), Layer.CUT)


def test_nothing_is_shared_by_two_files() -> None:
    first = write_dxf(Sheet(10, 10, [LINE]), META)
    write_dxf(Sheet(20, 20, [circle((5, 5), 2, Layer.HOLE), LINE]), META)
    assert write_dxf(Sheet(10, 10, [LINE]), META) == first
    assert b"hole" not in first


def test_a_closed_path_of_lines_and_an_arc_is_closed() -> None:
    arc = ArcTo.circular((10, 10), 10, -math.pi / 2, math.pi / 2)
    path = Path((MoveTo((0, 0)), LineTo((10, 0)), arc, LineTo((20, 20))), Layer.CUT, Pen.CUT, closed=True)
    kinds = sorted(entity.dxftype() for entity in written(path))
    assert kinds == ["ARC", "LINE", "LWPOLYLINE"]
