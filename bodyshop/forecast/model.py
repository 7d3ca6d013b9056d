"""What is told: a predicted race of one design, and what would change it."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.checking import Checked
from bodyshop.problems import Problem
from bodyshop.race.levers import Effect
from bodyshop.race.model import Interval
from bodyshop.race.prediction import Difference, Prediction

__all__ = ["Advice", "Forecast", "WhatIf", "WoodTry"]


@dataclass(frozen=True)
class Forecast:
    """A race of one car. `lane_source` says where its length comes from, `book` names the trial book whose
    figures took the place of estimates; `doubts` are warnings of the figures that went in.
    """

    checked: Checked
    prediction: Prediction
    lane_source: str
    book: str = ""
    doubts: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class WhatIf:
    """The car with other values in its file: `settings` as they were asked for."""

    settings: tuple[str, ...]
    checked: Checked
    prediction: Prediction
    difference: Difference


@dataclass(frozen=True, slots=True)
class WoodTry:
    """The same design in a wood: mass without cartridge (g), time, and the difference to the design's own
    wood, two blanks drawn apart from each other. `own` marks the design's own wood.
    """

    name: str
    label: str
    mass: Interval
    prediction: Prediction
    difference: Difference
    own: bool


@dataclass(frozen=True)
class Advice:
    """What to change."""

    forecast: Forecast
    effects: tuple[Effect, ...]
    what_if: WhatIf | None = None
    woods: tuple[WoodTry, ...] = ()
