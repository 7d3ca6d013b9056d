"""Templates as DXF read by a reader that did not write them: GDAL's DXF driver, by way of pyogrio.

What it reads is held against the design's own outlines with shapely. GDAL makes chords of arcs and splines;
`OGR_ARC_STEPSIZE` and `OGR_ARC_MAX_GAP` in its manual say how fine.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely

from bodyshop.output.papers.templates import templates_drawing
from tests.output.template_cars import PASSING, PLAN, PROFILE, car_of, sample, samples, straight_text

STEP_DEG = 0.5
NEAR_MM = 0.01
# GDAL lays a fixed number of chords along a spline, whatever its length; this one is on the longest here.
CHORD_MM = 0.02


@pytest.fixture(autouse=True)
def fine_chords() -> Iterator[None]:
    """Chords of half a degree: 25 mm of radius are then off by 0.0003 mm, r (1 - cos(step / 2))."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": STEP_DEG})
    yield
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


class Drawing:
    """A DXF as GDAL reads it: shapes and words by layer."""

    def __init__(self, folder: Path, data: bytes) -> None:
        file = folder / "templates.dxf"
        file.write_bytes(data)
        meta, _, shapes, columns = pyogrio.raw.read(file)
        named = dict(zip(meta["fields"], columns, strict=True))
        self.layers = named["Layer"]
        self.kinds = named["SubClasses"]
        self.words = named["Text"]
        self.shapes = shapely.force_2d(shapely.from_wkb(shapes))

    def lines(self, layer: str) -> list[shapely.LineString]:
        """Every stroke of a layer."""
        types = shapely.get_type_id(self.shapes)
        return list(self.shapes[(self.layers == layer) & (types == shapely.GeometryType.LINESTRING)])

    def corners(self, length: float, width: float) -> list[np.ndarray]:
        """Lower left corners of the blanks of that size."""
        boxes = [np.array(line.bounds) for line in self.lines("blank")]
        return [box[:2] for box in boxes if np.allclose(box[2:] - box[:2], (length, width), atol=0.001)]


def apart(lines: list[shapely.LineString], outline: shapely.Geometry, chord: float = 0.0) -> float:
    """How far the points of the strokes near an outline are from it, and its points, 0.5 mm apart, from the
    strokes; these less the chord.
    """
    edge = outline.boundary
    near = [line for line in lines if shapely.distance(shapely.points(line.coords), edge).max() < 1.0]
    assert near
    there = shapely.points(shapely.get_coordinates(shapely.segmentize(edge, 0.5)))
    missed = shapely.distance(there, shapely.MultiLineString(near)).max() - chord
    points = shapely.points(shapely.get_coordinates(near))
    return float(max(missed, shapely.distance(points, edge).max()))


def moved(outline: shapely.Geometry, by: np.ndarray) -> shapely.Geometry:
    return shapely.transform(outline, lambda points: points + by)


def holes(drawing: Drawing, diameter: float) -> np.ndarray:
    """Centres of the whole circles of a diameter on the layer of holes."""
    rings = [line for line in drawing.lines("hole") if line.is_closed]
    boxes = np.array([ring.bounds for ring in rings])
    fits = np.isclose(boxes[:, 2] - boxes[:, 0], diameter, atol=0.002)
    fits &= np.isclose(boxes[:, 3] - boxes[:, 1], diameter, atol=0.002)
    return (boxes[fits, :2] + boxes[fits, 2:]) / 2


def test_a_straight_car_lies_where_its_numbers_say(tmp_path: Path) -> None:
    drawing = Drawing(tmp_path, templates_drawing(car_of(straight_text()), PASSING))
    (side,), (top,) = drawing.corners(305, 70), drawing.corners(305, 42)
    mirrored = [*PLAN, *((x, -y) for x, y in reversed(PLAN))]
    cuts = drawing.lines("cut")
    assert apart(cuts, moved(shapely.Polygon(PROFILE), side)) < 1e-5
    assert apart(cuts, moved(shapely.Polygon(mirrored), top + np.array((0, 21)))) < 1e-5
    # The counter-case: a tenth of a millimetre aside is seen.
    assert apart(cuts, moved(shapely.Polygon(PROFILE), side + np.array((0.1, 0)))) > 0.09


@pytest.mark.parametrize("name", samples())
def test_cut_lines_and_holes_of_every_sample(tmp_path: Path, name: str) -> None:
    car, stamp = sample(name)
    design, blank = car.design, car.design.blank
    drawing = Drawing(tmp_path, templates_drawing(car, stamp))
    cuts = drawing.lines("cut")
    (side,) = drawing.corners(blank.length_mm, max(blank.height_nose_mm, blank.height_tail_mm))
    assert apart(cuts, moved(design.profile.polygon(0.001), side), CHORD_MM) < NEAR_MM
    plan = design.plan.polygon(0.001)
    (low,) = drawing.corners(blank.length_mm, blank.width_mm)
    half = np.array((0, blank.width_mm / 2))
    if blank.is_wedge:
        below = shapely.transform(plan, lambda points: points * (1, -1))
        assert apart(cuts, moved(below, low + half), CHORD_MM) < NEAR_MM
        sloping = math.hypot(blank.length_mm, blank.height_tail_mm - blank.height_nose_mm)
        (low,) = drawing.corners(sloping, blank.width_mm)
        plan = shapely.transform(plan, lambda points: points * (sloping / blank.length_mm, 1))
    assert apart(cuts, moved(plan, low + half), CHORD_MM) < NEAR_MM
    for axle in design.axles:
        found = holes(drawing, axle.hole_mm) - side
        assert np.hypot(*(found - (axle.x_mm, axle.height_mm)).T).min() < NEAR_MM


@pytest.mark.parametrize("name", samples())
def test_layers_and_words_of_every_sample(tmp_path: Path, name: str) -> None:
    car, stamp = sample(name)
    drawing = Drawing(tmp_path, templates_drawing(car, stamp))
    assert {"cut", "blank", "centre", "hole", "datum", "waste", "station", "caution"} <= set(drawing.layers)
    assert not set(drawing.layers) & {"0", "", "Defpoints"}
    words = " ".join(str(text) for text in drawing.words if text)
    assert car.design.name in words
    # Bars of known length are the length they say: GDAL knows no unit, so it is that of the file.
    bars = [line.length for line in drawing.lines("check-bar")]
    # 100 mm, or 4 in for a design in inches.
    assert any(math.isclose(length, whole, abs_tol=0.001) for length in bars for whole in (100.0, 101.6))
