"""Mesh, STL and STEP: closed or refused, laid out as their standards say, the same bytes every time.

Outside sources: the binary STL layout of the StereoLithography Interface Specification (1988), as
handed down: 80 bytes, a count, 50 bytes a triangle, little-endian; ISO 10303-21 for STEP's text.
"""

from __future__ import annotations

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

from bodyshop.car.body import Sections
from bodyshop.geometry.outlines import Radius, Vertex
from bodyshop.solids import BodySolid, Mesh, SolidError, mesh_of, step_bytes, stl_bytes, undrilled
from bodyshop.solids import mesh as mesh_module
from bodyshop.solids.face_triangles import cleaned, without_needles
from bodyshop.solids.mesh import mesh_faults
from tests.bodies import box, half, outline


@cache
def curved() -> BodySolid:
    side = outline(
        Vertex((10, 0), Radius(10)), (120, 0), (120, 40), Vertex((60, 20), Radius(90, hollow=True)), (10, 20)
    )
    plan = half((0, 5), Vertex((40, 14), Radius(60)), Vertex((120, 20), Radius(150, hollow=True)))
    return undrilled(Sections(side, plan, 4.0))


@cache
def plain() -> BodySolid:
    return undrilled(Sections(*box(100, 40, 30), 0.0))


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
    mesh = mesh_of(plain())
    assert "does not close" in mesh_faults(replace(mesh, triangles=mesh.triangles[1:]))


def test_needles_are_turned_into_the_next_triangle() -> None:
    # A tetrahedron with one more point, on an edge, held by a triangle without area.
    points = np.vstack((TETRAHEDRON.points, [[0.5, 0.5, 0.0]])).astype(np.float32)
    triangles = np.array([[0, 2, 4], [0, 4, 1], [4, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    assert "without area" in mesh_faults(Mesh(points, triangles, 0.05))
    assert mesh_faults(Mesh(points, without_needles(points, triangles), 0.05)) == ""


def test_a_body_that_will_not_mesh_gives_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = cleaned

    def torn(points, triangles):
        points, triangles = whole(points, triangles)
        return points, triangles[1:]

    monkeypatch.setattr(mesh_module, "cleaned", torn)
    with pytest.raises(SolidError, match="does not close"):
        stl_bytes(plain(), "Wren")


@pytest.mark.parametrize("chord", [0.0, -1.0, float("nan")])
def test_a_chord_must_be_positive(chord: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        mesh_of(plain(), chord)


@cache
def bulging() -> BodySolid:
    side = outline(Vertex((10, 0), Radius(10)), (120, 0), (120, 30), Vertex((10, 20), Radius(150)))
    return undrilled(Sections(side, half((0, 5), Vertex((120, 20), Radius(150))), 4.0))


def test_a_finer_chord_gives_a_nearer_volume_and_history_does_not_matter() -> None:
    first = mesh_of(bulging(), 0.1)
    fine = mesh_of(bulging(), 0.02)
    again = mesh_of(bulging(), 0.1)
    assert abs(fine.volume / bulging().volume - 1) < abs(first.volume / bulging().volume - 1)
    assert np.array_equal(first.points, again.points)
    assert np.array_equal(first.triangles, again.triangles)


# ---------------------------------------------------------------- STL


def test_the_stl_is_laid_out_as_it_should_be() -> None:
    data = stl_bytes(curved(), "Kestrel", "AK1W-6D4T")
    mesh = mesh_of(curved())
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
    head = stl_bytes(plain(), name, "X1")[:80]
    assert len(head) == 80
    assert not head.startswith(b"solid")
    assert head.decode("ascii").rstrip().endswith(ending)


def test_the_chord_is_stated() -> None:
    assert b"chord 0.2 mm" in stl_bytes(plain(), chord_mm=0.2)[:80]


# ---------------------------------------------------------------- STEP


def test_step_says_what_it_is_and_gives_no_date_away() -> None:
    text = step_bytes(plain(), "Wren").decode("ascii")
    assert text.startswith("ISO-10303-21;\n")
    assert text.endswith("END-ISO-10303-21;\n")
    assert "FILE_NAME('Wren','1970-01-01T00:00:00',(''),(" in re.sub(r"\n\s*", "", text)
    assert "PRODUCT('Wren','Wren'" in re.sub(r"\n\s*", "", text)
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    dated = step_bytes(plain(), "Wren", date(2031, 2, 3)).decode("ascii")
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
    text = re.sub(r"\n\s*", "", step_bytes(plain(), name).decode("ascii"))
    assert f"PRODUCT('{kept}','{kept}'" in text


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    step_bytes(plain(), "Wren")
    stl_bytes(curved(), "Kestrel")
    assert capfd.readouterr() == ("", "")


def test_step_read_back_by_cadquery_holds_the_same_body(tmp_path: Path) -> None:
    import cadquery as cq

    file = tmp_path / "curved.step"
    file.write_bytes(step_bytes(curved(), "Kestrel"))
    back = cq.importers.importStep(str(file)).val()
    assert back.isValid()
    assert back.Volume() == pytest.approx(curved().volume, rel=1e-6)
    # Units: a box of 100 x 40 x 30 mm comes back as that.
    file.write_bytes(step_bytes(plain(), "Wren"))
    bounds = cq.importers.importStep(str(file)).val().BoundingBox()
    assert (bounds.xlen, bounds.ylen, bounds.zlen) == pytest.approx((100, 40, 30), abs=1e-5)


# ---------------------------------------------------------------- the same bytes

SCRIPT = """
import hashlib
from tests.solids.test_solid_files import curved
from bodyshop.solids import step_bytes, stl_bytes
for data in (stl_bytes(curved(), "Kestrel", "X1"), step_bytes(curved(), "Kestrel")):
    print(hashlib.sha256(data).hexdigest())
"""


def test_the_same_body_gives_the_same_bytes(root: Path) -> None:
    import hashlib

    here = [stl_bytes(curved(), "Kestrel", "X1"), step_bytes(curved(), "Kestrel")]
    assert [stl_bytes(curved(), "Kestrel", "X1"), step_bytes(curved(), "Kestrel")] == here
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=root, capture_output=True, text=True, check=True, encoding="utf-8"
    )
    assert done.stdout.split() == [hashlib.sha256(data).hexdigest() for data in here]
