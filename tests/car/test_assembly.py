"""What sits across an axle, where the track lies, and what the car weighs, by hand.

Outside sources: the common tangent of two circles, sin of its slope = (r1 - r2) / distance (any handbook of
geometry); composite centre of mass sum(m x) / sum(m); independent errors add as squares (GUM, JCGM 100, 5.1);
a flat spread of one step of a balance has a standard deviation of step / sqrt(12) (GUM 4.3.7).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from bodyshop.car.assembly import Car, MassGroup, MassItem, wood_density
from bodyshop.car.assembly.mass import BLANK_SIZE, FACE_MM, WITHIN_BLOCK, total
from bodyshop.car.assembly.stack import track_under
from bodyshop.car.design.model import AxleEnd, Bore
from bodyshop.car.measures import Reading, take_all
from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import Wheel, hardware
from bodyshop.geometry.outlines import Outline
from tests.bodies import axle, box, car, design, eye, half, rectangle

WHEEL = hardware().wheels["wheel-34"]  # 34 across, tread 6, hub 9 long, its inner end 2 inboard of the tread


def of(diameter: float) -> Wheel:
    return replace(WHEEL, diameter_mm=diameter)


# ---------------------------------------------------------------- stacks


def stacked(**kw):
    c = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8, **kw), axle(AxleEnd.REAR, 150, 8)))
    stack = c.stack(AxleEnd.FRONT)
    assert stack is not None
    return stack


def test_a_stack_from_the_body_outwards() -> None:
    # Body side at 20; play 0.5, one washer 0.5, hub from 21 to 30; tread from 21 + 2 to 23 + 6.
    s = stacked()
    assert s.faces == (-20.0, 20.0)
    assert s.body_width_mm == 40
    assert s.bearing_length_mm == 40
    assert (s.hub_inner_mm, s.hub_outer_mm) == (21, 30)
    assert (s.tread_inner_mm, s.tread_outer_mm) == (23, 29)
    assert s.tread_gap_mm == 46
    assert s.axle_length_mm == 60  # flush with the hubs
    assert s.ends == (-30.0, 30.0)


@pytest.mark.parametrize(
    ("kw", "hub_inner"),
    [
        ({"washers": 3}, 22),
        ({"washers": 0}, 20.5),
        ({"washer": ""}, 20.5),
        ({"play": 0.0}, 20.5),
        ({"play": 2.0, "washers": 2}, 23),
        ({"washer": "washer-nylon-3"}, 21.5),  # 1 mm thick
    ],
)
def test_play_and_washers_move_the_wheels(kw: dict, hub_inner: float) -> None:
    s = stacked(**kw)
    assert s.hub_inner_mm == pytest.approx(hub_inner)
    assert s.tread_gap_mm == pytest.approx(2 * (hub_inner + 2))


def test_an_axle_of_its_own_length() -> None:
    long, short = stacked(length=70.0), stacked(length=50.0)
    assert (long.axle_length_mm, long.ends) == (70, (-35, 35))
    assert (short.axle_length_mm, short.ends) == (50, (-30, 30))


def test_no_bearing_no_tube() -> None:
    assert stacked(bearing="").bearing_length_mm == 0


def test_a_hub_set_back_from_its_tread() -> None:
    inboard = replace(WHEEL, hub_inboard_mm=-1.5, hub_length_mm=3.0)
    s = stacked(wheel=inboard)
    assert (s.hub_inner_mm, s.hub_outer_mm) == (21, 24)
    assert (s.tread_inner_mm, s.tread_outer_mm) == (19.5, 25.5)
    assert s.ends == (-25.5, 25.5)


def test_a_body_wider_on_one_side() -> None:
    shape = Outline(rectangle(0, 0, 200, 30)), Outline(rectangle(0, -15, 200, 25))
    c = car(shape, axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)))
    s = c.stack(AxleEnd.REAR)
    assert s is not None
    assert s.middle == 5.0
    assert s.faces == (-15.0, 25.0)
    assert s.tread_gap_mm == 46
    assert s.ends == (-25.0, 35.0)


def test_width_is_taken_at_the_axle() -> None:
    shape = Outline(rectangle(0, 0, 200, 30)), half((0, 10), (200, 20))
    c = car(shape, axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)))
    assert [s.body_width_mm for s in c.stacks] == pytest.approx([25, 35])


def test_a_hole_in_the_air_has_no_stack() -> None:
    c = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 38)))
    assert c.stack(AxleEnd.REAR) is None
    assert len(c.stacks) == 1


# ---------------------------------------------------------------- track


def test_equal_wheels_stand_level() -> None:
    t = track_under(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8))
    assert t is not None
    assert (t.nx, t.nz) == pytest.approx((0, 1), abs=1e-15)
    assert t.tilt_rad == pytest.approx(0, abs=1e-15)
    assert t.height(0, 0) == pytest.approx(17 - 8)
    assert t.height(77, 30) == pytest.approx(39)
    assert t.foot(77, 30) == pytest.approx((77, -9))


@pytest.mark.parametrize(("front", "rear"), [(30.0, 40.0), (40.0, 30.0), (24.0, 60.0)])
def test_unequal_wheels_by_the_common_tangent(front: float, rear: float) -> None:
    a, b = axle(AxleEnd.FRONT, 50, 8, wheel=of(front)), axle(AxleEnd.REAR, 150, 8, wheel=of(rear))
    t = track_under(a, b)
    assert t is not None
    slope = math.asin((front - rear) / 2 / 100)
    assert t.tilt_rad == pytest.approx(slope)  # nose up where the front wheels are the larger
    assert t.height(50, 8) == pytest.approx(front / 2)
    assert t.height(150, 8) == pytest.approx(rear / 2)
    # In the side view the track rises towards the tail where the front wheels are the larger.
    assert math.copysign(1, t.foot(150, 8)[1] - t.foot(50, 8)[1]) == math.copysign(1, front - rear)
    # The touching points lie square under the centres and as far apart as the tangent is long.
    p, q = t.foot(50, 8), t.foot(150, 8)
    assert math.dist(p, q) == pytest.approx(math.sqrt(100**2 - ((front - rear) / 2) ** 2))


def test_equal_wheels_at_different_heights() -> None:
    # The rear hole 6 higher, so the wood is lower there: the car stands nose up.
    t = track_under(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 14))
    assert t is not None
    assert t.tilt_rad == pytest.approx(math.atan2(6, 100))
    assert t.height(50, 0) > t.height(150, 0)


def test_a_wheel_that_swallows_the_other_has_no_track() -> None:
    a, b = axle(AxleEnd.FRONT, 50, 8, wheel=of(10)), axle(AxleEnd.REAR, 60, 8, wheel=of(31))
    assert track_under(a, b) is None


@pytest.mark.parametrize(("front", "rear", "sign"), [(40.0, 30.0, 1), (30.0, 40.0, -1)])
def test_a_level_bore_points_up_where_the_car_stands_nose_up(front: float, rear: float, sign: int) -> None:
    from bodyshop.car.measures import Reading, catalogue

    axles = axle(AxleEnd.FRONT, 50, 8, wheel=of(front)), axle(AxleEnd.REAR, 150, 8, wheel=of(rear))
    c = car(box(200, 60, 60), bore=Bore(20, 50, 30), axles=axles)
    reading = catalogue()["bore.angle"].take(c)
    assert isinstance(reading, Reading)
    assert reading.value == pytest.approx(sign * math.asin(0.05))
    # The blind end is then higher over the track than the mouth, and the other way round.
    bore, t = c.body.bore, c.track
    assert bore is not None
    assert t is not None
    rise = t.height(*bore.point(50)) - t.height(bore.x, bore.z)
    assert rise == pytest.approx(50 * math.sin(reading.value))


# ---------------------------------------------------------------- mass


def item(mass: float, sd: float, centre: tuple[float, float, float] = (0, 0, 0)) -> MassItem:
    return MassItem(MassGroup.HARDWARE, "thing", 1, mass, sd, centre, "")


def test_totals_by_hand() -> None:
    t = total([item(30, 3, (100, 0, 20)), item(10, 4, (200, 4, 0))])
    assert t.mass_g == 40
    assert t.sd_g == 5
    assert t.centre == pytest.approx((125, 1, 15))
    assert (t.low_g, t.high_g) == (30, 50)
    assert total([item(1, 4)]).low_g == 0  # never below nothing
    assert total([]).mass_g == 0


def build(**kw) -> Car:
    return car(
        box(200, 40, 30),
        bore=Bore(20, 50, 15),
        axles=(axle(AxleEnd.FRONT, 40, 8), axle(AxleEnd.REAR, 130, 8, bearing="tube-brass-4")),
        eyes=[eye(60), eye(110)],
        **kw,
    )


def masses(c: Car) -> dict[str, float]:
    return {i.label: i.mass_g for i in c.items}


def test_every_item_by_hand() -> None:
    # basswood 0.37 x 1.12 = 0.4144 g/cm3
    m = masses(build(finish="painted", glue="drops"))
    holes = math.pi * 100 * 50 + 2 * math.pi * 4 * 40 + 2 * math.pi * 0.25 * 8
    assert m["wooden body"] == pytest.approx(0.4144e-3 * (200 * 40 * 30 - holes), rel=1e-6)
    assert m["sawing and sanding"] == 0
    # 85 micrometres of 1300 kg/m3 on all of the skin.
    skin = 2 * (200 * 40 + 200 * 30 + 40 * 30)
    assert m["finish (painted)"] == pytest.approx(skin * 0.085 * 1.3e-3)
    assert m["glue"] == 0.4
    assert m["front wheels"] == m["rear wheels"] == 4.8
    # Steel rods 3 mm, 60 long: 7850 kg/m3.
    assert m["front axle"] == pytest.approx(7.85e-3 * math.pi / 4 * 9 * 60)
    # A straw 4 / 3.5 of polypropylene, a brass tube 4 / 3.1, both 40 long.
    assert m["front bearing"] == pytest.approx(0.905e-3 * math.pi / 4 * (16 - 12.25) * 40)
    assert m["rear bearing"] == pytest.approx(8.58e-3 * math.pi / 4 * (16 - 9.61) * 40)
    # Two brass washers 7 / 3.2 x 0.5.
    assert m["front washers"] == pytest.approx(2 * 8.58e-3 * math.pi / 4 * (49 - 10.24) * 0.5)
    # A ring of 1.4 mm wire, 5.9 over its middle, and 10 mm of shank.
    one = 7.85e-3 * math.pi / 4 * 1.96 * (math.pi * 5.9 + 10)
    assert sum(i.mass_g for i in build().items if i.label == "screw eye") == pytest.approx(2 * one)


def test_how_many_of_each_thing_the_car_has() -> None:
    own = {i.label: i.count for i in build(finish="painted", glue="drops").items if i.label != "screw eye"}
    pairs = {"front wheels", "rear wheels", "front washers", "rear washers"}
    assert {label for label, count in own.items() if count == 2} == pairs, "a wheel and a washer each side"
    assert {label for label, count in own.items() if count == 1} == set(own) - pairs
    assert [i.count for i in build().items if i.label == "screw eye"] == [1, 1]
    more = (axle(AxleEnd.FRONT, 40, 8, washers=3), axle(AxleEnd.REAR, 130, 8, washers=0))
    counts = {i.label: i.count for i in car(box(200, 40, 30), axles=more).items}
    assert counts["front washers"] == 6
    assert "rear washers" not in counts


def test_the_balance_is_told_with_the_spread_of_its_own_direction() -> None:
    c = build()
    across = take_all(c)
    for name, spread in (("car.balance", c.centre_spread[0]), ("car.balance_height", c.centre_spread[2])):
        reading = across[name]
        assert isinstance(reading, Reading)
        assert reading.spread == spread > 0
    assert len(set(c.centre_spread)) == 3


def test_the_car_is_the_sum_of_its_items() -> None:
    c = build(finish="painted", glue="drops")
    assert c.mass.mass_g == pytest.approx(sum(i.mass_g for i in c.items))
    assert c.mass.centre[0] == pytest.approx(sum(i.mass_g * i.centre[0] for i in c.items) / c.mass.mass_g)
    assert c.mass.centre[1] == pytest.approx(0, abs=1e-9)
    assert c.mass.sd_g == pytest.approx(math.sqrt(sum(i.sd_g**2 for i in c.items)))


def test_the_cartridge_sits_against_the_blind_end() -> None:
    # Balances 31 mm from its base, which is 50 mm in from the tail: at x = 150 + 31.
    c = build()
    gas = c.design.cartridge
    full, empty = c.mass_loaded, c.mass_spent
    assert full.mass_g == pytest.approx(c.mass.mass_g + 29.15)
    assert empty.mass_g == pytest.approx(c.mass.mass_g + 21.15)
    assert gas.balance_from_base_mm == 31
    assert full.centre[0] == pytest.approx((c.mass.mass_g * c.mass.centre[0] + 29.15 * 181) / full.mass_g)
    assert full.centre[2] == pytest.approx((c.mass.mass_g * c.mass.centre[2] + 29.15 * 15) / full.mass_g)
    no_bore = car(box(200, 40, 30))
    assert no_bore.mass_loaded == no_bore.mass


@pytest.mark.parametrize("spread", [0.02, 0.2])
def test_the_spread_of_the_cartridges_mass_is_in_the_loaded_cars_interval(spread: float) -> None:
    # Independent errors add as squares (GUM 5.1); shell and gas differ together, full or spent.
    c = build()
    gas = replace(c.design.cartridge, mass_spread=spread)
    other = Car(replace(c.design, cartridge=gas))
    for mass in (other.mass_loaded, other.mass_spent):
        assert mass.sd_g == pytest.approx(math.hypot(c.mass.sd_g, spread * 29.15))
        assert mass.high_g - mass.mass_g == pytest.approx(2 * mass.sd_g)
    assert other.mass.sd_g == c.mass.sd_g, "without a cartridge it plays no part"


def test_a_weighed_blank_replaces_the_handbook() -> None:
    # 372 g in 305 x 42 x 70 = 896.7 cm3.
    d = design(box(200, 40, 30), weighed=372.0)
    density, spread, why = wood_density(d)
    assert density == pytest.approx(372 / 896_700)
    reading = 1 / math.sqrt(12) / 372
    assert spread == pytest.approx(math.sqrt(reading**2 + BLANK_SIZE**2 + WITHIN_BLOCK**2))
    assert "size" in why
    assert wood_density(replace(d, weighed_blank_g=None))[:2] == (d.wood.density_g_per_mm3, 0.1)


def test_a_weighed_blank_narrows_the_interval() -> None:
    guess, weighed = build(), build(weighed=371.6)
    assert weighed.mass.mass_g == pytest.approx(guess.mass.mass_g, rel=1e-3)
    assert weighed.mass.sd_g < guess.mass.sd_g / 2
    rough = Car(replace(weighed.design, balance_g=20.0))
    assert weighed.mass.sd_g < rough.mass.sd_g < guess.mass.sd_g


def test_a_drilled_blank_is_weighed_without_its_hole() -> None:
    d = design(box(200, 40, 30), weighed=300.0, blank="larkfield-block-drilled")
    hole = math.pi / 4 * 19.5**2 * 52
    assert wood_density(d)[0] == pytest.approx(300 / (896_700 - hole))


def test_what_makes_the_interval_wide() -> None:
    c = build(finish="painted", glue="drops")
    items = {i.label: i for i in c.items}
    wood = items["wooden body"]
    assert wood.sd_g == pytest.approx(0.1 * wood.mass_g)
    assert max(c.items, key=lambda i: i.sd_g) is wood
    assert items["sawing and sanding"].sd_g == pytest.approx(0.4144e-3 * c.body.wetted_area * FACE_MM)
    paint, glue = finishes()["painted"], glues()["drops"]
    film = items["finish (painted)"]
    assert film.sd_g == pytest.approx(film.mass_g * paint.mass_spread)
    assert items["glue"].sd_g == pytest.approx(glue.mass_g * glue.mass_spread)
    # Two alike wheels err together.
    assert items["front wheels"].sd_g == pytest.approx(2 * 2.4 * 0.05)


def test_bare_wood_and_press_fits_add_nothing() -> None:
    labels = masses(build())
    assert not any("finish" in label or label == "glue" for label in labels)


def test_the_spread_of_the_centre_of_mass_against_drawn_cars() -> None:
    """Against 200,000 cars whose items are drawn from their spreads, and a block by hand whose density rises
    from end to end: its centre lies `share * length / 12` off its middle. To first order, so within 5 %.
    """
    c = build(finish="painted", glue="drops")
    rng = np.random.default_rng(20)
    drawn = np.array([rng.normal(i.mass_g, i.sd_g, 200_000) for i in c.items])
    for axis in (0, 2):
        places = np.array([i.centre[axis] for i in c.items])
        apart = float(((drawn * places[:, None]).sum(axis=0) / drawn.sum(axis=0)).std())
        wood = sum(i.mass_g for i in c.items if i.part is MassGroup.WOOD)
        grain = 0.0
        if axis == 0:  # the block is as long as the car; its holes take 3 % of it
            grain = WITHIN_BLOCK / c.design.blank.length_mm * 200**2 / 12 * wood / c.mass.mass_g
        assert c.centre_spread[axis] == pytest.approx(math.hypot(apart, grain), rel=0.05)


def test_a_weighed_blank_narrows_the_spread_of_the_centre_of_mass() -> None:
    known = build(weighed=371.6)
    assert known.centre_spread[0] < build().centre_spread[0]


def test_the_list_of_masses_counts_pieces() -> None:
    # One washer at each wheel: two an axle. Common practice: parts are counted by piece.
    washer = hardware().washers["washer-3"]
    front, rear = (
        replace(axle(end, x, 8), washer=washer, washers=count)
        for end, x, count in ((AxleEnd.FRONT, 50, 1), (AxleEnd.REAR, 150, 2))
    )
    c = car(box(200, 40, 30), axles=(front, rear), glue="drops")
    counted = {item.label: item.count for item in c.items}
    assert counted["front washers"] == 2
    assert counted["rear washers"] == 4
    assert counted["glue"] == 1


def test_the_balance_point_is_as_unsure_along_the_car_as_the_car_says() -> None:
    from bodyshop.car.measures import Reading, catalogue

    c = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)))
    along, across, up = c.centre_spread
    assert along != pytest.approx(across, abs=1e-3)
    balance = catalogue()["car.balance"].take(c)
    height = catalogue()["car.balance_height"].take(c)
    assert isinstance(balance, Reading)
    assert isinstance(height, Reading)
    assert balance.spread == along
    assert height.spread == up
