"""The STL read by a mesh library (trimesh), and its chords measured against the solid by the kernel."""

from __future__ import annotations

import io
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS_Compound, TopoDS_Shape

from bodyshop.car.body import Body
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.car.design import read_design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import read_source
from bodyshop.solids import Mesh, body_mesh, body_solid, sections_mesh, stl_bytes
from bodyshop.solids.mesh import ANGLE_RAD, CHORD_MM
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.outside.kernel import faces
from tests.outside.refusals import FIRST
from tests.strategies import BodyCase, bodies

SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


@cache
def body(name: str) -> Body:
    source = read_source(samples_folder() / f"{name}.toml")
    kit = TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT
    return Body(read_design(source, kit))


@cache
def kernel_skin(name: str) -> TopoDS_Shape:
    # Distances inside a solid count as nothing, so its faces are asked.
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for face in faces(body_solid(body(name)).wrapped):
        builder.Add(compound, face)
    return compound


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 5


def read_back(mesh: Mesh) -> trimesh.Trimesh:
    """The STL as another library reads it: closed, outward, nothing lost."""
    data = stl_bytes(mesh)
    found = trimesh.load(io.BytesIO(data), file_type="stl")
    assert isinstance(found, trimesh.Trimesh)
    assert found.is_watertight
    assert found.is_winding_consistent
    assert found.is_volume
    assert len(found.faces) == (len(data) - 84) // 50
    assert found.area_faces.min() > 0
    return found


@pytest.mark.parametrize("chord", [0.05, 0.5])
@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_closed_outward_and_in_one_piece(name: str, chord: float) -> None:
    found = read_back(body_mesh(body(name), chord))
    assert found.volume == pytest.approx(body(name).volume, rel=1e-3)
    assert np.abs(found.center_mass - body(name).moments.centre).max() < 0.1
    assert found.body_count == 1


@settings(max_examples=60, phases=FIRST)
@given(bodies())
def test_random_bodies_come_out_closed_and_outward(case: BodyCase) -> None:
    # None is passed over: forks, windows in rounded edges, holes that graze a face.
    whole = sections_mesh(case.sections)
    assert read_back(whole).volume == pytest.approx(undrilled_moments(case.sections).volume, rel=1e-3)
    holed = sections_mesh(case.sections, case.bore, case.axle_holes, case.pilots)
    assert read_back(holed).volume < whole.volume


# ---------------------------------------------------------------- held against the kernel


@pytest.mark.parametrize("chord", [0.05, 0.2])
@pytest.mark.parametrize("name", SAMPLES)
def test_no_flat_face_lies_further_off_than_it_says(name: str, chord: float) -> None:
    corners = body_mesh(body(name), chord).corners
    size = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    # The largest triangles, where chords are longest, and some of the rest.
    some = np.random.default_rng(4).choice(size.size, 60, replace=False)
    measure = BRepExtrema_DistShapeShape()
    measure.LoadS1(kernel_skin(name))
    worst = 0.0
    for i in np.unique(np.concatenate((np.argsort(size)[-60:], some))):
        for weights in ((1 / 3, 1 / 3, 1 / 3), (0.5, 0.5, 0.0), (0.0, 0.5, 0.5), (0.5, 0.0, 0.5)):
            x, y, z = (float(v) for v in np.array(weights) @ corners[i])
            measure.LoadS2(BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, z)).Vertex())
            measure.Perform()
            worst = max(worst, float(measure.Value()))
    assert 0.1 * chord < worst <= chord


@pytest.mark.parametrize("name", SAMPLES)
def test_it_takes_no_more_triangles_than_the_kernels_own_mesher(name: str) -> None:
    shape = body_solid(body(name)).copy()
    shape.mesh(CHORD_MM, ANGLE_RAD)
    assert len(body_mesh(body(name)).triangles) <= 1.3 * len(shape.tessellate(CHORD_MM, ANGLE_RAD)[1])


def test_an_stl_is_made_without_the_3d_kernel(tmp_path: Path) -> None:
    script = (
        "import sys; from bodyshop.app.cli import main\n"
        f"code = main(['solid', {str(samples_folder() / 'wren.toml')!r}, '--out', {str(tmp_path)!r}, "
        "'--format', '{format}'])\n"
        "print(code, *(m for m in ('OCP', 'cadquery') if m in sys.modules), file=sys.stderr)"
    )
    loaded = {}
    for ending in ("stl", "step"):
        done = subprocess.run(
            [sys.executable, "-c", script.replace("{format}", ending)],
            capture_output=True, text=True, check=True, encoding="utf-8",
        )  # fmt: skip
        loaded[ending] = done.stderr.splitlines()[-1].split()
    assert loaded == {"stl": ["0"], "step": ["0", "OCP", "cadquery"]}
