"""Race day for other programs."""

from __future__ import annotations

from typing import Annotated

from bodyshop.output.json.document import HEAD, Document, JsonRecord, about
from bodyshop.records.book.model import RaceFormat, RunEnd
from bodyshop.records.raceday.model import InspectionState
from bodyshop.records.raceday.reading import DayState, StoredHeat
from bodyshop.records.raceday.standings import RankedBy, StandingsRow

__all__ = ["RaceDayDocument", "day_data"]


class LaneData(JsonRecord, frozen=True):
    """A lane of a heat; without a car it stays empty, without an end it is not run yet."""

    lane: Annotated[int, about("Counted from 1.")]
    car: str | None
    end: RunEnd | None
    time_s: float | None
    doubt: str | None


class HeatData(JsonRecord, frozen=True):
    """Cars that start together."""

    number: int
    race: RaceFormat
    round: int
    tie: Annotated[bool, about("Whether cars that were equal run against each other.")]
    repeats: Annotated[int | None, about("The number of the heat that it repeats.")]
    lanes: tuple[LaneData, ...]


class AdmissionData(JsonRecord, frozen=True):
    """A car's way into the race."""

    car: str
    inspection: InspectionState
    record: Annotated[int | None, about("The number of the inspection in the book.")]
    allowed: Annotated[str | None, about("Why an official lets it race although it has not passed.")]
    decided: bool
    why: str


class StandingData(JsonRecord, frozen=True):
    """A car's line."""

    car: str
    place: Annotated[int | None, about("Null for a car that is ruled out or has no time yet.")]
    joint: Annotated[bool, about("Whether another car has the same place.")]
    decided: Annotated[bool, about("Whether it passed inspection, or an official lets it race.")]
    score_s: Annotated[float | None, about("What it is ranked by.")]
    times_s: Annotated[tuple[float, ...], about("All timed runs in the order run.")]
    runs: Annotated[int, about("Starts, timed or not.")]
    out: str | None


class EliminationData(JsonRecord, frozen=True):
    """A car's place in the eliminations."""

    car: str
    place: int
    joint: bool
    decided: bool


class DecisionData(JsonRecord, frozen=True):
    """What an official decided."""

    at: str
    what: str


class RaceDayDocument(Document, frozen=True, tag="raceday"):
    """The day as it stands: `bodyshop raceday heats`, `bodyshop raceday standings`. Times in s."""

    event: str
    as_of: str
    counts: Annotated[RankedBy, about("What a car's runs are ranked by.")]
    timing_s: Annotated[float, about("The step of the timing: times of the same step are equal.")]
    heats: tuple[HeatData, ...]
    provisional: Annotated[tuple[str, ...], about("Why the places are not final yet; none where they are.")]
    admissions: tuple[AdmissionData, ...]
    standings: tuple[StandingData, ...]
    eliminations: tuple[EliminationData, ...]
    decisions: tuple[DecisionData, ...]


def day_data(state: DayState) -> RaceDayDocument:
    """The day for other programs: times in s, places as numbers."""
    places = list(state.ladder.values())
    return RaceDayDocument(
        *HEAD,
        event=state.event.name,
        as_of=state.as_of,
        counts=state.counts,
        timing_s=state.apart_s,
        heats=tuple(_heat(state, held) for held in state.heats),
        provisional=tuple(state.pending),
        admissions=tuple(
            AdmissionData(
                car=car,
                inspection=found.cleared,
                record=None if found.inspection is None else found.inspection.id,
                allowed=found.allowed or None,
                decided=found.decided,
                why=found.why,
            )
            for car, found in state.admissions.items()
        ),
        standings=tuple(_row(row, state) for row in state.standings),
        eliminations=tuple(
            EliminationData(car, place, places.count(place) > 1, car not in state.undecided)
            for car, place in sorted(state.ladder.items(), key=lambda each: (each[1], each[0]))
        ),
        decisions=tuple(DecisionData(at, what) for at, what in state.decisions),
    )


def _heat(state: DayState, held: StoredHeat) -> HeatData:
    number, lanes = held.heat.number, []
    for lane, car in enumerate(held.heat.lanes, 1):
        done = None if car is None else state.lane_results.get((number, car))
        lanes.append(
            LaneData(
                lane,
                car,
                None if done is None else done.end,
                None if done is None else done.time_s,
                (state.doubt(number, car) if car is not None else "") or None,
            )
        )
    return HeatData(number, held.heat.race, held.heat.round, held.heat.tie, held.again, tuple(lanes))


def _row(row: StandingsRow, state: DayState) -> StandingData:
    return StandingData(
        car=row.car,
        place=row.place,
        joint=row.place is not None and [each.place for each in state.standings].count(row.place) > 1,
        decided=row.car not in state.undecided,
        score_s=row.score_s,
        times_s=row.times,
        runs=row.runs,
        out=row.out or None,
    )
