"""Drilling jigs read from their STL by a mesh library (trimesh): guides where the design has its holes.

Outside sources: trimesh's sections; a circle fitted by least squares (any textbook of surveying); volumes of
boxes and cylinders.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, reduce

import numpy as np
import pytest
import shapely
import trimesh

from bodyshop.car.body import Body
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.bundle import jig_files
from bodyshop.rules.checking import open_car
from bodyshop.solids import stl_bytes
from bodyshop.solids.jig import Jig, jig_sizes, jigs


@cache
def opened(name: str):
    return open_car(str(samples_folder() / f"{name}.toml"))


def read(data: bytes) -> trimesh.Trimesh:
    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    assert isinstance(mesh, trimesh.Trimesh)
    assert mesh.is_volume
    return mesh


@cache
def plain(name: str) -> dict[str, tuple[Jig, trimesh.Trimesh]]:
    """Without words: they only make the files larger."""
    made = jigs(opened(name).car.body, marked=False)
    return {jig.name: (jig, read(stl_bytes(jig.mesh))) for jig in made}


def loops(mesh: trimesh.Trimesh, at: Sequence[float], normal: Sequence[float]) -> list[np.ndarray]:
    """The loops of a section, each in the two coordinates that the plane spans."""
    section = mesh.section(plane_origin=at, plane_normal=normal)
    assert section is not None
    return [np.asarray(line)[:, [k for k in range(3) if normal[k] == 0]] for line in section.discrete]


def cut(mesh: trimesh.Trimesh, at: Sequence[float], normal: Sequence[float]) -> shapely.Geometry:
    """What a plane cuts through."""
    return reduce(shapely.symmetric_difference, (shapely.Polygon(loop) for loop in loops(mesh, at, normal)))


def circles(
    mesh: trimesh.Trimesh, at: Sequence[float], normal: Sequence[float]
) -> list[tuple[np.ndarray, float]]:
    """Round loops of a section: middle and radius, fitted to their corners by least squares."""
    found = []
    for loop in loops(mesh, at, normal):
        points = np.unique(np.round(loop, 6), axis=0)
        a = np.column_stack((2 * points, np.ones(len(points))))
        (u, v, c), *_ = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)
        radius = math.sqrt(max(c + u * u + v * v, 0.0))
        if len(points) >= 12 and np.abs(np.hypot(*(points - (u, v)).T) - radius).max() < 0.05:
            found.append((np.array((u, v)), radius))
    return found


@pytest.mark.parametrize("name", ["kestrel", "dipper"])
@pytest.mark.parametrize("end", ["front", "rear"])
def test_axle_guides_are_where_the_holes_will_be(name: str, end: str) -> None:
    design = opened(name).design
    axle = design.front if end == "front" else design.rear
    jig, mesh = plain(name)[end]
    half = 0.5 * (design.blank.width_mm + jig_sizes().fit)
    for side in (-1, 1):
        for y in (half + 2, half + 8):
            ((middle, radius),) = circles(mesh, [0, side * y, 0], [0, 1, 0])
            assert middle == pytest.approx([axle.x_mm, axle.height_mm], abs=0.01)
            assert 2 * radius == pytest.approx(axle.hole_mm + 0.2, abs=0.01)
    assert jig.guide_mm == pytest.approx(axle.hole_mm + 0.2)
    # It stops at the nose or the tail, at the underside, and at both sides.
    level, upright = cut(mesh, [0, 0, 3], [0, 0, 1]), cut(mesh, [0, 0, 0], [0, 1, 0])
    stop, out = (0.0, -1.0) if end == "front" else (design.blank.length_mm, 1.0)
    inside = axle.x_mm - 3.0
    for shape, wood, air in (
        (level, (stop + 1e-3 * out, 0), (stop - 1e-3 * out, 0)),
        (upright, (inside, -1e-3), (inside, 1e-3)),
        (level, (inside, half + 1e-3), (inside, half - 1e-3)),
        (level, (inside, -half - 1e-3), (inside, -half + 1e-3)),
    ):
        assert shape.contains(shapely.Point(wood))
        assert not shape.intersects(shapely.Point(air))


def test_the_bores_guide_and_how_deep_to_drill() -> None:
    design, bore = opened("kestrel").design, opened("kestrel").car.body.bore
    jig, mesh = plain("kestrel")["bore"]
    tail = design.blank.length_mm
    for x in (tail + 1, tail + 14):
        ((middle, radius),) = circles(mesh, [x, 0, 0], [1, 0, 0])
        assert middle == pytest.approx([0.0, 25.0], abs=0.01)
        assert 2 * radius == pytest.approx(19.7, abs=0.01)
    # Body's tail at 285 of a blank of 305: 20 more than the bore is deep, and the plate's 15 on top.
    assert (bore.x, jig.depth_mm, jig.set_mm) == pytest.approx((285, 72, 87))


def test_a_tilted_bore_is_guided_along_its_axis() -> None:
    design = opened("kestrel").design
    tilt = math.radians(2)
    body = Body(replace(design, bore=replace(design.bore, tilt_rad=tilt, offset_mm=1.5)))
    (jig,) = [j for j in jigs(body, marked=False) if j.name == "bore"]
    mesh = read(stl_bytes(jig.mesh))
    assert body.bore is not None
    for x in (306.0, 319.0):
        ((middle, _),) = circles(mesh, [x, 0, 0], [1, 0, 0])
        down = (x - body.bore.x) * math.tan(tilt)
        assert middle == pytest.approx([1.5, body.bore.z - down], abs=0.01)
    assert jig.depth_mm == pytest.approx(body.bore.depth + (305 - body.bore.x) / math.cos(tilt))


def test_volumes_by_hand() -> None:
    sizes = jig_sizes()
    jig, mesh = plain("kestrel")["front"]
    # Outside 6 + 55 + 2.1 + 6 by 42.3 + 2 x 10 by 5 + 7 + 8.1; the channel from the nose on; grooves along
    # both sides and the stop; two guides; a notch 2 by 10 by 1.5. The guides'
    # polygons are a little narrower than round.
    long, wide, high = 69.1, 62.3, 20.1
    assert jig.size_mm == pytest.approx((long, wide, high))
    channel = (long - 6) * 42.3 * 15.1
    grooves = 1.0 * (2 * 1.5 * (long - 6) + 1.5 * (42.3 - 3))
    guides = 2 * sizes.wall * math.pi / 4 * 4.2**2
    notch = 2 * 10 * 1.5
    by_hand = long * wide * high - channel - grooves - guides - notch
    assert mesh.volume == pytest.approx(by_hand, rel=5e-5)


def test_words_are_cut_in_and_change_nothing_else() -> None:
    files, made = jig_files(opened("kestrel"))
    assert list(files) == [f"kestrel-jig-{name}.stl" for name in ("front", "rear", "bore")]
    sizes = jig_sizes()
    for jig in made:
        data = files[f"kestrel-jig-{jig.name}.stl"]
        assert opened("kestrel").design.fingerprint.encode() in data[:80]
        mesh, bare = read(data), plain("kestrel")[jig.name][1]
        assert mesh.bounds == pytest.approx(bare.bounds)
        gone = bare.volume - mesh.volume
        # What is missing lies within the letters' depth of the right wall, the end and the floor's outside.
        cut_off = 0.0
        half = sizes.letter_depth / 2
        (x0, _, z0), (x1, y1, _) = mesh.bounds
        faces = (
            ([0, y1 - half, 0], [0, 1, 0]),
            ([0, 0, z0 + half], [0, 0, 1]),
            ([(x0 if jig.seat == "nose" else x1) + (half if jig.seat == "nose" else -half), 0, 0], [1, 0, 0]),
        )
        for at, normal in faces:
            cut_off += (cut(bare, at, normal).area - cut(mesh, at, normal).area) * sizes.letter_depth
        assert 20 < gone < 500
        assert gone == pytest.approx(cut_off, rel=0.01)


def test_no_two_jigs_look_alike() -> None:
    made = [jig for jig, _ in plain("kestrel").values()]
    assert [jig.notches for jig in made] == [1, 2, 3]
    assert [jig.seat for jig in made] == ["nose", "tail", "tail"]
    for jig, mesh in plain("kestrel").values():
        # A level line through the notches, along the right wall.
        (x0, _, _), (x1, y1, top) = mesh.bounds
        line = shapely.LineString([(x0 - 1, top - 0.75), (x1 + 1, top - 0.75)])
        wood = cut(mesh, [0, y1 - 4, 0], [0, 1, 0]).intersection(line)
        assert len(wood.geoms) == jig.notches + 1


def test_every_jig_fits_the_bed_and_a_drilled_blank_needs_none_for_its_bore() -> None:
    assert all(jig.fits_bed for jig, _ in plain("kestrel").values())
    assert set(plain("plover")) == {"front", "rear"}


def test_a_wider_clearance_is_a_wider_guide() -> None:
    made = {j.name: j for j in jigs(opened("wren").car.body, 0.5, marked=False)}
    design = opened("wren").design
    assert made["front"].guide_mm == pytest.approx(design.front.hole_mm + 0.5)
    assert made["bore"].guide_mm == pytest.approx(design.bore.diameter_mm + 0.5)


def test_a_hole_outside_the_blank_is_refused_at_its_number() -> None:
    design = opened("kestrel").design
    low = replace(design.front, height_mm=1.0)
    with pytest.raises(ProblemsError) as fault:
        jigs(Body(replace(design, axles=(low, design.rear))))
    (problem,) = fault.value.problems
    assert problem.code == "jig-outside"
    assert problem.span is not None
