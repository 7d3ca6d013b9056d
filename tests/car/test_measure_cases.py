"""Every measure against values worked by hand, and the words of the catalogue."""

from __future__ import annotations

import math
import re

import pytest

from bodyshop.car.measures import NotKnown, QuantityKind, Reading, catalogue
from tests.car.hand_cases import CASES, HandCase, car_from, read_cases

HAND = read_cases()
UNITS = {
    QuantityKind.LENGTH: ("mm", 1.0),
    QuantityKind.MASS: ("g", 1.0),
    QuantityKind.ANGLE: ("deg", math.degrees(1.0)),
    QuantityKind.COUNT: ("count", 1.0),
    QuantityKind.AREA: ("mm2", 1.0),
    QuantityKind.VOLUME: ("mm3", 1.0),
}


def test_there_are_cases() -> None:
    assert len(HAND) >= len(catalogue())


@pytest.mark.parametrize("case", HAND, ids=lambda c: c.name)
def test_a_value_worked_by_hand(case: HandCase) -> None:
    entry = catalogue()[case.measure]
    reading = entry.take(car_from(case.change, case.drop))
    assert isinstance(reading, Reading), reading
    unit, scale = UNITS[entry.kind]
    assert case.unit == unit
    assert reading.value * scale == pytest.approx(case.value, abs=max(case.tolerance, 1e-9)), case.worked


def test_every_measure_has_a_case_and_every_case_a_measure() -> None:
    files = {file.stem for file in CASES.iterdir()}
    assert files == set(catalogue())
    assert {case.measure for case in HAND} == files


@pytest.mark.parametrize("case", HAND, ids=lambda c: c.name)
def test_a_case_says_how_it_was_worked_and_what_it_is_held_to(case: HandCase) -> None:
    assert case.worked
    assert case.source
    assert 0 < case.tolerance <= 2
    if case.unit in ("mm", "deg"):
        assert case.tolerance <= 0.01


# ---------------------------------------------------------------- the catalogue's own words

ENTRIES = list(catalogue().values())


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda e: e.id)
def test_a_measure_says_what_it_is(entry) -> None:
    assert re.fullmatch(r"[a-z_]+\.[a-z_]+", entry.id)
    assert entry.title == entry.title.strip() != ""
    assert len(entry.title) <= 60
    assert entry.sentence.endswith(".")
    assert entry.sentence[0].isupper()
    assert "{" not in entry.title + entry.sentence + entry.more + entry.less + "".join(entry.between)
    assert all(end.strip() for end in entry.between) or entry.between == ("", "")
    assert len(entry.between) == 2
    between_points = entry.kind in (QuantityKind.LENGTH, QuantityKind.ANGLE)
    assert bool(entry.ends) or not between_points
    assert all("{" not in driver for driver in entry.drivers)
    assert entry.drivers


def test_titles_are_told_apart() -> None:
    titles = [entry.title for entry in ENTRIES]
    assert len(set(titles)) == len(titles)


def test_commands_to_the_builder_are_commands() -> None:
    for entry in ENTRIES:
        for command in (entry.more, entry.less):
            assert not command.endswith(".")
            assert command[:1] == command[:1].lower()


# ---------------------------------------------------------------- what is not there

ABSENT = {
    "bore.wall_window": ("", ()),
    "bore.wall_eye": ("", ("screw_eye",)),
    "eyes.spacing": ('[[screw_eye]]\nx = 60\neye = "screw-eye-small"\n', ()),
    "eyes.spread": ('[[screw_eye]]\nx = 60\neye = "screw-eye-small"\n', ()),
    "front_eye.from_axle": ("", ("screw_eye",)),
    "rear_eye.wall": ('[[screw_eye]]\nx = 60\neye = "screw-eye-small"\n', ()),
    "front_eye.track_clearance": ("", ("screw_eye",)),
    "rear_bearing.diameter": ("", ()),
    "windows.least_radius": ("", ()),
    "body.least_hollow_radius": ("", ()),
}


@pytest.mark.parametrize("name", ABSENT)
def test_what_is_not_there_is_said_to_be_absent(name: str) -> None:
    found = catalogue()[name].take(car_from(*ABSENT[name]))
    assert isinstance(found, NotKnown)
    assert found.absent
    assert found.reason
    assert not found.reason.endswith(".")


def test_what_cannot_be_told_says_why() -> None:
    off = car_from("[bore]\ndiameter = 20\ndepth = 50\nheight = 39\n")
    # A bore half out of the wood still has walls, below nothing; one that runs out of the end has none.
    top = catalogue()["bore.wall_top"].take(off)
    assert isinstance(top, Reading)
    assert top.value == pytest.approx(-9)
    undrilled = car_from('[blank]\nlength = 250\nwidth = 42\nheight = 50\nwood = "balsa"\n')
    mismatch = catalogue()["blank.bore_mismatch"].take(undrilled)
    assert isinstance(mismatch, NotKnown)
    silent = car_from("", ("parts",))
    assert isinstance(catalogue()["marking.number_height"].take(silent), NotKnown)
