"""Race day: heats drawn, results kept, places worked out, and the papers of the day.

`draw_trials` draws time trials, `first_groups` to `places` run eliminations, `standings` ranks. They are pure
functions of names, times and a number; the trial book keeps what they are given.
"""

from __future__ import annotations

from bodyshop.records.raceday.draw import (
    GroupResult,
    KnockoutGroup,
    draw_trials,
    first_groups,
    heats_of,
    ladder_order,
    next_groups,
    places,
    resolve,
)
from bodyshop.records.raceday.model import LEAST_LANES, MOST_CARS, MOST_LANES, DrawnHeat, LaneResult
from bodyshop.records.raceday.standings import RankedBy, StandingsRow, standings

__all__ = [
    "LEAST_LANES",
    "MOST_CARS",
    "MOST_LANES",
    "RankedBy",
    "KnockoutGroup",
    "GroupResult",
    "DrawnHeat",
    "LaneResult",
    "StandingsRow",
    "draw_trials",
    "first_groups",
    "heats_of",
    "ladder_order",
    "next_groups",
    "places",
    "resolve",
    "standings",
]
