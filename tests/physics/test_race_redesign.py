from __future__ import annotations

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.what_if import in_wood, read_setting, redesigned
from bodyshop.rules.checking import RulebookCache, open_car
from tests.output.cars import ROOT


def kestrel():
    return open_car(ROOT / "samples" / "kestrel.toml")


@pytest.mark.parametrize(
    ("text", "path", "value"),
    [
        ("bore.height=26", ("bore", "height"), "26"),
        (" profile.points[1][0] = 90 ", ("profile", "points", 1, 0), "90"),
        ("plan.points[2].to[1]=17.5", ("plan", "points", 2, "to", 1), "17.5"),
        ('dimensions.tail="1 5/8 in"', ("dimensions", "tail"), "1 5/8 in"),
    ],
)
def test_a_setting_is_a_key_and_a_value(text: str, path: tuple[str | int, ...], value: str) -> None:
    setting = read_setting(text)
    assert (setting.path, setting.text) == (path, value)


@pytest.mark.parametrize(
    "text", ["", "bore.height", "=3", "bore.height=", "a[b]=3", "a..b=1", "x=" + "9" * 300]
)
def test_anything_else_is_refused(text: str) -> None:
    with pytest.raises(ProblemsError, match="not a key and a value"):
        read_setting(text)


def test_another_number_is_another_car_and_the_file_stays() -> None:
    opened = kestrel()
    before = (ROOT / "samples" / "kestrel.toml").read_bytes()
    changed = redesigned(
        opened, [read_setting("bore.height=27"), read_setting("blank.wood=balsa")], RulebookCache()
    )
    assert changed.design.bore.height_mm == 27.0
    assert changed.car.mass.mass_g < 0.6 * opened.car.mass.mass_g
    assert opened.design.bore.height_mm == 25.0
    assert (ROOT / "samples" / "kestrel.toml").read_bytes() == before


def test_a_point_of_the_outline_can_be_tried() -> None:
    changed = redesigned(kestrel(), [read_setting("profile.points[2].to[0]=200")], RulebookCache())
    assert changed.design.fingerprint != kestrel().design.fingerprint


def test_a_key_that_is_no_key_is_told_with_the_nearest() -> None:
    with pytest.raises(ProblemsError) as caught:
        redesigned(kestrel(), [read_setting("bore.heigth=27")], RulebookCache())
    assert caught.value.problems[0].nearest == "height"
    assert caught.value.problems[0].file.endswith("kestrel.toml with bore.heigth = 27")


def test_what_the_file_leaves_to_the_kit_can_be_tried_too() -> None:
    wren = open_car(ROOT / "samples" / "wren.toml")
    assert "edges" not in wren.source.values
    settings = ["edges.round=4", "axles.front.wheel=wheel-34", "bore.height=26", "parts.spare_wheels=2"]
    changed = redesigned(wren, map(read_setting, settings), RulebookCache()).design
    assert changed.edge_round_mm == 4.0
    assert changed.front.wheel.id == "wheel-34"
    assert changed.bore.height_mm == 26.0
    assert changed.parts.spare_wheels == 2
    assert "edges" not in wren.source.values


@pytest.mark.parametrize(
    "text", ["profile.points[99][0]=3", "profile.points[0]=3", "profile=3", "bore.height.mm=3"]
)
def test_a_place_that_holds_no_number_is_refused(text: str) -> None:
    with pytest.raises(ProblemsError, match="no number or word at"):
        redesigned(kestrel(), [read_setting(text)], RulebookCache())


@pytest.mark.parametrize("text", ["bore.height=tall", "bore.height=-5", "axles.front.x=9000"])
def test_a_value_that_makes_no_car_is_told_as_in_the_file(text: str) -> None:
    with pytest.raises(ProblemsError):
        redesigned(kestrel(), [read_setting(text)], RulebookCache())


def test_another_wood_weighs_by_its_density() -> None:
    opened = kestrel()
    balsa, beech = in_wood(opened, "balsa"), in_wood(opened, " American-Beech ")
    assert balsa.mass.mass_g < opened.car.mass.mass_g < beech.mass.mass_g
    assert balsa.body.volume == pytest.approx(opened.car.body.volume)
    with pytest.raises(ProblemsError) as caught:
        in_wood(opened, "balsaa")
    assert caught.value.problems[0].nearest == "balsa"
