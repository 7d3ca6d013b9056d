"""The STL read by a mesh library (trimesh), and its chords measured against the solid by the kernel."""

from __future__ import annotations

import io
from functools import cache

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
from bodyshop.car.design import read_design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import read_source
from bodyshop.solids import BodySolid, body_solid, mesh_of, stl_bytes, undrilled
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.outside.kernel import faces
from tests.outside.refusals import FIRST, passed_over
from tests.strategies import BodyCase, undrilled_bodies

SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


@cache
def solid(name: str) -> BodySolid:
    source = read_source(samples_folder() / f"{name}.toml")
    kit = TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT
    return body_solid(Body(read_design(source, kit)))


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 5


def check(data: bytes, made: BodySolid) -> None:
    found = trimesh.load(io.BytesIO(data), file_type="stl")
    assert isinstance(found, trimesh.Trimesh)
    assert found.is_watertight
    assert found.is_winding_consistent
    assert found.is_volume
    assert found.volume == pytest.approx(made.volume, rel=1e-3)
    assert len(found.faces) == (len(data) - 84) // 50
    assert found.area_faces.min() > 0
    assert np.abs(found.center_mass - made.moments.centre).max() < 0.1


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_closed_and_outward(name: str) -> None:
    check(stl_bytes(solid(name), name), solid(name))


@settings(max_examples=12, phases=FIRST)
@given(undrilled_bodies())
def test_random_bodies_are_closed_and_outward(case: BodyCase) -> None:
    with passed_over():
        made = undrilled(case.sections)
        text = stl_bytes(made)
    check(text, made)


def skin_of(shape: TopoDS_Shape) -> TopoDS_Shape:
    # Distances inside a solid count as nothing, so its faces are asked.
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for face in faces(shape):
        builder.Add(compound, face)
    return compound


@pytest.mark.parametrize(("name", "chord"), [("kestrel", 0.05), ("heron", 0.2)])
def test_no_chord_strays_further_than_it_says(name: str, chord: float) -> None:
    mesh = mesh_of(solid(name), chord)
    corners = mesh.points.astype(np.float64)[mesh.triangles]
    size = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    # The largest triangles, where chords are longest, and some of the rest.
    some = np.random.default_rng(4).choice(size.size, 60, replace=False)
    measure = BRepExtrema_DistShapeShape()
    measure.LoadS1(skin_of(solid(name).shape))
    worst = 0.0
    for i in np.unique(np.concatenate((np.argsort(size)[-60:], some))):
        for weights in ((1 / 3, 1 / 3, 1 / 3), (0.5, 0.5, 0.0), (0.0, 0.5, 0.5), (0.5, 0.0, 0.5)):
            x, y, z = (float(v) for v in np.array(weights) @ corners[i])
            measure.LoadS2(BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, z)).Vertex())
            measure.Perform()
            worst = max(worst, float(measure.Value()))
    assert 0.2 * chord < worst <= chord
