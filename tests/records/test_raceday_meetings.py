"""Who meets whom in time trials: cars meet as evenly as their sets let them.

The least sum of squares of meetings is found by trying every arrangement (small draws, brute force).
"""

from __future__ import annotations

from itertools import combinations, permutations, product

import numpy as np
import pytest

from bodyshop.records.raceday.draw import _cost, _improve


def squares(grid: np.ndarray, met: np.ndarray) -> int:
    """The sum of squares of meetings, once these heats have been run."""
    after = met.copy()
    for row in grid:
        for one, other in combinations(row[row >= 0], 2):
            after[one, other] += 1
            after[other, one] += 1
    return int((after**2).sum()) // 2


@pytest.mark.parametrize("seed", range(12))
def test_the_cost_of_a_heat_is_what_it_adds_to_the_squares(seed: int) -> None:
    rng = np.random.default_rng(seed)
    met = rng.integers(0, 4, (6, 6))
    met = np.triu(met, 1) + np.triu(met, 1).T
    row = rng.permutation(6)[:3]
    assert _cost(row, met) == squares(row[None, :], met) - squares(np.full((1, 1), -1), met)


@pytest.mark.parametrize("seed", range(12))
def test_no_single_change_of_places_makes_the_meetings_more_even(seed: int) -> None:
    rng = np.random.default_rng(seed)
    met = rng.integers(0, 3, (9, 9))
    met = np.triu(met, 1) + np.triu(met, 1).T
    grid = rng.permutation(9).reshape(3, 3)
    before = squares(grid, met)
    _improve(grid, met)
    after = squares(grid, met)
    assert after <= before
    for column, (one, other) in product(range(3), combinations(range(3), 2)):
        tried = grid.copy()
        tried[[one, other], column] = grid[[other, one], column]
        assert squares(tried, met) >= after
    least = min(
        squares(np.stack((grid[:, 0], grid[list(p), 1], grid[list(q), 2]), axis=1), met)
        for p, q in product(permutations(range(3)), repeat=2)
    )
    assert after <= least + 3
