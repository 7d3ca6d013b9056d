"""Who meets whom in which lane: heats for all, and the knockout after them."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bodyshop.records.book.model import RaceFormat, RunEnd
from bodyshop.records.raceday.model import DrawnHeat, LaneResult, steps_of

__all__ = [
    "GroupResult",
    "KnockoutGroup",
    "chance_seed",
    "draw_trials",
    "first_groups",
    "heats_of",
    "ladder_order",
    "next_groups",
    "places",
    "resolve",
]


Ints = NDArray[np.int64]

_PASSES: Final = 12


def chance_seed() -> int:
    """The number of a draw by chance; a draw with the same number is the same again."""
    return secrets.randbelow(1_000_000)


def draw_trials(cars: Sequence[str], lanes: int, rounds: int, seed: int) -> tuple[DrawnHeat, ...]:
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
    heats: list[DrawnHeat] = []
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
            heats.append(DrawnHeat(RaceFormat.TIME_TRIALS, len(heats) + 1, round_ + 1, tuple(placed)))
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


@dataclass(frozen=True, slots=True)
class KnockoutGroup:
    """Cars of which the fastest go on: `through` of them. Without a run where `through` is all of them."""

    round: int
    number: int
    cars: tuple[str, ...]
    through: int
    final: bool = False

    @property
    def is_pass(self) -> bool:
        """Whether its cars go on without a run."""
        return not self.final and len(self.cars) <= self.through


@dataclass(frozen=True, slots=True)
class GroupResult:
    """How a group ended.

    `order` are its cars from the fastest; `times` what each took over all legs, absent for one that did
    not finish. `tied` are cars that are equal where it matters, so that they have to run again. Open as
    long as a leg is to be run: then `order` is empty.
    """

    group: KnockoutGroup
    order: tuple[str, ...]
    times: Mapping[str, float]
    tied: tuple[str, ...] = ()

    @property
    def done(self) -> bool:
        """Whether it is decided."""
        return bool(self.order) and not self.tied

    @property
    def through(self) -> tuple[str, ...]:
        """Those that go on, fastest first."""
        return self.order[: self.group.through] if self.done else ()


def ladder_order(size: int) -> tuple[int, ...]:
    """Standings, from 1, in the order of a ladder of `size` (a power of two) places.

    Neighbours meet; the sum of each pair is size + 1, and 1 and 2 stand in different halves.
    """
    order = [1]
    while len(order) < size:
        total = 2 * len(order) + 1
        order = [place for seed in order for place in (seed, total - seed)]
    return tuple(order)


def first_groups(ranked: Sequence[str], lanes: int) -> tuple[KnockoutGroup, ...]:
    """The first round of cars by their standing, the highest first.

    Raises:
        ValueError: there are fewer than two cars or lanes, or a car stands twice.
    """
    if len(ranked) < 2 or lanes < 2 or len(set(ranked)) != len(ranked):
        raise ValueError("at least two cars, each once, and two lanes")
    if lanes > 2:
        return _dealt(tuple(ranked), lanes, 1)
    size = 1 << (len(ranked) - 1).bit_length()
    places = [ranked[seed - 1] if seed <= len(ranked) else None for seed in ladder_order(size)]
    pairs = [tuple(car for car in places[k : k + 2] if car is not None) for k in range(0, size, 2)]
    final = len(pairs) == 1
    return tuple(KnockoutGroup(1, k, pair, 1, final) for k, pair in enumerate(pairs, 1))


def next_groups(
    results: Sequence[GroupResult], lanes: int, ranked: Sequence[str], out: Sequence[str] = ()
) -> tuple[KnockoutGroup, ...]:
    """The round after one that is decided; none after the final.

    On a ladder winners of neighbouring groups meet. With more lanes those that are through are dealt by
    their standing in `ranked`. Cars ruled out since do not go on.

    Raises:
        ValueError: a group is not decided.
    """
    if not all(result.done or not result.group.cars for result in results):
        raise ValueError("a group is not decided")
    if any(result.group.final for result in results):
        return ()
    round_ = results[0].group.round + 1
    if lanes == 2:
        winners = [tuple(car for car in result.through if car not in out) for result in results]
        pairs = [(*winners[k], *winners[k + 1]) for k in range(0, len(winners), 2)]
        return tuple(KnockoutGroup(round_, k, pair, 1, len(pairs) == 1) for k, pair in enumerate(pairs, 1))
    through = {car for result in results for car in result.through if car not in out}
    return _dealt(tuple(car for car in ranked if car in through), lanes, round_)


def places(rounds: Sequence[Sequence[GroupResult]], out: Sequence[str] = ()) -> dict[str, int]:
    """The place of every car that is decided so far; cars that went out in the same round share one.

    The final tells its cars apart. Cars ruled out have no place.
    """
    decided: dict[str, int] = {}
    standing = len({car for result in rounds[0] for car in result.group.cars} - set(out)) if rounds else 0
    for results in rounds:
        if all(result.done for result in results) and any(result.group.final for result in results):
            ranked = [car for result in results for car in result.order if car not in out]
            decided |= {car: place for place, car in enumerate(ranked, 1)}
            continue
        lost = [
            car
            for result in results
            if result.done
            for car in result.order[result.group.through :]
            if car not in out
        ]
        standing -= len(lost)
        decided |= dict.fromkeys(lost, standing + 1)
    return decided


def _dealt(cars: tuple[str, ...], lanes: int, round_: int) -> tuple[KnockoutGroup, ...]:
    """Cars back and forth over as few groups as hold them."""
    count = -(-len(cars) // lanes)
    if count <= 1:
        return (KnockoutGroup(round_, 1, cars, 1, True),)
    groups: list[list[str]] = [[] for _ in range(count)]
    for k, car in enumerate(cars):
        turn, place = divmod(k, count)
        groups[place if turn % 2 == 0 else count - 1 - place].append(car)
    return tuple(
        KnockoutGroup(round_, k, tuple(members), max(1, len(members) // 2))
        for k, members in enumerate(groups, 1)
    )


def heats_of(
    groups: Sequence[KnockoutGroup], lanes: int, legs: int, first_number: int
) -> tuple[DrawnHeat, ...]:
    """The heats that decide groups. In each leg every car is a lane further, so that lanes even out."""
    heats: list[DrawnHeat] = []
    for leg in range(legs):
        for group in groups:
            if group.is_pass or len(group.cars) < 2:
                continue
            placed: list[str | None] = [None] * lanes
            for k, car in enumerate(group.cars):
                placed[(k + leg + group.number - 1) % lanes] = car
            number = first_number + len(heats)
            heats.append(
                DrawnHeat(RaceFormat.ELIMINATION, number, group.round, tuple(placed), group.number, leg + 1)
            )
    return tuple(heats)


def resolve(
    group: KnockoutGroup,
    heats: Sequence[DrawnHeat],
    results: Mapping[tuple[int, str], LaneResult],
    *,
    out: Sequence[str] = (),
    apart_s: float = 0.001,
) -> GroupResult:
    """How a group ended.

    Args:
        group: the cars.
        heats: its heats, legs and reruns of ties in the order run.
        results: by number of heat and car.
        out: cars ruled out; they come last.
        apart_s: the step of the timing: times of the same step are equal.

    A rerun of a tie decides among the cars that are in it alone, and only where legs left them equal.
    """
    racing = tuple(car for car in group.cars if car not in out)
    gone = tuple(car for car in group.cars if car in out)
    if group.is_pass or len(racing) < 2:
        return GroupResult(group, (*racing, *gone), {})
    legs = [heat for heat in heats if not heat.tie]
    ties = [heat for heat in heats if heat.tie]
    if not legs or not all(_run(heat, racing, results) for heat in legs):
        return GroupResult(group, (), {})
    times: dict[str, float] = {}
    steps: dict[str, int] = {}
    finished: dict[str, int] = {}
    for car in racing:
        runs = [results[heat.number, car] for heat in legs if car in heat.cars]
        timed = [run.time_s for run in runs if run.time_s is not None]
        finished[car] = len(timed)
        if len(timed) == len(legs):
            times[car] = sum(timed)
            steps[car] = sum(steps_of(time, apart_s) for time in timed)
    # More legs finished first, then less time; a car that finished no leg has no time at all.
    blocks = _blocks(racing, finished, steps)
    for heat in ties:
        if not _run(heat, racing, results):
            return GroupResult(group, (), {})
        again = {
            car: steps_of(result.time_s, apart_s)
            for car in heat.cars
            if (result := results.get((heat.number, car))) is not None and result.time_s is not None
        }
        blocks = [part for block in blocks for part in _split(block, heat.cars, again)]
    order = tuple(car for block in blocks for car in block)
    tied = _across(blocks, 1 if group.final else group.through)
    return GroupResult(group, (*order, *gone), times, tied)


def _run(heat: DrawnHeat, racing: Sequence[str], results: Mapping[tuple[int, str], LaneResult]) -> bool:
    return all(
        (result := results.get((heat.number, car))) is not None and result.end is not RunEnd.VOID
        for car in heat.cars
        if car in racing
    )


def _blocks(racing: Sequence[str], finished: Mapping[str, int], steps: Mapping[str, int]) -> list[list[str]]:
    blocks: list[list[str]] = []
    for count in sorted(set(finished.values()), reverse=True):
        level = [car for car in racing if finished[car] == count]
        timed = {car: steps[car] for car in level if car in steps}
        blocks += _split(level, level, timed)
    return blocks


def _split(block: Sequence[str], ran: Sequence[str], steps: Mapping[str, int]) -> list[list[str]]:
    """A block of equal cars, split by times in whole steps; those without one last. Cars that did not run
    keep it whole.
    """
    if len(block) < 2 or not set(block) <= set(ran):
        return [list(block)]
    parts: list[list[str]] = []
    for car in sorted((car for car in block if car in steps), key=steps.__getitem__):
        if parts and steps[parts[-1][0]] == steps[car]:
            parts[-1].append(car)
        else:
            parts.append([car])
    rest = [car for car in block if car not in steps]
    return [*parts, rest] if rest else parts


def _across(blocks: Sequence[Sequence[str]], through: int) -> tuple[str, ...]:
    """The block of equal cars that reaches over the line between going on and not."""
    before = 0
    for block in blocks:
        after = before + len(block)
        if before < through < after:
            return tuple(block)
        before = after
    return ()
