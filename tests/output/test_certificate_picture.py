"""The picture on a certificate: the car from the side, wheels and all, as large as its room lets it be."""

from __future__ import annotations

import pytest

from bodyshop.car.design.model import AxleEnd
from bodyshop.drawing.sheet.replay import boxed
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.raceday.certificate import Award, _picture, side_picture
from bodyshop.rules.checking import open_car
from tests.bodies import axle, box
from tests.bodies import car as small_car


@pytest.fixture(scope="module", params=["heron", "kestrel", "lapwing", "plover", "swift", "wren"])
def car(request: pytest.FixtureRequest):
    return open_car(samples_folder() / f"{request.param}.toml").car


def test_it_holds_the_body_and_both_wheels(car) -> None:
    items, (wide, high) = side_picture(car)
    x0, _, z0, x1, _, z1 = car.body.bounds
    for each in car.design.axles:
        r = each.wheel.radius_mm
        x0, x1 = min(x0, each.x_mm - r), max(x1, each.x_mm + r)
        z0, z1 = min(z0, each.height_mm - r), max(z1, each.height_mm + r)
    assert (wide, high) == pytest.approx((x1 - x0, z1 - z0))
    drawn = [box for _, box in boxed(items)]
    assert min(box.x for box in drawn) == pytest.approx(0.0, abs=0.5)
    assert max(box.right for box in drawn) == pytest.approx(wide, abs=0.5)
    assert min(box.y for box in drawn) == pytest.approx(0.0, abs=0.5)  # the wheels stand on the ground


def test_wheels_beyond_the_body_are_inside_the_picture() -> None:
    short = small_car(box(100, 40, 30), axles=(axle(AxleEnd.FRONT, 5, 8), axle(AxleEnd.REAR, 95, 8)))
    front, rear = (each.wheel.radius_mm for each in short.design.axles)
    items, (wide, high) = side_picture(short)
    assert wide == pytest.approx((95 + rear) - (5 - front))
    assert high == pytest.approx(30 - (8 - max(front, rear)))
    assert max(place.right for _, place in boxed(items)) == pytest.approx(wide, abs=0.5)


def test_it_is_drawn_where_there_is_a_picture_and_room(car) -> None:
    items, size = side_picture(car)
    award = Award("Kestrel", "Bench 4", "1st", (), items, size)
    assert len(_picture(award, Rect(0, 0, 200, 60))) == 2
    assert _picture(award, Rect(0, 0, 200, 9)) == []
    assert _picture(Award("Kestrel", "Bench 4", "1st", ()), Rect(0, 0, 200, 60)) == []
