"""Templates as PDF, read back with PDFium (pypdfium2) and pypdf: nothing of ours takes part in the reading.

Bars, from the promise made for templates: 0.01 mm in the file, 0.1 mm in a raster of 600 dots an inch,
0.05 mm between tiles laid on each other by their register crosses.
"""

from __future__ import annotations

import ctypes
import io
import itertools
import math
import os
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
import pypdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import shapely

from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.output.papers.templates import template_set
from tests.output.template_cars import (
    PASSING,
    PLAN,
    PROFILE,
    car_of,
    sample,
    sample_set,
    samples,
    straight_text,
)
from tests.output.template_files import pdf_of, svg_of

# Source: ISO 32000-1, 8.3.2.3: a user unit is 1/72 inch; an inch is 25.4 mm exactly.
MM = 25.4 / 72
CUT_MM, HOLE_MM, NARROW_MM = 0.5, 0.35, 0.18
Array = np.ndarray


@dataclass(frozen=True)
class Stroke:
    """A stroked path of a page in mm: each stretch as points close together, its pen, and what clips it."""

    stretches: tuple[Array, ...]
    width: float
    clip: tuple[float, float, float, float] | None

    @property
    def points(self) -> Array:
        return np.concatenate(self.stretches)


def strokes(page: pypdfium2.PdfPage) -> list[Stroke]:
    found = []
    for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
        mode, stroked = ctypes.c_int(), ctypes.c_int()
        assert pdfium.FPDFPath_GetDrawMode(thing.raw, mode, stroked)
        if not stroked.value:
            continue
        width = ctypes.c_float()
        assert pdfium.FPDFPageObj_GetStrokeWidth(thing.raw, width)
        stretches = tuple(stretch * MM for stretch in _stretches(thing))
        found.append(Stroke(stretches, width.value * MM, _clip(thing)))
    return found


def _stretches(thing: pypdfium2.PdfObject) -> list[Array]:
    matrix = thing.get_matrix()
    stretches: list[list[tuple[float, float]]] = []
    waiting: list[tuple[float, float]] = []
    for k in range(pdfium.FPDFPath_CountSegments(thing.raw)):
        segment = pdfium.FPDFPath_GetPathSegment(thing.raw, k)
        x, y = ctypes.c_float(), ctypes.c_float()
        assert pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        point = matrix.on_point(x.value, y.value)
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            stretches.append([point])
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            stretches[-1].append(point)
        else:
            waiting.append(point)
            if len(waiting) == 3:
                stretches[-1] += _cubic(stretches[-1][-1], *waiting)
                waiting = []
        # Some versions draw the closing line themselves, some leave it to the reader.
        if pdfium.FPDFPathSegment_GetClose(segment) and stretches[-1][-1] != stretches[-1][0]:
            stretches[-1].append(stretches[-1][0])
    return [np.array(stretch) for stretch in stretches]


def _cubic(*corners: tuple[float, float]) -> list[tuple[float, float]]:
    t = np.linspace(0, 1, 65)[1:, None]
    a, b, c, d = (np.array(corner) for corner in corners)
    points = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d
    return [(float(x), float(y)) for x, y in points]


def _clip(thing: pypdfium2.PdfObject) -> tuple[float, float, float, float] | None:
    clip = pdfium.FPDFPageObj_GetClipPath(thing.raw)
    corners = []
    for path in range(max(0, pdfium.FPDFClipPath_CountPaths(clip))):
        for k in range(pdfium.FPDFClipPath_CountPathSegments(clip, path)):
            segment = pdfium.FPDFClipPath_GetPathSegment(clip, path, k)
            x, y = ctypes.c_float(), ctypes.c_float()
            assert pdfium.FPDFPathSegment_GetPoint(segment, x, y)
            corners.append((x.value * MM, y.value * MM))
    if not corners:
        return None
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def drawn_with(found: Sequence[Stroke], width: float) -> list[Stroke]:
    return [stroke for stroke in found if abs(stroke.width - width) < 0.002]


def rectangle_corner(found: Sequence[Stroke], width: float, height: float) -> Array:
    """The lower left corner of the one stroked rectangle of that size."""
    corners = []
    for stroke in found:
        points = stroke.points
        if len(points) == 5 and np.allclose(np.ptp(points, axis=0), (width, height), atol=0.01):
            corners.append(points.min(axis=0))
    assert len(corners) == 1, corners
    return np.asarray(corners[0])


def circles(found: Sequence[Stroke], radius: float) -> Array:
    """Centres of circles of a radius."""
    centres = []
    for stroke in found:
        points = stroke.points
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        away = np.hypot(*(points - middle).T)
        if len(points) > 32 and np.abs(away - radius).max() < 0.01:
            centres.append(middle)
    return np.array(centres)


def furthest(points: Array, line: shapely.Geometry) -> float:
    return float(shapely.distance(shapely.points(points), line).max())


def along(line: shapely.Geometry, step: float = 0.5) -> Array:
    """Points along a line, its corners among them."""
    return shapely.get_coordinates(shapely.segmentize(line, step))


def same_line(cut: Stroke, origin: Array, edges: Sequence[shapely.Geometry]) -> float:
    """The Hausdorff distance of a cut line, from an origin, to the rings of an outline."""
    read = shapely.MultiLineString([stretch - origin for stretch in cut.stretches])
    true = shapely.union_all([shapely.LineString(shapely.get_coordinates(edge)) for edge in edges])
    return max(
        furthest(np.concatenate([along(part) for part in read.geoms]), true),
        furthest(np.concatenate([along(edge) for edge in edges]), read),
    )


# ---------------------------------------------------------------- from plain numbers


def test_a_straight_car_lies_where_its_numbers_say() -> None:
    """Expected values are the numbers of the text itself."""
    data = pdf_of(template_set(car_of(straight_text()), PASSING, sheet_sizes()["a3"]))
    found = strokes(pypdfium2.PdfDocument(data)[0])
    side, top = rectangle_corner(found, 305, 70), rectangle_corner(found, 305, 42) + np.array((0, 21))
    profile, plan = drawn_with(found, CUT_MM)
    assert same_line(profile, side, [shapely.LinearRing(PROFILE)]) < 0.01
    mirrored = [*PLAN, *((x, -y) for x, y in reversed(PLAN))]
    assert same_line(plan, top, [shapely.LinearRing(mirrored)]) < 0.01
    # A straw of 4 mm goes through both axle holes.
    holes = circles(drawn_with(found, HOLE_MM), 2.0) - side
    assert holes[np.argsort(holes[:, 0])] == pytest.approx(np.array([(52.25, 7.5), (215, 8)]), abs=0.01)
    eyes = list(circles(drawn_with(found, NARROW_MM), 0.5) - top)
    assert np.array(sorted(map(tuple, eyes))) == pytest.approx(np.array([(61.25, 0), (206, 0)]), abs=0.01)


def test_the_tail_end_guide_has_the_bore_where_it_is_drilled() -> None:
    data = pdf_of(template_set(car_of(straight_text()), PASSING, sheet_sizes()["a3"]))
    document = pypdfium2.PdfDocument(data)
    found = strokes(document[len(document) - 1])
    blanks = [
        s.points.min(axis=0)
        for s in found
        if len(s.points) == 5 and np.allclose(np.ptp(s.points, axis=0), (42, 70), atol=0.01)
    ]
    assert len(blanks) == 2, "tail and nose"
    (bore,) = circles(drawn_with(found, HOLE_MM), 19.5 / 2)
    assert any(bore - corner == pytest.approx((21, 25), abs=0.01) for corner in blanks)


@pytest.mark.parametrize("degrees", [-10.0, 4.0, 10.0])
def test_a_tilted_bore_meets_the_tail_end_as_the_kernel_cuts_it(degrees: float) -> None:
    """A cylinder of OCCT cut by the plane of the blank's end; 0.02 mm on paper."""
    text = straight_text().replace('depth = "52 mm"', f'depth = "52 mm"\nangle = {degrees}')
    car = car_of(text)
    bore, blank = car.body.bore, car.design.blank
    assert bore is not None
    turn = cq.Workplane("YZ").circle(bore.radius).extrude(400, both=True).val()
    turned = turn.rotate((0, 0, 0), (0, 1, 0), math.degrees(bore.tilt))
    drilled = turned.translate((bore.x, bore.y, bore.z))
    at_end = cq.Workplane("YZ", origin=(blank.length_mm, 0, 0)).rect(300, 300).extrude(0.001).val()
    box = drilled.intersect(at_end).BoundingBox()
    document = pypdfium2.PdfDocument(pdf_of(template_set(car, PASSING, sheet_sizes()["a3"])))
    found = strokes(document[len(document) - 1])
    corners = [
        s.points.min(axis=0)
        for s in found
        if len(s.points) == 5 and np.allclose(np.ptp(s.points, axis=0), (42, 70), atol=0.01)
    ]
    (mark,) = [s for s in drawn_with(found, HOLE_MM) if abs(np.ptp(s.points[:, 0]) - box.ylen) < 0.02]
    size = np.ptp(mark.points, axis=0)
    assert size == pytest.approx((box.ylen, box.zlen), abs=0.02)
    assert box.zlen - box.ylen > 0.04, "else a circle would do"
    low = mark.points.min(axis=0)
    assert any(low - corner == pytest.approx((21 + box.ymin, box.zmin), abs=0.02) for corner in corners)


# ---------------------------------------------------------------- every sample


def blanks_of(document: pypdfium2.PdfDocument, width: float, height: float) -> list[tuple[int, Array]]:
    """The blanks of that size on all sheets: the sheet, and the lower left corner."""
    return [
        (number, s.points.min(axis=0))
        for number in range(len(document))
        for s in strokes(document[number])
        if len(s.points) == 5 and np.allclose(np.ptp(s.points, axis=0), (width, height), atol=0.01)
    ]


def nearest_cut(found: Sequence[Stroke], origin: Array, outline: shapely.Geometry) -> float:
    """How far the cut line that is meant is from an outline with its origin there."""
    edges = list(shapely.get_parts(outline.boundary))
    return min(same_line(cut, origin, edges) for cut in drawn_with(found, CUT_MM))


@pytest.mark.parametrize("name", samples())
def test_cut_lines_and_holes_of_samples(name: str) -> None:
    car, stamp = sample(name)
    design = car.design
    blank = design.blank
    document = pypdfium2.PdfDocument(pdf_of(sample_set(name, "tabloid")))
    assert stamp.word
    half = np.array((0, blank.width_mm / 2))
    ((page, side),) = blanks_of(document, blank.length_mm, blank.height_tail_mm)
    found = strokes(document[page])
    assert nearest_cut(found, side, design.profile.polygon(0.001)) < 0.01
    plan = design.plan.polygon(0.001)
    ((page, low),) = blanks_of(document, blank.length_mm, blank.width_mm)
    if blank.is_wedge:
        below = shapely.transform(plan, lambda p: p * (1, -1))
        assert nearest_cut(strokes(document[page]), low + half, below) < 0.01
        # Pythagoras: the sloping top is as long as the hypotenuse over the blank.
        sloping = float(np.hypot(blank.length_mm, blank.height_tail_mm - blank.height_nose_mm))
        ((page, low),) = blanks_of(document, sloping, blank.width_mm)
        stretched = shapely.transform(plan, lambda p: p * (sloping / blank.length_mm, 1))
        assert nearest_cut(strokes(document[page]), low + half, stretched) < 0.01
    else:
        assert nearest_cut(strokes(document[page]), low + half, plan) < 0.01
    for axle in design.axles:
        holes = circles(drawn_with(found, HOLE_MM), axle.hole_mm / 2) - side
        assert np.hypot(*(holes - (axle.x_mm, axle.height_mm)).T).min() < 0.01
    # Places as the file itself has them, where they are plain numbers of millimetres.
    raw = tomllib.loads((samples_folder() / f"{name}.toml").read_text(encoding="utf-8"))
    if raw.get("units", "mm") == "mm":
        for end, axle in zip(("front", "rear"), design.axles, strict=True):
            for key, value in (("x", axle.x_mm), ("height", axle.height_mm)):
                if isinstance(raw["axles"][end][key], int | float):
                    assert value == pytest.approx(raw["axles"][end][key], abs=1e-9)


# Source: ISO 216 (A4, A3) and ANSI/ASME Y14.1 (A: 8.5 x 11 in, B: 11 x 17 in); legal is 8.5 x 14 in.
SIZES = {
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "letter": (8.5 * 25.4, 11 * 25.4),
    "tabloid": (11 * 25.4, 17 * 25.4),
    "legal": (8.5 * 25.4, 14 * 25.4),
}


@pytest.mark.parametrize("paper", list(SIZES))
def test_pages_are_sheets_of_paper(paper: str) -> None:
    for name in ("kestrel", "lapwing"):
        reader = pypdf.PdfReader(io.BytesIO(pdf_of(sample_set(name, paper))), strict=True)
        for page in reader.pages:
            sides = sorted((float(page.mediabox.width) * MM, float(page.mediabox.height) * MM))
            assert sides == pytest.approx(SIZES[paper], abs=0.005)
            assert "/UserUnit" not in page
            assert page.cropbox == page.mediabox


def test_the_file_says_what_it_is_and_asks_for_actual_size() -> None:
    car, stamp = sample("kestrel")
    reader = pypdf.PdfReader(io.BytesIO(pdf_of(sample_set("kestrel", "a4"))), strict=True)
    assert reader.metadata is not None
    assert reader.metadata.title == "Kestrel: templates"
    assert reader.metadata.author == car.design.bench
    assert car.design.fingerprint in str(reader.metadata["/Keywords"])
    assert stamp.word in str(reader.metadata["/Keywords"])
    preferences = reader.root_object["/ViewerPreferences"]
    assert preferences["/PrintScaling"] == "/None"  # type: ignore[index]


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_words_can_be_read_by_others(paper: str) -> None:
    car, stamp = sample("lapwing")
    document = pypdfium2.PdfDocument(pdf_of(sample_set("lapwing", paper)))
    for number, page in enumerate(document, 1):
        text = page.get_textpage().get_text_range()
        assert f"{stamp.word} – DO NOT CUT: fix the design first" in text
        assert car.design.fingerprint in text
        assert f"{number} of {len(document)}" in text


# ---------------------------------------------------------------- tiles


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["kestrel", "heron"])
def test_tiles_laid_on_each_other_by_their_crosses_are_one_drawing(name: str, paper: str) -> None:
    document = pypdfium2.PdfDocument(pdf_of(sample_set(name, paper)))
    left, right = strokes(document[0]), strokes(document[1])
    crosses = [circles([s for s in page if s.width < 0.2], 2.0) for page in (left, right)]
    first, second = (found[np.argsort(found[:, 1])] for found in crosses)
    assert len(first) == len(second) >= 2
    # One shift lays all crosses on each other.
    shifts = first - second
    assert np.ptp(shifts, axis=0) == pytest.approx((0, 0), abs=0.002)
    shift = shifts.mean(axis=0)
    seam = first[:, 0].mean()
    assert np.ptp(first[:, 0]) < 0.002
    for a, b in zip(drawn_with(left, CUT_MM), drawn_with(right, CUT_MM), strict=True):
        pieces = [shapely.MultiLineString(list(stroke.stretches)) for stroke in (a, b)]
        moved = shapely.transform(pieces[1], lambda points: points + shift)
        assert shapely.hausdorff_distance(pieces[0], moved) < 0.05
        # What lies left of the seam shows on the left sheet, what lies right of it on the right one.
        assert a.clip is not None
        assert b.clip is not None
        whole = pieces[0].bounds
        assert a.clip[0] < whole[0]
        assert a.clip[2] > seam + 5
        assert b.clip[2] + shift[0] > whole[2]
        assert b.clip[0] + shift[0] < seam - 5
        for clip, up in ((a.clip, 0.0), (b.clip, shift[1])):
            assert clip[1] + up < whole[1]
            assert clip[3] + up > whole[3]


# ---------------------------------------------------------------- on paper


def _dark_runs(line: Array) -> list[float]:
    """The middles of the dark runs of a row of grey values, in pixels."""
    dark = np.flatnonzero(line < 128)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    return [float(run.mean()) + 0.5 for run in runs if run.size]


def test_bars_and_blank_on_paper_at_600_dots_an_inch() -> None:
    """One sheet as a printer of 600 dpi gets it; only strips of it are drawn."""
    dots = 600 / 25.4
    data = pdf_of(template_set(car_of(straight_text()), PASSING, sheet_sizes()["a3"]))
    page = pypdfium2.PdfDocument(data)[0]
    wide, high = (side * MM for side in page.get_size())

    def strip(x0: float, y0: float, x1: float, y1: float) -> Array:
        crop = tuple(side / MM for side in (x0, y0, wide - x1, high - y1))
        bitmap = page.render(scale=600 / 72, crop=crop, grayscale=True)
        return bitmap.to_numpy().reshape(bitmap.height, -1)

    found = strokes(page)
    narrow = [s.points for s in drawn_with(found, NARROW_MM) if len(s.points) == 2]
    bars = [p for p in narrow if abs(np.hypot(*(p[1] - p[0])) - 100.0) < 0.5]
    level = next(p for p in bars if abs(p[0, 1] - p[1, 1]) < 1e-3)
    upright = next(p for p in bars if abs(p[0, 0] - p[1, 0]) < 1e-3)
    # Across the ticks, over the filled spaces: eleven ticks, the outer ones 100 mm apart.
    x, y = level.min(axis=0)
    ticks = _dark_runs(strip(x - 2, y + 1.3, x + 102, y + 1.6).max(axis=0))
    assert len(ticks) == 11
    assert (ticks[-1] - ticks[0]) / dots == pytest.approx(100.0, abs=0.1)
    x, y = upright.min(axis=0)
    ticks = _dark_runs(strip(x - 1.6, y - 2, x - 1.3, y + 102).max(axis=1))
    assert len(ticks) == 11
    assert (ticks[-1] - ticks[0]) / dots == pytest.approx(100.0, abs=0.1)
    # The blank's ends: dashed lines, dark somewhere in a strip along them.
    corner = rectangle_corner(found, 305, 70)
    low, top = corner[1] + 58, corner[1] + 69
    ends = []
    for x in (corner[0], corner[0] + 305):
        (middle,) = _dark_runs(strip(x - 1, low, x + 1, top).min(axis=0))
        ends.append(x - 1 + middle / dots)
    assert ends[1] - ends[0] == pytest.approx(305.0, abs=0.1)
    rows = []
    for y in (corner[1], corner[1] + 70):
        strip_rows = strip(corner[0] + 271, y - 1, corner[0] + 279, y + 1).min(axis=1)
        (middle,) = _dark_runs(strip_rows)
        rows.append(y + 1 - middle / dots)
    assert rows[1] - rows[0] == pytest.approx(70.0, abs=0.1)


# ---------------------------------------------------------------- the same bytes


_SCRIPT = """
import sys
from bodyshop.drawing.sheet.paper import sheet_sizes
from tests.output.template_cars import sample_set
from tests.output.template_files import pdf_of, svg_of
made = sample_set("heron", "a4")
sys.stdout.buffer.write(pdf_of(made) + "".join(svg_of(made).values()).encode("utf-8"))
"""


def test_two_processes_make_the_same_bytes(root: Path) -> None:
    outputs = []
    for seed in ("1", "77"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(root)}
        done = subprocess.run(
            [sys.executable, "-c", _SCRIPT], capture_output=True, env=environment, cwd=root, check=True
        )
        outputs.append(done.stdout)
    assert len(outputs[0]) > 100_000
    assert outputs[0] == outputs[1]
    made = sample_set("heron", "a4")
    assert outputs[0] == pdf_of(made) + "".join(svg_of(made).values()).encode("utf-8")


def test_reading_would_notice_a_scale_or_a_shift() -> None:
    """The comparison itself: a cut line a fiftieth of a millimetre off is seen."""
    ring = shapely.LinearRing(PROFILE)
    points = np.array(PROFILE + PROFILE[:1])
    for spoilt in (points * 1.0001, points + np.array((0.02, 0.0))):
        assert same_line(Stroke((spoilt,), CUT_MM, None), np.zeros(2), [ring]) > 0.01
    assert same_line(Stroke((points,), CUT_MM, None), np.zeros(2), [ring]) < 1e-9
    assert [a < b for a, b in itertools.pairwise(_dark_runs(np.array([255, 0, 0, 255, 0, 255])))] == [True]
