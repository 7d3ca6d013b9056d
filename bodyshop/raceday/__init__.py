"""Race day: heats drawn, results kept, places worked out, and the papers of the day.

`draw_trials` draws time trials, `first_groups` to `places` run eliminations, `standings` ranks. They are pure
functions of names, times and a number; the trial book keeps what they are given.
"""

from __future__ import annotations

from bodyshop.raceday.draw import draw_trials
from bodyshop.raceday.knockout import (
    Group,
    GroupResult,
    first_groups,
    heats_of,
    ladder_order,
    next_groups,
    places,
    resolve,
)
from bodyshop.raceday.model import LEAST_LANES, MOST_CARS, MOST_LANES, Heat, LaneResult
from bodyshop.raceday.standings import Counts, Row, standings

__all__ = [
    "LEAST_LANES",
    "MOST_CARS",
    "MOST_LANES",
    "Counts",
    "Group",
    "GroupResult",
    "Heat",
    "LaneResult",
    "Row",
    "draw_trials",
    "first_groups",
    "heats_of",
    "ladder_order",
    "next_groups",
    "places",
    "resolve",
    "standings",
]
