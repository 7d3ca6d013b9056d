"""The PDF read back by two readers that did not write it: pypdf and pypdfium2."""

from __future__ import annotations

import ctypes
import io
import math
import os
import pathlib
import subprocess
import sys
from typing import Any, cast

import numpy as np
import pypdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from bodyshop.drawing.layout.frame import PRINT_NOTE, TitleBlock
from bodyshop.drawing.layout.marks import BarUnit, check_bar
from bodyshop.drawing.layout.tiling import tile
from bodyshop.drawing.sheet.items import Circle, Clip, Group, Hatch, Item, Path, Sheet, Text, Weight
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import line, polyline, rectangle
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.drawing.writers.pdf import write_pdf
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Rect

# Source: ISO 32000-1, 8.3.2.3: a user unit is 1/72 inch; an inch is 25.4 mm exactly.
_MM = 25.4 / 72
_META = DocMeta("Kestrel", "Bench 4", "templates at full size", ("quarry-lane", "7f3a91c0"))


def _paths(data: bytes, page: int = 0) -> list[list[Point]]:
    """The points of every path object of a page, in mm, as pypdfium2 reads them."""
    document = pypdfium2.PdfDocument(data)
    found: list[list[Point]] = []
    for thing in document[page].get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        points: list[Point] = []
        for k in range(pdfium.FPDFPath_CountSegments(thing.raw)):
            segment = pdfium.FPDFPath_GetPathSegment(thing.raw, k)
            x, y = ctypes.c_float(), ctypes.c_float()
            pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            points.append((x.value * _MM, y.value * _MM))
        found.append(points)
    document.close()
    return found


def _one_page(*items: Item, width: float = 297.0, height: float = 210.0) -> bytes:
    return write_pdf([Sheet(width, height, items)], _META)


def _content() -> Sheet:
    items: list[Item] = [
        rectangle(Rect(0, 0, 305, 70), Layer.BLANK),
        polyline(((0, 20), (120, 60), (305, 40)), Layer.CUT),
        Text("Wren, Ελληνικά, Кириллица", (20, 90), 3),
        Hatch((((200, 10), (260, 10), (260, 30)),), 2, math.pi / 4),
    ]
    return Sheet(305, 100, items)


@pytest.mark.parametrize("paper", ["a4", "a3", "a2", "letter", "legal", "tabloid"])
def test_page_sizes(paper: str) -> None:
    size = sheet_sizes()[paper]
    data = write_pdf([Sheet(s.width_mm, s.height_mm, ()) for s in (size, size.turned)], _META)
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    assert len(pages) == 2
    for page, lying in zip(pages, (size, size.turned), strict=True):
        sides = (float(page.mediabox.width) * _MM, float(page.mediabox.height) * _MM)
        assert sides == pytest.approx((lying.width_mm, lying.height_mm), abs=0.001)
        assert page.rotation == 0
        assert "/UserUnit" not in page
    document = pypdfium2.PdfDocument(data)
    sides = tuple(side * _MM for side in document[1].get_size())
    assert sides == pytest.approx((size.height_mm, size.width_mm), abs=0.001)


def test_the_file_asks_for_actual_size_and_says_what_it_is() -> None:
    reader = pypdf.PdfReader(io.BytesIO(_one_page()))
    preferences = cast(dict[str, str], reader.root_object["/ViewerPreferences"])
    assert preferences["/PrintScaling"] == "/None"
    assert reader.metadata is not None
    assert reader.metadata.title == "Kestrel"
    assert reader.metadata.author == "Bench 4"
    assert reader.metadata.subject == "templates at full size"
    assert str(reader.metadata["/Keywords"]) == "quarry-lane, 7f3a91c0"
    assert reader.metadata.creator == reader.metadata.producer == "bodyshop"


def test_only_embedded_subsets_of_our_own_fonts_are_used() -> None:
    data = _one_page(Text("plain", (10, 10), 3), Text("bold", (10, 20), 3, weight=Weight.BOLD))
    names = set()
    resources = cast(dict[str, Any], pypdf.PdfReader(io.BytesIO(data)).pages[0]["/Resources"])
    for reference in resources["/Font"].values():
        font = reference.get_object()
        names.add(font["/BaseFont"])
        program = font["/FontDescriptor"]["/FontFile2"].get_object().get_data()
        assert program[:4] == b"\0\1\0\0"
        assert len(program) < 40_000
    assert names == {"/AAAAAA+DejaVuSansCondensed", "/AAAAAA+DejaVuSansCondensed-Bold"}


def test_lines_and_cubics_to_a_micron() -> None:
    points = ((10.0, 20.0), (117.123456, 20.5), (296.9, 209.9), (0.333333, 100.0))
    cubic = Path((MoveTo((5, 5)), CubicTo((50, 80), (200.5, -3), (290, 200))), Layer.CUT, Pen.CUT)
    first, second = _paths(_one_page(polyline(points, Layer.CUT), cubic))
    assert np.array(first) == pytest.approx(np.array(points), abs=0.001)
    assert np.array(second) == pytest.approx(np.array([(5, 5), (50, 80), (200.5, -3), (290, 200)]), abs=0.001)


def test_far_corner_of_the_largest_sheet() -> None:
    size = sheet_sizes()["a2"].turned
    end = (size.width_mm - 8.0, size.height_mm - 8.0)
    ((_, found),) = _paths(
        _one_page(line((8, 8), end, Layer.CUT), width=size.width_mm, height=size.height_mm)
    )
    assert found == pytest.approx(end, abs=0.001)


def _on_curve(points: list[Point]) -> np.ndarray:
    """Points along the cubics of a path whose segments are a move and then only cubics."""
    p = np.array(points)
    t = np.linspace(0, 1, 11)[:, None]
    pieces = []
    for k in range(0, len(p) - 3, 3):
        a, b, c, d = p[k : k + 4]
        pieces.append((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)
    return np.concatenate(pieces)


def test_arcs_circles_and_ellipses_keep_their_shape() -> None:
    arc = ArcTo.circular((150, 20), 140, 0.1, 2.8)
    circle = Circle((60, 60), 25, Layer.HOLE, Pen.VISIBLE)
    stretched = Group(Affine.stretch(1.0, 1.5), (Circle((200, 80), 20, Layer.HOLE, Pen.VISIBLE),))
    data = _one_page(Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT), circle, stretched)
    on_arc, on_circle, on_ellipse = (_on_curve(points) for points in _paths(data))
    assert np.abs(np.hypot(on_arc[:, 0] - 150, on_arc[:, 1] - 20) - 140).max() < 0.001
    assert on_arc[-1] == pytest.approx(arc.end, abs=0.001)
    assert np.abs(np.hypot(on_circle[:, 0] - 60, on_circle[:, 1] - 60) - 25).max() < 0.001
    shape = np.hypot((on_ellipse[:, 0] - 200) / 20, (on_ellipse[:, 1] - 120) / 30)
    assert np.abs(shape - 1).max() < 0.001 / 30


def test_text_can_be_searched_in_every_script() -> None:
    words = ["Kestrel Ø 19 ± 0.5", "Ελληνικά", "Кириллица", "Łódź Đỗ", "a <b> & 'c' (d) \\ e"]
    data = _one_page(*(Text(w, (20, 20 + 12 * k), 3) for k, w in enumerate(words)))
    text = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    for w in words:
        assert w in text
    other = pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert all(w in other for w in words[:4])


def test_text_stands_where_it_should_and_is_as_tall_as_it_says() -> None:
    data = _one_page(Text("HHHH", (50, 80), 5))
    page = pypdfium2.PdfDocument(data)[0]
    (thing,) = page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT])
    left, bottom, right, top = (side * _MM for side in thing.get_bounds())
    # The H of this font has about a tenth of its height of empty room at each side.
    assert left == pytest.approx(50, abs=1)
    assert bottom == pytest.approx(80, abs=0.05)
    assert top - bottom == pytest.approx(5, abs=0.05)
    assert right > 60


def test_hostile_text_and_metadata_do_not_break_the_file() -> None:
    nasty = "\x00\ud800🚗 שלום \u202e) Tj ET endstream endobj %"
    data = write_pdf([Sheet(210, 297, (Text(nasty, (10, 10), 3),))], DocMeta(nasty, nasty, nasty, (nasty,)))
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    assert len(reader.pages) == 1
    assert "endstream endobj" in reader.pages[0].extract_text()
    assert reader.metadata is not None
    assert "\x00" not in str(reader.metadata.title)


def test_a_document_needs_a_sheet() -> None:
    with pytest.raises(ValueError, match="at least one"):
        write_pdf([], _META)


def test_clips_hide_and_fills_have_holes() -> None:
    ring = Path(
        (
            *(MoveTo((20, 20)), LineTo((80, 20)), LineTo((80, 80)), LineTo((20, 80))),
            *(MoveTo((40, 40)), LineTo((60, 40)), LineTo((60, 60)), LineTo((40, 60))),
        ),
        Layer.CUT,
        None,
        closed=True,
        fill_grey=0.5,
    )
    clipped = Clip(Rect(100, 20, 20, 20), (rectangle(Rect(100, 20, 60, 60), Layer.CUT, fill_grey=0.0),))
    image = _raster(_one_page(ring, clipped, width=200, height=100), dpi=127)

    def grey(x: float, y: float) -> int:
        return int(image[round((100 - y) * 5), round(x * 5)])

    assert grey(30, 30) == pytest.approx(127, abs=3)
    assert grey(50, 50) == 255
    assert grey(110, 30) == 0
    assert grey(130, 30) == 255
    assert grey(110, 50) == 255


def _raster(data: bytes, dpi: float) -> np.ndarray:
    page = pypdfium2.PdfDocument(data)[0]
    return np.asarray(page.render(scale=dpi / 72, grayscale=True).to_numpy())


@pytest.mark.parametrize("unit", [BarUnit.MM, BarUnit.INCH])
@pytest.mark.parametrize("upright", [False, True])
def test_check_bars_measure_true_at_600_dpi(unit: BarUnit, upright: bool) -> None:
    # A sheet just larger than the bar keeps the picture small.
    width, height = (20.0, 130.0) if upright else (130.0, 20.0)
    bar = check_bar((14, 12) if upright else (12, 6), unit, upright=upright)
    image = _raster(_one_page(*bar, width=width, height=height), dpi=600)
    pixel = 25.4 / 600
    if upright:
        image = image.T[:, ::-1]
        row = round((14 - 1.5) / pixel)
    else:
        row = round((20 - 6 - 1.5) / pixel)
    dark = np.flatnonzero(image[row] < 128)
    # Runs of dark pixels across the ticks; their middles are the ticks.
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    ticks = [(run[0] + run[-1] + 1) / 2 * pixel for run in runs]
    length = 100.0 if unit is BarUnit.MM else 4 * 25.4
    assert len(ticks) == (11 if unit is BarUnit.MM else 9)
    assert ticks[-1] - ticks[0] == pytest.approx(length, abs=0.1)
    steps = np.diff(ticks)
    assert np.abs(steps - length / (len(ticks) - 1)).max() < 0.1
    assert ticks[0] == pytest.approx(12, abs=0.1)


def test_the_outline_of_tiles_is_at_full_size_on_paper() -> None:
    sheets = tile(_content(), sheet_sizes()["a4"], TitleBlock("Wren", "profile"))
    assert len(sheets) == 2
    data = write_pdf(sheets, _META)
    shapes = []
    for page in (0, 1):
        cut = [points for points in _paths(data, page) if len(points) == 3]
        ((a, b, c),) = [p for p in cut if math.dist(p[0], p[2]) > 250]
        shapes.append(np.array([b, c]) - np.array(a))
    assert shapes[0] == pytest.approx(np.array([(120, 40), (305, 20)]), abs=0.002)
    assert shapes[0] == pytest.approx(shapes[1], abs=0.002)
    text = pypdfium2.PdfDocument(data)[1].get_textpage().get_text_range()
    assert PRINT_NOTE in text


_SCRIPT = """
import hashlib, sys
sys.path.insert(0, {tests!r})
from test_writers_pdf import _content, _META
from bodyshop.drawing.layout.tiling import tile
from bodyshop.drawing.layout.frame import TitleBlock
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.writers.pdf import write_pdf
from bodyshop.drawing.writers.svg import write_svg
sheets = tile(_content(), sheet_sizes()["a4"], TitleBlock("Wren", "profile"))
print(hashlib.sha256(write_pdf(sheets, _META)).hexdigest())
print(hashlib.sha256("".join(write_svg(s, _META) for s in sheets).encode()).hexdigest())
"""


def test_the_same_sheets_make_the_same_bytes() -> None:
    sheets = tile(_content(), sheet_sizes()["a4"], TitleBlock("Wren", "profile"))
    first = write_pdf(sheets, _META)
    # A document with other characters in between must leave no trace.
    write_pdf([Sheet(210, 297, (Text("ЖЩΩ", (10, 10), 3, weight=Weight.BOLD),))], _META)
    assert write_pdf(sheets, _META) == first
    assert b"/Filter" not in first


def test_the_same_bytes_in_every_process() -> None:
    script = _SCRIPT.format(tests=str(pathlib.Path(__file__).parent))
    outputs = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("0", "1")
    }
    assert len(outputs) == 1
    assert len(outputs.pop().split()) == 2
