"""Rectangles packed on sheets: nothing overlaps, nothing sticks out, and few sheets are used."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from bodyshop.geometry.packing import PackedSheet, pack
from bodyshop.geometry.paths import Rect

GAP = 8.0
A4 = (182.0, 220.0)


def some(seed: int, count: int) -> list[tuple[float, float]]:
    chance = np.random.default_rng(seed)
    return [(float(chance.uniform(20, 120)), float(chance.uniform(20, 150))) for _ in range(count)]


def apart(one: Rect, other: Rect) -> float:
    """The gap between two rectangles along x or y, whichever is larger; negative where they overlap."""
    return max(one.x - other.right, other.x - one.right, one.y - other.top, other.y - one.top)


def checked(sizes: list[tuple[float, float]], packed: list[PackedSheet], gap: float) -> None:
    placed = [number for sheet in packed for number, _ in sheet.places]
    assert sorted(placed) == list(range(len(sizes)))
    for sheet in packed:
        whole = Rect(0, 0, *sheet.room)
        rects = [rect for _, rect in sheet.places]
        for number, rect in sheet.places:
            assert (rect.width, rect.height) == pytest.approx(sizes[number])
            assert whole.holds(rect)
        assert all(apart(a, b) >= gap - 1e-6 for a, b in itertools.combinations(rects, 2))
        for free in sheet.free:
            assert whole.holds(free)
            assert all(apart(free, rect) >= gap - 1e-6 for rect in rects)
        right, down = sheet.used
        assert right == pytest.approx(max(rect.right for rect in rects))
        assert down == pytest.approx(sheet.room[1] - min(rect.y for rect in rects))


@pytest.mark.parametrize("seed", range(12))
def test_nothing_overlaps_or_sticks_out(seed: int) -> None:
    sizes = some(seed, 3 + seed)
    packed = pack(sizes, [A4, (A4[1] + 60, A4[0])], GAP)
    assert packed is not None
    checked(sizes, packed, GAP)
    # No fewer than the area needs, and not one for each.
    area = sum((w + GAP) * (h + GAP) for w, h in sizes)
    room = (packed[0].room[0] + GAP) * (packed[0].room[1] + GAP)
    assert math.ceil(area / room) <= len(packed) <= math.ceil(1.7 * area / room)
    assert pack(sizes, [A4, (A4[1] + 60, A4[0])], GAP) == packed


@pytest.mark.parametrize(
    ("columns", "rows", "sheets"), [(2, 2, 1), (3, 4, 1), (4, 3, 1), (1, 13, 2), (5, 5, 3)]
)
def test_a_grid_is_packed_without_loss(columns: int, rows: int, sheets: int) -> None:
    # Twelve of these fill the room to the last millimetre: 3 x 54 + 2 x 8 by 4 x 40 + 3 x 8.
    room = (3 * 54.0 + 2 * GAP, 4 * 40.0 + 3 * GAP)
    sizes = [(54.0, 40.0)] * (columns * rows)
    packed = pack(sizes, [room], GAP)
    assert packed is not None
    checked(sizes, packed, GAP)
    assert len(packed) == sheets


def test_the_pieces_of_a_cut_sheet_go_back_on_it() -> None:
    # A sheet sawn into a row of three over a row of two, and a strip at the foot: drawn by hand.
    sizes = [(60.0, 80.0), (70.0, 80.0), (36.0, 80.0), (100.0, 90.0), (74.0, 90.0), (182.0, 34.0)]
    packed = pack(sizes, [A4], GAP)
    assert packed is not None
    checked(sizes, packed, GAP)
    assert len(packed) == 1


def test_the_room_that_takes_fewer_sheets_is_chosen() -> None:
    packed = pack([(210.0, 90.0), (210.0, 70.0)], [A4, (A4[1], A4[0])], GAP)
    assert packed is not None
    assert [sheet.room for sheet in packed] == [(A4[1], A4[0])]


def test_what_goes_in_nowhere_is_told() -> None:
    assert pack([(300.0, 10.0)], [A4], GAP) is None
    assert pack([(10.0, 10.0), (10.0, 300.0)], [A4, (A4[1], A4[0])], GAP) is None


@pytest.mark.parametrize("seed", range(6))
def test_off_a_roll_little_is_cut(seed: int) -> None:
    sizes = some(seed, 8)
    width = 400.0
    packed = pack(sizes, [(width, 2000.0)], GAP, shorten=lambda used: used[1])
    assert packed is not None
    checked(sizes, packed, GAP)
    (sheet,) = packed
    area = sum((w + GAP) * (h + GAP) for w, h in sizes)
    least = max(area / (width + GAP), *(h for _, h in sizes))
    assert sheet.used[1] <= 1.6 * least
