"""Race day for other programs."""

from __future__ import annotations

from bodyshop.output.json.plain_data import Data
from bodyshop.records.raceday.reading import DayState, StoredHeat
from bodyshop.records.raceday.standings import StandingsRow

__all__ = ["day_data"]


def day_data(state: DayState) -> dict[str, Data]:
    """The day as plain data, for other programs: times in s, places as numbers."""
    return {
        "format": "bodyshop-raceday",
        "version": 1,
        "event": state.event.name,
        "as_of": state.as_of,
        "counts": state.counts.value,
        "timing_s": state.apart_s,
        "heats": [_heat_data(state, held) for held in state.heats],
        "provisional": list(state.pending),
        "admissions": [
            {
                "car": car,
                "inspection": found.cleared.value,
                "record": None if found.inspection is None else found.inspection.id,
                "allowed": found.allowed or None,
                "decided": found.decided,
                "why": found.why,
            }
            for car, found in state.admissions.items()
        ],
        "standings": [_row_data(row, state) for row in state.standings],
        "eliminations": [
            {
                "car": car,
                "place": place,
                "joint": list(state.ladder.values()).count(place) > 1,
                "decided": car not in state.undecided,
            }
            for car, place in sorted(state.ladder.items(), key=lambda each: (each[1], each[0]))
        ],
        "decisions": [{"at": at, "what": what} for at, what in state.decisions],
    }


def _heat_data(state: DayState, held: StoredHeat) -> Data:
    lanes: list[Data] = []
    for lane, car in enumerate(held.heat.lanes, 1):
        done = None if car is None else state.lane_results.get((held.heat.number, car))
        lanes.append(
            {
                "lane": lane,
                "car": car,
                "end": None if done is None else done.end.value,
                "time_s": None if done is None else done.time_s,
                "doubt": (state.doubt(held.heat.number, car) if car is not None else "") or None,
            }
        )
    return {
        "number": held.heat.number,
        "race": held.heat.race.value,
        "round": held.heat.round,
        "tie": held.heat.tie,
        "repeats": held.again,
        "lanes": lanes,
    }


def _row_data(row: StandingsRow, state: DayState) -> Data:
    return {
        "car": row.car,
        "place": row.place,
        "joint": row.place is not None and [each.place for each in state.standings].count(row.place) > 1,
        "decided": row.car not in state.undecided,
        "score_s": row.score_s,
        "times_s": list(row.times),
        "runs": row.runs,
        "out": row.out or None,
    }
