"""The car in space: a closed skin that holds the wood, and sections with their holes."""

from __future__ import annotations

import base64
import math
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh

from bodyshop.app.bench.drawing.solid import section_data, section_shapes, solid_data
from bodyshop.car.assembly import Car
from bodyshop.geometry.outlines import Outline
from tests.app.drawn import NAMES, sample
from tests.bodies import car as make_car
from tests.bodies import disc, rectangle


def shown(car: Car) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points, normals and triangles as the page gets them."""
    told: Any = solid_data(car)
    points, normals = (
        np.frombuffer(base64.b64decode(told[key]), dtype="<f4").reshape(-1, 3)
        for key in ("points", "normals")
    )
    return points, normals, np.frombuffer(base64.b64decode(told["faces"]), dtype="<u4").reshape(-1, 3)


@pytest.mark.parametrize("name", NAMES)
def test_another_library_finds_the_wood_inside_the_skin(name: str) -> None:
    # trimesh integrates over the triangles; the body's own volume is integrated over its sections.
    body = sample(name).opened.car.body
    points, normals, faces = shown(sample(name).opened.car)
    mesh = trimesh.Trimesh(points, faces, process=False)
    assert mesh.volume == pytest.approx(body.volume, rel=1e-3)
    large = mesh.area_faces > 1e-6
    told = normals[faces].mean(axis=1)
    assert np.all(np.sum(told * mesh.face_normals, axis=1)[large] > 0), "normals look outwards"
    assert mesh.bounds == pytest.approx(np.array(body.bounds).reshape(2, 3), abs=0.2)


def test_windows_in_the_rounding_are_cut_out_of_the_rounded_body() -> None:
    # Windows 2 mm from the top and from a side, edges rounded by 5; trimesh's volume against the integrals.
    profile = Outline(rectangle(0, 0, 140, 30), (disc(60, 18, 10).turned(left=False),))
    plan = Outline(rectangle(0, -20, 140, 20), (rectangle(50, 8, 110, 18).turned(left=False),))
    car = make_car((profile, plan), edge_round=5.0)
    points, normals, faces = shown(car)
    mesh = trimesh.Trimesh(points, faces, process=False)
    assert mesh.volume == pytest.approx(car.body.volume, rel=1e-3)
    large = mesh.area_faces > 1e-6
    told = normals[faces].mean(axis=1)
    assert np.all(np.sum(told * mesh.face_normals, axis=1)[large] > 0), "normals look outwards"
    for x in (45.0, 60.0, 90.0):
        cut = shapely.union_all(section_shapes(car, x))
        assert cut.area == pytest.approx(car.body.section_area(x), rel=1e-3)


def test_the_bores_mouth_is_open() -> None:
    car = sample("kestrel").opened.car
    bore = car.body.bore
    assert bore is not None
    points, _, faces = shown(car)
    # Straight in at the tail: the first thing that is met is the blind end. A triangle is met where the spot
    # lies on the same side of its three edges, seen along the car.
    point = np.array([bore.y + 0.3, bore.z + 0.2])
    a, b, c = (points[faces[:, k]][:, 1:] - point for k in range(3))
    sides = np.stack([p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((a, b), (b, c), (c, a))])
    met = np.all(sides > 0, axis=0) | np.all(sides < 0, axis=0)
    ends = points[faces[met]][:, :, 0].max(axis=1)
    assert ends.max() == pytest.approx(bore.x - bore.depth, abs=1e-4)
    assert ends.size == 2, "the blind end and the skin ahead of it"


@pytest.mark.parametrize("name", ["kestrel", "heron", "dipper"])
def test_a_section_is_the_sections_area_without_its_holes(name: str) -> None:
    body = sample(name).opened.car.body
    bore = body.bore
    assert bore is not None
    blind = bore.x - bore.depth
    for x in (body.x_nose + 20, 0.5 * (body.x_nose + body.x_tail) - 20, blind - 3):
        told: Any = section_data(sample(name).opened.car, x)
        if all(abs(x - hole.x) > hole.radius for hole in body.axle_holes):
            assert told["area"] == pytest.approx(body.section_area(x), rel=2e-4)
    told = section_data(sample(name).opened.car, body.x_tail - 4)
    hole = math.pi * bore.radius**2
    assert told["area"] == pytest.approx(body.section_area(body.x_tail - 4) - hole, rel=1e-3)
    (polygon,) = told["polygons"]
    assert len(polygon) == 2, "an outside and one hole"
    assert shapely.Polygon(polygon[0], polygon[1:]).area == pytest.approx(told["area"], rel=1e-4)


def test_a_section_through_an_axle_hole_is_in_two() -> None:
    car = sample("kestrel").opened.car
    told: Any = section_data(car, car.design.front.x_mm)
    assert len(told["polygons"]) == 2


def test_what_stands_round_the_body() -> None:
    car = sample("wren").opened.car
    told: Any = solid_data(car)
    treads = [wheel for wheel in told["wheels"] if wheel["kind"] == "tread"]
    assert len(treads) == 4
    assert {wheel["x"] for wheel in treads} == {car.design.front.x_mm, car.design.rear.x_mm}
    assert len(told["eyes"]) == 2
