"""The parts of the car: volumes by closed forms, places by the measures, nothing in another's place.

Outside sources: volumes of cylinder, tube, ring (Pappus), half ball and frustum, any handbook of solids; Open
CASCADE's own integrals and booleans.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBndLib import BRepBndLib
from OCP.TopoDS import TopoDS_Shape

from bodyshop.car.measures import Reading, take_all
from bodyshop.car.stock.hardware import hardware
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.rules.checking import open_car
from bodyshop.solids import BodyForm, CarPart, car_parts
from bodyshop.solids.step import _location
from tests.outside.kernel import integrals


@cache
def opened(name: str):
    return open_car(str(samples_folder() / f"{name}.toml"))


@cache
def parts(name: str) -> dict[str, CarPart]:
    car = opened(name).car
    return {part.name: part for part in car_parts(car, BodyForm(car.body))}


def moved(part: CarPart) -> TopoDS_Shape:
    return part.form.shape().wrapped.Moved(_location(part.move))


def bounds(shape: TopoDS_Shape) -> tuple[float, ...]:
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    return box.Get()


def test_every_part_is_there_by_name() -> None:
    assert list(parts("kestrel")) == [
        "body",
        *(
            f"{end} {what}"
            for end in ("front", "rear")
            for what in ("axle", "bearing", "wheel, left", "washer, left", "wheel, right", "washer, right")
        ),
        "screw eye 1",
        "screw eye 2",
        "cartridge",
    ]


@pytest.mark.parametrize("name", ["kestrel", "dipper"])
def test_the_kernel_finds_the_volumes_that_follow_from_the_sizes(name: str) -> None:
    for part in parts(name).values():
        assert integrals(part.form.shape().wrapped).volume == pytest.approx(part.volume_mm3, rel=1e-5), (
            part.name
        )


def test_volumes_by_hand() -> None:
    found = parts("kestrel")
    stacks = {s.axle.end.value: s for s in opened("kestrel").car.stacks}
    stock = hardware()
    axle = math.pi / 4 * 3**2 * stacks["front"].axle_length_mm
    assert found["front axle"].volume_mm3 == pytest.approx(axle)
    tube = math.pi / 4 * (4**2 - 3.5**2) * stacks["rear"].body_width_mm
    assert found["rear bearing"].volume_mm3 == pytest.approx(tube)
    assert found["front washer, left"].volume_mm3 == pytest.approx(math.pi / 4 * (7**2 - 3.2**2) * 0.5)
    # A wheel of 32 x 3 with a hub of 0.3 x 32 = 9.6 reaching 3 inboard and 2 outboard, hole 3.
    disc = math.pi / 4 * ((32**2 - 3**2) * 3 + (9.6**2 - 3**2) * 5)
    assert found["front wheel, right"].volume_mm3 == pytest.approx(disc)
    # The eye: a ring by Pappus and a shank from the middle of the wire, less what both hold: half of what two
    # crossing bars share (Archimedes: 16 r^3 / 3), a little less since the ring bends away.
    eye = stock.screw_eyes["screw-eye-small"]
    ring = 2 * math.pi**2 * 2.95 * 0.7**2
    shank = math.pi * 0.7**2 * (eye.shank_length_mm + 0.7)
    twice = ring + shank - found["screw eye 1"].volume_mm3
    assert 0.95 * 8 / 3 * 0.7**3 < twice < 8 / 3 * 0.7**3
    # Half a ball of 9, shell of 18, shoulder at 45 degrees down to 8.5, neck as long as wide.
    r, n = 9.0, 4.25
    shell = 65.5 - 8.5 - (r - n) - r
    whole = 2 / 3 * r**3 + r * r * shell + (r - n) / 3 * (r * r + r * n + n * n) + n * n * 8.5
    assert found["cartridge"].volume_mm3 == pytest.approx(math.pi * whole)


@pytest.mark.parametrize("name", ["kestrel", "swift"])
def test_parts_stand_where_the_measures_have_them(name: str) -> None:
    car, found = opened(name).car, parts(name)
    readings = {
        name: reading.value for name, reading in take_all(car).items() if isinstance(reading, Reading)
    }
    box = {part: bounds(moved(found[part])) for part in found}

    def middle(part: str) -> np.ndarray:
        b = np.array(box[part])
        return 0.5 * (b[:3] + b[3:])

    for axle in car.design.axles:
        end = axle.end.value
        for side in ("left", "right"):
            b = box[f"{end} wheel, {side}"]
            x, _, z = middle(f"{end} wheel, {side}")
            assert (x, z) == pytest.approx((axle.x_mm, axle.height_mm), abs=1e-4)
            assert b[5] - b[2] == pytest.approx(axle.wheel.diameter_mm, abs=1e-4)
        stack = car.stack(axle.end)
        assert stack is not None
        hubs = box[f"{end} wheel, right"][4] - box[f"{end} wheel, left"][1]
        assert hubs == pytest.approx(
            2 * (max(stack.hub_outer_mm, stack.tread_outer_mm) - stack.middle), abs=1e-4
        )
    assert middle("rear wheel, left")[0] - middle("front wheel, left")[0] == pytest.approx(
        readings["car.wheelbase"], abs=1e-4
    )
    low, high = box["rear wheel, left"], box["rear wheel, right"]
    widest = max(high[4], box["front wheel, right"][4]) - min(low[1], box["front wheel, left"][1])
    assert widest == pytest.approx(readings["car.width"], abs=1e-3)
    eyes = sorted(middle(p)[0] for p in found if p.startswith("screw eye"))
    assert eyes[1] - eyes[0] == pytest.approx(readings["eyes.spacing"], abs=1e-4)
    # The cartridge touches the blind end.
    assert box["cartridge"][0] == pytest.approx(car.body.bore.x - car.body.bore.depth, abs=1e-4)
    track = car.track
    assert track is not None
    eye = found["screw eye 1"]
    lowest = bounds(moved(eye))[2]
    x = middle("screw eye 1")[0]
    assert track.height(x, lowest) == pytest.approx(readings["front_eye.track_clearance"], abs=0.02)


def test_the_gap_between_the_treads() -> None:
    # Both treads of kestrel's rear wheels by hand: between them the body, two washers, two plays, and what
    # the hub stands inboard.
    car = opened("kestrel").car
    stack = car.stacks[1]
    by_hand = stack.body_width_mm + 2 * (0.5 + 0.5 + 1.0)
    assert stack.tread_gap_mm == pytest.approx(by_hand)
    # A cut through the wheels near their rims meets the treads alone.
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    near_rim = BRepPrimAPI_MakeBox(gp_Pnt(230, -99, -8), gp_Pnt(240, 99, -7)).Shape()
    inner = []
    for side in ("left", "right"):
        cut = BRepAlgoAPI_Common(moved(parts("kestrel")[f"rear wheel, {side}"]), near_rim).Shape()
        b = bounds(cut)
        inner.append(b[4] if side == "left" else b[1])
    assert inner[1] - inner[0] == pytest.approx(by_hand, abs=1e-6)


@pytest.mark.parametrize("name", ["kestrel", "dipper", "wren"])
def test_no_part_is_in_anothers_place(name: str) -> None:
    found = list(parts(name).values())
    shapes = [moved(part) for part in found]
    boxes = []
    for shape in shapes:
        box = Bnd_Box()
        BRepBndLib.Add_s(shape, box)
        boxes.append(box)
    for i, one in enumerate(found):
        for j in range(i + 1, len(found)):
            other = found[j]
            if boxes[i].IsOut(boxes[j]):
                continue
            both = BRepAlgoAPI_Common(shapes[i], shapes[j]).Shape()
            shared = integrals(both).volume
            if one.name == "body" and other.name.startswith("screw eye"):
                # The thread bites: the shank is thicker and longer than its pilot hole.
                eye = opened(name).design.eyes[0].eye
                bite = (
                    math.pi
                    / 4
                    * (eye.wire_mm**2 * eye.shank_length_mm - eye.pilot_diameter_mm**2 * eye.pilot_depth_mm)
                )
                assert shared == pytest.approx(bite, rel=0.01)
            else:
                assert abs(shared) < 1e-6, (one.name, other.name, shared)
