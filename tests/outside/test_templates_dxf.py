"""Templates as DXF against the design, read back with ezdxf's reader, which is independent of the writer's
geometry: its own splines, arcs and ellipses are flattened and measured with shapely.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import read as read_dxf
from ezdxf.path import make_path

from bodyshop.output.papers.templates import templates_drawing
from bodyshop.output.papers.templates.document import TemplateOptions
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
from tests.output.template_files import dxf_of

Array = np.ndarray


def read(data: bytes) -> Any:
    document = read_dxf(io.StringIO(data.decode("utf-8")))
    assert document.header["$INSUNITS"] == 4
    return document.modelspace()


def on_layer(space: Any, layer: str) -> list[Array]:
    """Every stroke of a layer as points, mm."""
    found = []
    for entity in space:
        if entity.dxf.layer == layer and entity.dxftype() not in {"TEXT", "HATCH", "SOLID"}:
            points = [(p.x, p.y) for p in make_path(entity).flattening(0.002, segments=8)]
            found.append(np.array(points))
    return found


def corners(space: Any, width: float, height: float) -> list[Array]:
    """Lower left corners of the blanks of that size."""
    found = on_layer(space, "blank")
    return [p.min(axis=0) for p in found if np.allclose(np.ptp(p, axis=0), (width, height), atol=0.001)]


def apart(strokes: Iterable[Array], outline: shapely.Geometry) -> float:
    """The Hausdorff distance of the strokes near an outline to its rings."""
    near = [p for p in strokes if shapely.distance(shapely.points(p), outline.boundary).max() < 1.0]
    drawn = shapely.MultiLineString(near)
    edges = shapely.segmentize(outline.boundary, 0.5)
    there = shapely.distance(shapely.points(shapely.get_coordinates(edges)), drawn).max()
    back = shapely.distance(
        shapely.points(shapely.get_coordinates(shapely.segmentize(drawn, 0.5))), outline.boundary
    ).max()
    return float(max(there, back))


def circles(space: Any, radius: float) -> Array:
    return np.array(
        [
            (c.dxf.center.x, c.dxf.center.y)
            for c in space.query('CIRCLE[layer=="hole"]')
            if abs(c.dxf.radius - radius) < 1e-6
        ]
    )


def moved(outline: shapely.Geometry, origin: Array) -> shapely.Geometry:
    return shapely.transform(outline, lambda p: p + origin)


def test_a_straight_car_lies_where_its_numbers_say() -> None:
    """Expected values are the numbers of the text itself."""
    space = read(templates_drawing(car_of(straight_text()), PASSING))
    ((side), (top)) = (*corners(space, 305, 70), *corners(space, 305, 42))
    cuts = on_layer(space, "cut")
    mirrored = [*PLAN, *((x, -y) for x, y in reversed(PLAN))]
    assert apart(cuts, moved(shapely.Polygon(PROFILE), side)) < 1e-5
    assert apart(cuts, moved(shapely.Polygon(mirrored), top + np.array((0, 21)))) < 1e-5
    holes = [tuple(hole) for hole in circles(space, 2.0) - side]
    for place in ((52.25, 7.5), (215, 8)):
        assert min(np.hypot(*(np.array(hole) - place)) for hole in holes) < 1e-5


@pytest.mark.parametrize("name", samples())
def test_every_template_of_every_sample_whole(name: str) -> None:
    car, stamp = sample(name)
    design, blank = car.design, car.design.blank
    space = read(templates_drawing(car, stamp))
    cuts = on_layer(space, "cut")
    half = np.array((0, blank.width_mm / 2))
    (side,) = corners(space, blank.length_mm, max(blank.height_nose_mm, blank.height_tail_mm))
    assert apart(cuts, moved(design.profile.polygon(0.001), side)) < 0.01
    plan = design.plan.polygon(0.001)
    (low,) = corners(space, blank.length_mm, blank.width_mm)
    if blank.is_wedge:
        below = shapely.transform(plan, lambda p: p * (1, -1))
        assert apart(cuts, moved(below, low + half)) < 0.01
        sloping = float(np.hypot(blank.length_mm, blank.height_tail_mm - blank.height_nose_mm))
        (low,) = corners(space, sloping, blank.width_mm)
        plan = shapely.transform(plan, lambda p: p * (sloping / blank.length_mm, 1))
    assert apart(cuts, moved(plan, low + half)) < 0.01
    for axle in design.axles:
        holes = circles(space, axle.hole_mm / 2) - side
        assert np.hypot(*(holes - (axle.x_mm, axle.height_mm)).T).min() < 0.001
        # The guide has it again, from the end of the blank that is nearer.
        assert len(holes) >= 2 * len({a.x_mm for a in design.axles})


def test_tiles_hold_the_drawing_between_them_and_nothing_outside() -> None:
    car, _ = sample("kestrel")
    made = sample_set("kestrel", "a4")
    total = 0.0
    for data, sheet in zip(dxf_of(made).values(), made.sheets, strict=True):
        space = read(data)
        for points in on_layer(space, "cut"):
            assert points.min() >= 8.0
            assert points[:, 0].max() <= sheet.width_mm - 8.0
            assert points[:, 1].max() <= sheet.height_mm - 8.0
            total += shapely.LineString(points).length
    lines = car.design.profile.polygon(0.001).length + car.design.plan.polygon(0.001).length
    # More than once only where the tiles overlap.
    assert lines - 0.1 < total < 1.25 * lines


def test_a_saw_line_is_on_its_own_layer_at_its_own_distance() -> None:
    car, stamp = sample("heron")
    space = read(templates_drawing(car, stamp, TemplateOptions(offset_mm=1.5)))
    blank = car.design.blank
    (side,) = corners(space, blank.length_mm, blank.height_tail_mm)
    profile = moved(car.design.profile.polygon(0.001), side)
    lines = [p for p in on_layer(space, "saw") if shapely.distance(shapely.points(p), profile).max() < 2]
    assert lines
    away = shapely.distance(shapely.points(np.concatenate(lines)), profile)
    assert np.abs(away - 1.5).max() < 0.01
