"""Volume, centre, inertia and wetted area against the 3D kernel (Open CASCADE) and a mesh library (trimesh).

The bars: 1e-6 for the body unrounded and undrilled, 1e-4 with rounding and holes. Three ways to a solid: bare
prisms of the two outlines intersected by the kernel, the program's own skin drilled by the kernel, and its
mesh measured by trimesh.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings

from bodyshop.car.body import Body, Sections
from bodyshop.car.body.clearance import axle_to_outline
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.car.design import read_design
from bodyshop.car.design.model import Design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import read_source
from bodyshop.solids import SolidError, body_mesh, body_solid, undrilled
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.outside.kernel import area, common, difference, integrals
from tests.outside.refusals import FIRST, passed_over
from tests.strategies_body import Shape, light_designs, light_shapes

# The kernel is slow: no shrinking.
SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


@cache
def sample(name: str) -> Design:
    source = read_source(samples_folder() / f"{name}.toml")
    return read_design(source, TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT)


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 6


# ---------------------------------------------------------------- bare prisms


@settings(max_examples=200, phases=FIRST)
@given(light_shapes())
def test_two_hundred_random_bodies_as_bare_prisms(shape: Shape) -> None:
    ours = undrilled_moments(Sections(*shape, 0.0))
    assert difference(ours, integrals(common(*shape))) < 1e-6


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_as_bare_prisms(name: str) -> None:
    design = sample(name)
    ours = undrilled_moments(Sections(design.profile, design.plan, 0.0))
    assert difference(ours, integrals(common(design.profile, design.plan))) < 1e-6


# ---------------------------------------------------------------- rounded and drilled


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_rounded_and_drilled(name: str) -> None:
    body = Body(sample(name))
    whole = undrilled(body.sections).wrapped
    assert difference(body.undrilled, integrals(whole)) < 1e-4
    assert body.wetted_area == pytest.approx(area(whole), rel=1e-4)
    assert difference(body.moments, integrals(body_solid(body).wrapped)) < 1e-4


@settings(max_examples=12, phases=FIRST)
@given(light_designs())
def test_random_bodies_rounded_and_drilled(design: Design) -> None:
    body = Body(design)
    # A hole that is half out of the wood is a fault, told as such, and taken less exactly.
    assume(all(axle_to_outline(hole, body.profile).value_mm > 0 for hole in body.axle_holes))
    with passed_over():
        whole = undrilled(body.sections).wrapped
    bar = 1e-4 if design.edge_round_mm else 1e-6
    assert difference(body.undrilled, integrals(whole)) < bar
    assert body.wetted_area == pytest.approx(area(whole), rel=1e-4)
    try:
        solid = body_solid(body)
    except SolidError:
        return  # the kernel gives up on a cut now and then, and the program says so
    assert difference(body.moments, integrals(solid.wrapped)) < 1e-4


# ---------------------------------------------------------------- a mesh


@pytest.mark.parametrize("name", ["heron"])
def test_a_sample_as_a_mesh(name: str) -> None:
    body = Body(sample(name))
    mesh = body_mesh(body)
    found = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    assert found.is_watertight
    assert found.is_winding_consistent
    # Chords of 0.05 mm or finer: within a thousandth.
    assert found.volume == pytest.approx(body.volume, rel=1e-3)
    assert np.abs(found.center_mass - body.moments.centre).max() < 0.1
    assert np.abs(
        found.moment_inertia / found.volume - body.moments.inertia / body.volume
    ).max() < 0.002 * float(body.moments.inertia.max() / body.volume)
