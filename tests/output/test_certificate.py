"""The picture of a car on its certificate: its wheels, its size and where it stands."""

from __future__ import annotations

import pytest

from bodyshop.car.design.model import AxleEnd
from bodyshop.drawing.sheet.items import Circle, Group, Item
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.output.papers.raceday.certificate import Award, certificate, side_picture
from bodyshop.output.papers.raceday.documents import DayHead
from tests.bodies import axle, box, car

HEAD = DayHead("Quarry Lane Sprint", "Larkfield School workshop", "quarry-lane", "2031-05-14")
A4 = sheet_sizes()["a4"]


def flat(items: tuple[Item, ...] | list[Item]) -> list[Item]:
    return [one for item in items for one in (flat(item.items) if isinstance(item, Group) else [item])]


# A box 200 long and 30 high; wheels of 34 across 8 up stand 9 under it.
@pytest.mark.parametrize(
    ("front", "rear", "size"),
    [
        (50.0, 150.0, (200, 39)),
        (10.0, 150.0, (207, 39)),  # 7 ahead of the nose
        (50.0, 195.0, (212, 39)),  # 12 behind the tail
        (10.0, 195.0, (219, 39)),
    ],
)
def test_the_picture_takes_in_body_and_wheels(front: float, rear: float, size: tuple[float, float]) -> None:
    made = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, front, 8), axle(AxleEnd.REAR, rear, 8)))
    items, found = side_picture(made)
    assert found == pytest.approx(size)
    rims = [item for item in flat(items) if isinstance(item, Circle) and item.radius_mm == 17]
    assert {item.centre for item in rims} == {(front, 8.0), (rear, 8.0)}


def test_a_certificate_without_a_picture_leaves_its_room_free() -> None:
    made = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)))
    items, size = side_picture(made)
    shown = certificate(Award("Kestrel", "Bench 4", "1st place", (), items, size), HEAD, A4)
    bare = certificate(Award("Kestrel", "Bench 4", "1st place", ()), HEAD, A4)
    own = [item for item in shown.items if item not in bare.items]
    assert [item.items for item in own if isinstance(item, Group)] == [items]
    assert len(own) == 2, "the car and the ground it stands on"
    assert [item for item in bare.items if item not in shown.items] == []
