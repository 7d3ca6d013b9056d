"""A heat, what happened in its lanes, and who may still race."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bodyshop.trials.model import RaceFormat, RunEnd

__all__ = ["LEAST_LANES", "MOST_CARS", "MOST_LANES", "Heat", "LaneResult", "decimals_of", "steps_of"]

LEAST_LANES: Final = 2
MOST_LANES: Final = 8
MOST_CARS: Final = 500


def steps_of(time_s: float, step_s: float) -> int:
    """A time in whole steps of the timing: times of the same step cannot be told apart."""
    return round(time_s / step_s)


def decimals_of(step_s: float) -> int:
    """Decimals of a second that times with such a step have."""
    return max(0, -math.floor(math.log10(step_s) + 1e-9))


@dataclass(frozen=True, slots=True)
class Heat:
    """Cars that start together.

    `lanes` holds a car for each lane from lane 1 on, None for an empty one. `number` counts through its
    race from 1; `tie` says that cars which were equal run against each other. In eliminations `group` is
    the pairing that the heat decides, and `leg` which of its runs it is, each from 1.
    """

    race: RaceFormat
    number: int
    round: int
    lanes: tuple[str | None, ...]
    group: int = 0
    leg: int = 1
    tie: bool = False

    @property
    def cars(self) -> tuple[str, ...]:
        """The cars in it, by lane."""
        return tuple(car for car in self.lanes if car is not None)

    def lane_of(self, car: str) -> int:
        """The lane of a car, from 1.

        Raises:
            ValueError: it is not in this heat.
        """
        return self.lanes.index(car) + 1


@dataclass(frozen=True, slots=True)
class LaneResult:
    """What one car did in one heat. `time_s` is there for a timed run alone."""

    heat: int
    car: str
    end: RunEnd
    time_s: float | None = None

    def __post_init__(self) -> None:
        """A time belongs to a timed run, and to no other."""
        if (self.time_s is not None) is not (self.end is RunEnd.FINISHED):
            raise ValueError("a timed run has a time, any other has none")
