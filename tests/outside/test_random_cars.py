"""Random cars, with inclined bores, windows, rounding, forked noses and unequal wheels: every wall by its
own side, every height, width and area against the 3D kernel (Open CASCADE) and shapely.

Nothing of the reference goes through a section of the program: it is made from the corner points alone
(`random_solid.py`). Three hundred of them are compared by `python tests/benchmarks/random_cars.py`.
"""

from __future__ import annotations

import math
from functools import cache

import pytest

from tests.outside.random_cars import car_numbers
from tests.outside.random_compare import compared, off_by

SEEDS = range(30)
"""The cars of the ordinary suite."""

WHOLE = (1, 5, 7, 21)
"""Those whose volumes and areas are compared as well, which takes the kernel longer."""


@cache
def values(seed: int) -> dict[str, tuple[float, float]]:
    return compared(car_numbers(seed), solids=seed in WHOLE)


@pytest.mark.parametrize("first", SEEDS[::6])
def test_random_cars(first: int) -> None:
    wrong = {
        (seed, name): pair
        for seed in range(first, first + 6)
        for name, pair in values(seed).items()
        if not off_by(name, *pair) <= 1
    }
    assert not wrong


def test_the_cars_have_what_makes_it_hard() -> None:
    cars = [car_numbers(seed) for seed in SEEDS]
    assert sum(c.degrees > 1 for c in cars) >= 7
    assert sum(c.degrees < -1 for c in cars) >= 7
    assert sum(c.edge_round > 2 for c in cars) >= 7
    assert sum(bool(c.side_windows) for c in cars) >= 5
    assert sum(bool(c.top_windows) for c in cars) >= 5
    assert sum(len(c.plan) > 6 for c in cars) >= 5  # a forked nose
    assert sum(abs(c.front.wheel - c.rear.wheel) > 3 for c in cars) >= 7
    assert sum(c.profile[4][0] > c.profile[3][0] for c in cars) >= 5  # a tail that leans out
    assert sum(c.profile[4][0] < c.profile[3][0] for c in cars) >= 5  # a tail that leans in


def test_a_wall_booked_on_the_wrong_side_would_be_found() -> None:
    # Two sides that happened to be equal would hide that they were exchanged.
    names = ("bore.wall_top", "bore.wall_bottom", "bore.wall_sides", "bore.wall_blind_end")
    apart = 0
    for seed in SEEDS:
        found = values(seed)
        apart += all(
            off_by(one, found[one][0], found[other][1]) > 1
            for one in names
            for other in names
            if one != other
        )
    assert apart >= 0.9 * len(SEEDS)


def test_a_reading_that_is_missing_is_a_difference() -> None:
    assert not off_by("bore.wall", math.nan, 3.0) <= 1
    assert off_by("bore.wall", 3.0, 3.02) > 1
    assert off_by("bore.wall", 3.0, 3.008) <= 1
    assert off_by("body.volume", 100_000.0, 100_020.0) > 1
