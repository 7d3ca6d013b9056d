"""Records of race day: entrants, draws, heats and lanes, and what officials decided.

How a car did in a heat is a run on the track like any other (`TrackRun.heat`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from bodyshop.records.book.columns import A_CAR, MAX_JSON, Record, RecordField
from bodyshop.records.book.enums import EntrantState, RaceFormat

__all__ = ["Draw", "Entrant", "Heat", "HeatLane", "Ruling"]


@dataclass(frozen=True, slots=True)
class Entrant(Record):
    """A car's part in the race. A car that drops out is a correction of its entrant."""

    car: Annotated[str, A_CAR]
    state: Annotated[EntrantState, RecordField("Whether it takes part.")] = EntrantState.ENTERED
    division: Annotated[str, RecordField("The division it races in.", longest=80)] = ""
    seed: Annotated[int | None, RecordField("Its place in the draw, where cars are seeded.", low=1)] = None
    allowed: Annotated[
        str, RecordField("Why an official lets it race although it has not passed inspection.", longest=400)
    ] = ""
    allowed_over: Annotated[
        int | None,
        RecordField("The inspection that this was decided over; empty for none.", refers="inspection"),
    ] = None


@dataclass(frozen=True, slots=True)
class Draw(Record):
    """How the heats of a race or a stage of it were drawn: enough to draw them again."""

    name: Annotated[str, RecordField("The race or the stage of it.", longest=80)]
    race: Annotated[RaceFormat, RecordField("How it is run.")]
    lanes: Annotated[int, RecordField("Lanes used.", low=1, high=99)]
    seed: Annotated[int, RecordField("The number from which chance began.", low=0)] = 0
    settings: Annotated[str, RecordField("What else was chosen, as JSON.", longest=MAX_JSON, lines=True)] = (
        "{}"
    )


@dataclass(frozen=True, slots=True)
class Heat(Record):
    """A heat: cars let go together. A rerun is a heat of its own that names the one it repeats."""

    draw: Annotated[int, RecordField("The draw it belongs to.", refers="draw")]
    round: Annotated[int, RecordField("The round, counted from 1.", low=1)]
    number: Annotated[int, RecordField("The heat in the order they are run, counted from 1.", low=1)]
    reruns: Annotated[int | None, RecordField("The heat that this one repeats.", refers="heat")] = None
    name: Annotated[str, RecordField("What it is called: semi-final.", longest=80)] = ""


@dataclass(frozen=True, slots=True)
class HeatLane(Record):
    """Which car has which lane of a heat."""

    heat: Annotated[int, RecordField("The heat.", refers="heat")]
    lane: Annotated[int, RecordField("The lane, counted from 1.", low=1, high=99)]
    car: Annotated[str, A_CAR]


@dataclass(frozen=True, slots=True)
class Ruling(Record):
    """A decision of the officials on race day."""

    what: Annotated[str, RecordField("What was decided.", longest=400)]
    because: Annotated[str, RecordField("Why.", longest=400)] = ""
    heat: Annotated[int | None, RecordField("The heat it is about.", refers="heat")] = None
    car: Annotated[str | None, A_CAR] = None
