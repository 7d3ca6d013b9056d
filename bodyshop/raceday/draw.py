"""The draw of time trials: who starts when, in which lane.

Every car runs once in each round. In each run of as many rounds as there are lanes every car has every lane
once: cars are dealt to as many sets as there are lanes, and in each round a set has one lane, a different one
each round (a Latin square). Within that, members of a set change places between heats so that the same
cars meet as seldom as possible, and so that no car has to run in two heats on end.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bodyshop.raceday.model import Heat
from bodyshop.trials.model import RaceFormat

__all__ = ["draw_trials"]

Ints = NDArray[np.int64]

_PASSES: Final = 12


def draw_trials(cars: Sequence[str], lanes: int, rounds: int, seed: int) -> tuple[Heat, ...]:
    """Heats of time trials, in the order in which they are run.

    Args:
        cars: the cars, each once.
        lanes: lanes of the track.
        rounds: how often each car runs.
        seed: the number of the draw; the same number gives the same heats.

    Raises:
        ValueError: a car stands twice, or there is no lane or no round.
    """
    if len(set(cars)) != len(cars) or lanes < 1 or rounds < 1:
        raise ValueError("each car once, and at least one lane and one round")
    if not cars:
        return ()
    rng = np.random.default_rng(seed)
    met = np.zeros((len(cars), len(cars)), dtype=np.int64)
    heats: list[Heat] = []
    sets: list[list[int]] = []
    turns: list[int] = []
    for round_ in range(rounds):
        if round_ % lanes == 0:
            sets = _sets(len(cars), lanes, rng)
            turns = [int(k) for k in rng.permutation(lanes)]
        before = set() if not heats else {cars.index(car) for car in heats[-1].cars}
        grid = _in_order(_arranged(sets, met, rng), before)
        for row in grid:
            placed: list[str | None] = [None] * lanes
            for which, car in enumerate(row):
                if car >= 0:
                    placed[(which + turns[round_ % lanes]) % lanes] = cars[car]
            heats.append(Heat(RaceFormat.TIME_TRIALS, len(heats) + 1, round_ + 1, tuple(placed)))
            for one, other in combinations([car for car in row if car >= 0], 2):
                met[one, other] += 1
                met[other, one] += 1
    return tuple(heats)


def _sets(count: int, lanes: int, rng: np.random.Generator) -> list[list[int]]:
    """Cars dealt like cards, so that no set has two more than another."""
    order = [int(k) for k in rng.permutation(count)]
    dealt = [order[lane::lanes] for lane in range(lanes)]
    return [dealt[int(k)] for k in rng.permutation(lanes)]


def _arranged(sets: list[list[int]], met: Ints, rng: np.random.Generator) -> Ints:
    """Heats by row, sets by column, -1 where a lane stays empty."""
    high = max(len(each) for each in sets)
    grid = np.full((high, len(sets)), -1, dtype=np.int64)
    empty = int(rng.integers(high))
    for column, members in enumerate(sets):
        rows = [row for row in range(high) if len(members) == high or row != empty % high]
        if len(members) < high:
            empty += 1
        grid[rows, column] = rng.permutation(members)
    _improve(grid, met)
    return grid


def _in_order(grid: Ints, before: set[int]) -> Ints:
    """The heats, first the one with fewest cars of the heat before it."""
    again = [sum(int(car) in before for car in row) for row in grid]
    return grid[np.argsort(again, kind="stable")]


def _cost(row: Ints, met: Ints) -> int:
    """What it adds to the sum of squares of meetings if those of one heat meet."""
    there = row[row >= 0]
    added = 2 * met[np.ix_(there, there)] + 1
    return int(added.sum() - np.trace(added)) // 2


def _improve(grid: Ints, met: Ints) -> None:
    """Change places within a set, as long as that lowers the sum of squares of meetings.

    An empty place may move too, as long as no heat has two cars more than another.
    """
    high, wide = grid.shape
    costs = [_cost(row, met) for row in grid]
    full = (grid >= 0).sum(axis=1)
    for _ in range(_PASSES):
        better = False
        for column in range(wide):
            for one, other in combinations(range(high), 2):
                step = int(grid[other, column] >= 0) - int(grid[one, column] >= 0)
                if step and full[other] - full[one] != step:
                    continue
                grid[[one, other], column] = grid[[other, one], column]
                now = (_cost(grid[one], met), _cost(grid[other], met))
                if sum(now) < costs[one] + costs[other]:
                    costs[one], costs[other] = now
                    full[one] += step
                    full[other] -= step
                    better = True
                else:
                    grid[[one, other], column] = grid[[other, one], column]
        if not better:
            return
