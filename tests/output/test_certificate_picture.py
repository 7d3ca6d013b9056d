"""The picture on a certificate: the car from the side, wheels and all, as large as its room lets it be."""

from __future__ import annotations

import pytest

from bodyshop.drawing.sheet.replay import boxed
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.raceday.certificate import Award, _picture, side_picture
from bodyshop.rules.checking import open_car


@pytest.fixture(scope="module")
def car():
    return open_car(samples_folder() / "kestrel.toml").car


def test_it_holds_the_body_and_both_wheels(car) -> None:
    items, (wide, high) = side_picture(car)
    x0, _, z0, x1, _, z1 = car.body.bounds
    for axle in car.design.axles:
        r = axle.wheel.radius_mm
        x0, x1 = min(x0, axle.x_mm - r), max(x1, axle.x_mm + r)
        z0, z1 = min(z0, axle.height_mm - r), max(z1, axle.height_mm + r)
    assert (wide, high) == pytest.approx((x1 - x0, z1 - z0))
    drawn = [box for _, box in boxed(items)]
    assert min(box.x for box in drawn) == pytest.approx(0.0, abs=0.5)
    assert max(box.right for box in drawn) == pytest.approx(wide, abs=0.5)
    assert min(box.y for box in drawn) == pytest.approx(0.0, abs=0.5)  # the wheels stand on the ground


def test_it_is_drawn_where_there_is_a_picture_and_room(car) -> None:
    items, size = side_picture(car)
    award = Award("Kestrel", "Bench 4", "1st", (), items, size)
    assert len(_picture(award, Rect(0, 0, 200, 60))) == 2
    assert _picture(award, Rect(0, 0, 200, 9)) == []
    assert _picture(Award("Kestrel", "Bench 4", "1st", ()), Rect(0, 0, 200, 60)) == []
