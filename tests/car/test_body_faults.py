"""Holes without wood round them: every side, and just clear of it. Placed cases: tests/hostile/designs."""

from __future__ import annotations

import pytest

from bodyshop.car.body import Body, body_faults
from bodyshop.car.design.model import AxleEnd, AxleSet, Bore, EyePlace
from bodyshop.geometry.outlines import Outline
from tests.bodies import axle, box, design, disc, eye, rectangle

GOOD_AXLES = axle(AxleEnd.FRONT, 40, 8), axle(AxleEnd.REAR, 130, 8)


def codes(
    *,
    bore: Bore | None = None,
    axles: tuple[AxleSet, AxleSet] = GOOD_AXLES,
    eyes: tuple[EyePlace, ...] = (),
    shape: tuple[Outline, Outline] | None = None,
    text: str = "format = 1",
) -> list[str]:
    made = design(shape or box(200, 40, 40), bore=bore or Bore(20, 50, 20), axles=axles, eyes=eyes, text=text)
    return [fault.code for fault in body_faults(Body(made))]


def test_a_sound_car_has_none() -> None:
    assert codes(eyes=(eye(60), eye(110))) == []


@pytest.mark.parametrize(
    ("bore", "out"),
    [
        (Bore(20, 50, 30.1), True),
        (Bore(20, 50, 29.9), False),
        (Bore(20, 50, 9.9), True),
        (Bore(20, 50, 10.1), False),
        (Bore(20, 50, 20, 10.1), True),
        (Bore(20, 50, 20, 9.9), False),
        (Bore(20, 50, 20, -10.1), True),
        (Bore(20, 50, 20, 0, 0.25), True),  # 14 degrees: 12 up over its depth
        (Bore(20, 50, 20, 0, 0.17), False),
    ],
)
def test_a_bore_that_breaks_out(bore: Bore, out: bool) -> None:
    assert codes(bore=bore) == (["bore-breaks-out"] if out else [])


def test_a_bore_into_a_window() -> None:
    near = Outline(rectangle(0, 0, 200, 40), (disc(138, 26, 11.5).turned(left=False),))
    plan = Outline(rectangle(0, -20, 200, 20))
    assert codes(shape=(near, plan)) == []
    into = Outline(rectangle(0, 0, 200, 40), (disc(140, 26, 11.5).turned(left=False),))
    assert codes(shape=(into, plan)) == ["bore-breaks-out"]
    # The same of a window that stands in the file: the fault is that window's, although the axis is in wood.
    written = "format = 1\n\n[[profile.window]]\nat = [140, 26]\n"
    assert codes(shape=(near, plan), text=written) == []
    assert codes(shape=(into, plan), text=written) == ["bore-in-window"]
    # A bore out of the top is not: the window is far from it.
    far = Outline(rectangle(0, 0, 200, 40), (disc(90, 20, 8).turned(left=False),))
    assert codes(shape=(far, plan), bore=Bore(20, 50, 30.1), text=written) == ["bore-breaks-out"]


@pytest.mark.parametrize(("height", "code"), [(8.0, []), (2.1, []), (1.9, ["axle-hole-outside"])])
def test_an_axle_hole_low_down(height: float, code: list[str]) -> None:
    assert codes(axles=(axle(AxleEnd.FRONT, 40, height), GOOD_AXLES[1])) == code


@pytest.mark.parametrize(("height", "code"), [(7.9, []), (8.1, ["axle-in-bore"])])
def test_an_axle_hole_under_the_bore(height: float, code: list[str]) -> None:
    assert codes(axles=(GOOD_AXLES[0], axle(AxleEnd.REAR, 170, height))) == code


@pytest.mark.parametrize(("x", "out"), [(42.6, False), (42.4, True), (37.6, True), (37.4, False)])
def test_an_eye_beside_an_axle_hole(x: float, out: bool) -> None:
    # The pilot reaches 8 up, to the axle hole's centre; radii 0.5 and 2.
    assert codes(eyes=(eye(x),)) == (["eye-in-axle-hole"] if out else [])


@pytest.mark.parametrize("offset", [0.0, 0.3, 3.0, -8.0])
def test_an_eye_under_the_bore(offset: float) -> None:
    # The bore's lowest line is 2 over the underside; the pilot reaches 8.
    low = Bore(20, 50, 12)
    assert codes(bore=low, eyes=(eye(180, offset),)) == ["eye-in-bore"]


def test_an_eye_just_clear_of_the_bore() -> None:
    assert codes(bore=Bore(20, 50, 18.1), eyes=(eye(180),)) == []
    # 10 to one side of a low bore its rim is clear of the round.
    assert codes(bore=Bore(16, 50, 10), eyes=(eye(180, 9),)) == []


def test_an_eye_through_thin_wood_and_off_the_wood() -> None:
    thin = Outline(rectangle(0, 0, 200, 40), (rectangle(52, 7, 80, 30).turned(left=False),))
    plan = Outline(rectangle(0, -20, 200, 20))
    assert codes(shape=(thin, plan), eyes=(eye(60),)) == ["eye-breaks-out"]
    assert codes(eyes=(eye(60, 25),)) == ["eye-outside"]
    assert codes(eyes=(eye(60, 19.8),)) == ["eye-breaks-out"]


def test_wheels_and_holes_that_meet() -> None:
    assert codes(axles=(axle(AxleEnd.FRONT, 60, 8), axle(AxleEnd.REAR, 94.1, 8))) == []
    assert codes(axles=(axle(AxleEnd.FRONT, 60, 8), axle(AxleEnd.REAR, 93.9, 8))) == ["wheels-meet"]
    both = codes(axles=(axle(AxleEnd.FRONT, 60, 8), axle(AxleEnd.REAR, 63.9, 8)))
    assert both == ["axle-holes-meet", "wheels-meet"]


def test_all_at_once() -> None:
    found = codes(
        bore=Bore(20, 50, 31),
        axles=(axle(AxleEnd.FRONT, -5, 8), axle(AxleEnd.REAR, 170, 24)),
        eyes=(eye(172), eye(500)),
    )
    assert found == ["bore-breaks-out", "axle-hole-outside", "axle-in-bore", "eye-outside"]
