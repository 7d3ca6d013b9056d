"""Mesh, STL and STEP: closed or refused, laid out as their standards say, the same bytes every time.

Outside sources: the binary STL layout of the StereoLithography Interface Specification (1988), as
handed down: 80 bytes, a count, 50 bytes a triangle, little-endian; ISO 10303-21 for STEP's text.
"""

from __future__ import annotations

import math
import re
import struct
import subprocess
import sys
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bodyshop.car.body import BoreHole, Sections
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.geometry.outlines import Radius, Vertex
from bodyshop.solids import (
    Mesh,
    SolidError,
    forms,
    meshing,
    sections_mesh,
    shaded,
    step_bytes,
    stl_bytes,
    undrilled,
)
from bodyshop.solids.mesh import mesh_faults
from tests.bodies import box, half, outline


@cache
def curved() -> Sections:
    side = outline(
        Vertex((10, 0), Radius(10)), (120, 0), (120, 40), Vertex((60, 20), Radius(90, hollow=True)), (10, 20)
    )
    plan = half((0, 5), Vertex((40, 14), Radius(60)), Vertex((120, 20), Radius(150, hollow=True)))
    return Sections(side, plan, 4.0)


@cache
def plain() -> Sections:
    return Sections(*box(100, 40, 30), 0.0)


# ---------------------------------------------------------------- the mesh's own check

TETRAHEDRON = Mesh(
    np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=np.float32),
    np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]),
    0.05,
)


def test_a_closed_mesh_passes() -> None:
    assert mesh_faults(TETRAHEDRON) == ""
    assert TETRAHEDRON.volume == pytest.approx(1 / 6)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda t: t[:3], "empty"),
        (lambda t: np.concatenate((t[:3], [[0, 2, 3]])), "does not close"),  # one the wrong way round
        (lambda t: np.concatenate((t, t[:1])), "does not close"),  # one laid twice
        (lambda t: np.concatenate((t[:3], [[0, 3, 3]])), "without area"),
        (lambda t: t[:, ::-1], "inside out"),
    ],
)
def test_a_spoilt_mesh_is_noticed(spoil, words: str) -> None:
    assert words in mesh_faults(replace(TETRAHEDRON, triangles=spoil(TETRAHEDRON.triangles)))


def test_a_missing_triangle_is_noticed() -> None:
    mesh = sections_mesh(plain())
    assert "does not close" in mesh_faults(replace(mesh, triangles=mesh.triangles[1:]))


def test_a_body_that_will_not_mesh_gives_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = forms.tube

    def short(x, rings):
        # A fifth of the body is left out at the tail.
        left = x <= 0.8 * x[-1]
        return whole(x[left], rings[left])

    assert sections_mesh(curved()).volume > 0
    monkeypatch.setattr(meshing, "tube", short)
    with pytest.raises(SolidError, match="where the sections hold"):
        sections_mesh(curved())


def test_a_bore_as_wide_as_the_tail_comes_out_open() -> None:
    # It only touches the sides: a wall of no thickness, which no mesh can hold.
    mesh = sections_mesh(Sections(*box(100, 18, 40), 0.0), BoreHole(100, 0, 20, 9, 30))
    assert mesh.volume == pytest.approx(100 * 18 * 40 - math.pi * 81 * 30, rel=1e-3)


def test_two_pieces_that_touch_along_a_line_are_refused() -> None:
    side = outline((0, 0), (50, 0), (50, 20), (100, 20), (100, 40), (50, 40), (50, 20.0), (0, 20))
    with pytest.raises(SolidError, match="does not close"):
        sections_mesh(Sections(side, box(100, 40, 1)[1], 0.0))


def test_a_mesh_is_shaded_smooth_over_a_bend_and_sharp_over_an_edge() -> None:
    points, normals, triangles = shaded(sections_mesh(plain()), math.radians(30))
    # Each corner of a box faces three ways; none of them is a mixture.
    assert len(points) == 24
    assert np.sort(np.abs(normals), axis=1) == pytest.approx(np.tile([0.0, 0.0, 1.0], (24, 1)), abs=1e-9)
    rod = sections_mesh(Sections(*box(100, 20, 20), 10.0))
    points, normals, triangles = shaded(rod, math.radians(30))
    # A round bar: the skin's normals point away from its axis, all but those of the flat ends.
    skin = np.abs(normals[:, 0]) < 0.5
    away = points[skin][:, 1:] - [0.0, 10.0]
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    assert np.einsum("ij,ij->i", away, normals[skin][:, 1:]).min() > 0.99
    assert triangles.max() == len(points) - 1


@pytest.mark.parametrize("chord", [0.0, -1.0, float("nan")])
def test_a_chord_must_be_positive(chord: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        sections_mesh(plain(), chord_mm=chord)


@cache
def bulging() -> Sections:
    side = outline(Vertex((10, 0), Radius(10)), (120, 0), (120, 30), Vertex((10, 20), Radius(150)))
    return Sections(side, half((0, 5), Vertex((120, 20), Radius(150))), 4.0)


def test_a_finer_chord_gives_a_nearer_volume_and_history_does_not_matter() -> None:
    first = sections_mesh(bulging(), chord_mm=0.1)
    fine = sections_mesh(bulging(), chord_mm=0.02)
    again = sections_mesh(bulging(), chord_mm=0.1)
    volume = undrilled_moments(bulging()).volume
    assert abs(fine.volume / volume - 1) < abs(first.volume / volume - 1)
    assert np.array_equal(first.points, again.points)
    assert np.array_equal(first.triangles, again.triangles)


# ---------------------------------------------------------------- STL


def test_the_stl_is_laid_out_as_it_should_be() -> None:
    data = stl_bytes(sections_mesh(curved()), "Kestrel", "AK1W-6D4T")
    mesh = sections_mesh(curved())
    (count,) = struct.unpack_from("<I", data, 80)
    assert count == len(mesh.triangles)
    assert len(data) == 84 + 50 * count
    assert data[:80].decode("ascii").rstrip() == "bodyshop; unit mm; chord 0.05 mm; AK1W-6D4T; Kestrel"
    for i in (0, count // 2, count - 1):
        numbers = struct.unpack_from("<12fH", data, 84 + 50 * i)
        normal, corners, spare = np.array(numbers[:3]), np.array(numbers[3:12]).reshape(3, 3), numbers[12]
        assert spare == 0
        assert np.array_equal(corners.astype(np.float32), mesh.points[mesh.triangles[i]])
        across = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        assert normal == pytest.approx(across / np.linalg.norm(across), abs=1e-5)


@pytest.mark.parametrize(
    ("name", "ending"),
    [
        ("", "X1"),
        ("Schnäpper", "; Schnapper"),
        ("solid COLOR=", "; solid COLOR?"),
        ("鶺鴒\n", "; ???"),
        ("long " * 40, "X1; long long long long long long long long lo"),
    ],
)
def test_the_stl_header_is_80_bytes_of_ascii(name: str, ending: str) -> None:
    head = stl_bytes(sections_mesh(plain()), name, "X1")[:80]
    assert len(head) == 80
    assert not head.startswith(b"solid")
    assert head.decode("ascii").rstrip().endswith(ending)


def test_the_chord_is_stated() -> None:
    assert b"chord 0.2 mm" in stl_bytes(sections_mesh(plain(), chord_mm=0.2))[:80]


# ---------------------------------------------------------------- STEP


def test_step_says_what_it_is_and_gives_no_date_away() -> None:
    text = step_bytes(undrilled(plain()), "Wren").decode("ascii")
    assert text.startswith("ISO-10303-21;\n")
    assert text.endswith("END-ISO-10303-21;\n")
    assert "FILE_NAME('Wren','1970-01-01T00:00:00',(''),(" in re.sub(r"\n\s*", "", text)
    assert "PRODUCT('Wren','Wren'" in re.sub(r"\n\s*", "", text)
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    dated = step_bytes(undrilled(plain()), "Wren", date(2031, 2, 3)).decode("ascii")
    assert "2031-02-03T00:00:00" in dated


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("Bench 4's", "Bench 4''s"),
        ("Kärrhök", r"K\X2\00E4\X0\rrh\X2\00F6\X0\k"),
        (r"a\b", "a?b"),
        ("", "body"),
    ],
)
def test_step_names_are_written_as_the_standard_has_them(name: str, kept: str) -> None:
    text = re.sub(r"\n\s*", "", step_bytes(undrilled(plain()), name).decode("ascii"))
    assert f"PRODUCT('{kept}','{kept}'" in text


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    step_bytes(undrilled(plain()), "Wren")
    stl_bytes(sections_mesh(curved()), "Kestrel")
    assert capfd.readouterr() == ("", "")


def test_step_read_back_by_cadquery_holds_the_same_body(tmp_path: Path) -> None:
    import cadquery as cq

    file = tmp_path / "curved.step"
    file.write_bytes(step_bytes(undrilled(curved()), "Kestrel"))
    back = cq.importers.importStep(str(file)).val()
    assert back.isValid()
    assert back.Volume() == pytest.approx(undrilled_moments(curved()).volume, rel=1e-6)
    # Units: a box of 100 x 40 x 30 mm comes back as that.
    file.write_bytes(step_bytes(undrilled(plain()), "Wren"))
    bounds = cq.importers.importStep(str(file)).val().BoundingBox()
    assert (bounds.xlen, bounds.ylen, bounds.zlen) == pytest.approx((100, 40, 30), abs=1e-5)


# ---------------------------------------------------------------- the same bytes

SCRIPT = """
import hashlib
from tests.solids.test_solid_files import curved
from bodyshop.solids import sections_mesh, step_bytes, stl_bytes, undrilled
for data in (stl_bytes(sections_mesh(curved()), "Kestrel", "X1"), step_bytes(undrilled(curved()), "Kestrel")):
    print(hashlib.sha256(data).hexdigest())
"""


def test_the_same_body_gives_the_same_bytes(root: Path) -> None:
    import hashlib

    here = [stl_bytes(sections_mesh(curved()), "Kestrel", "X1"), step_bytes(undrilled(curved()), "Kestrel")]
    assert [
        stl_bytes(sections_mesh(curved()), "Kestrel", "X1"),
        step_bytes(undrilled(curved()), "Kestrel"),
    ] == here
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=root, capture_output=True, text=True, check=True, encoding="utf-8"
    )
    assert done.stdout.split() == [hashlib.sha256(data).hexdigest() for data in here]
