"""Blanks against closed forms, the handbook's densities, and a general mesh and unit library."""

from __future__ import annotations

import numpy as np
import pint
import pytest
import trimesh

from bodyshop.car.stock.blanks import BlankBore, blanks
from bodyshop.car.stock.woods import woods

UNITS: pint.UnitRegistry = pint.UnitRegistry()


def test_there_are_boxes_and_wedges_drilled_and_not() -> None:
    kinds = {(blank.is_wedge, blank.is_drilled) for blank in blanks().values()}
    assert kinds == {(False, False), (False, True), (True, False), (True, True)}
    assert {blank.confidence.value for blank in blanks().values()} == {"I"}


# 305 x 42 x 70 mm is 896.7 cm3: balsa 143 g, basswood 371 g, eastern white pine 352 g (handbook densities
# by hand).
@pytest.mark.parametrize(("wood", "mass"), [("balsa", 143), ("basswood", 371), ("eastern-white-pine", 352)])
def test_mass_of_a_full_block(wood: str, mass: int) -> None:
    volume = blanks()["larkfield-block"].gross_volume_mm3
    assert volume * woods()[wood].density_g_per_mm3 == pytest.approx(mass, abs=0.6)


@pytest.mark.parametrize("blank", sorted(blanks()))
def test_volume_is_that_of_the_mesh_and_of_the_prismoidal_formula(blank: str) -> None:
    item = blanks()[blank]
    corners = [
        (x, side * item.width_mm / 2, z)
        for x, top in ((0.0, item.height_nose_mm), (item.length_mm, item.height_tail_mm))
        for side in (-1, 1)
        for z in (0.0, top)
    ]
    mesh = trimesh.convex.convex_hull(np.array(corners))
    assert item.gross_volume_mm3 == pytest.approx(mesh.volume, rel=1e-12)
    # V = h/6 (A1 + 4 Am + A2)
    nose, middle, tail = (item.width_mm * item.height_at(part * item.length_mm) for part in (0.0, 0.5, 1.0))
    assert item.gross_volume_mm3 == pytest.approx(item.length_mm / 6 * (nose + 4 * middle + tail), rel=1e-12)


def test_slope_of_a_wedge() -> None:
    wedge = blanks()["quarry-lane-wedge"]
    # 30 mm up over 305 mm: 5.62 degrees
    degrees = UNITS.Quantity(wedge.top_slope_rad, "radian").to("degree").magnitude
    assert degrees == pytest.approx(5.618, abs=1e-3)
    assert wedge.height_at(wedge.length_mm) == wedge.height_tail_mm
    assert blanks()["larkfield-block"].top_slope_rad == 0.0


# Hole volumes by hand: 19 x 51 mm is 14.46 cm3, 19.5 x 52 mm is 15.53 cm3.
@pytest.mark.parametrize(("diameter", "depth", "cm3"), [(19.0, 51.0, 14.46), (19.5, 52.0, 15.53)])
def test_volume_of_a_bore(diameter: float, depth: float, cm3: float) -> None:
    assert BlankBore(diameter, depth, 35.0).volume_mm3 == pytest.approx(1000.0 * cm3, abs=5.0)


def test_a_drilled_blank_weighs_less_by_its_hole() -> None:
    plain, drilled = blanks()["larkfield-block"], blanks()["larkfield-block-drilled"]
    assert drilled.bore is not None
    assert plain.wood_volume_mm3 - drilled.wood_volume_mm3 == pytest.approx(drilled.bore.volume_mm3)
    assert plain.gross_volume_mm3 == drilled.gross_volume_mm3


def test_the_inch_block_is_its_inches() -> None:
    block = blanks()["foot-block-drilled"]
    assert block.bore is not None
    found = (
        block.length_mm,
        block.width_mm,
        block.height_tail_mm,
        block.bore.diameter_mm,
        block.bore.depth_mm,
        block.bore.height_mm,
    )
    wanted = (12, 1 + 5 / 8, 2 + 3 / 4, 3 / 4, 2, (2 + 3 / 4) / 2)
    inches = [UNITS.Quantity(length, "millimetre").to("inch").magnitude for length in found]
    assert inches == pytest.approx(wanted, rel=1e-12)
