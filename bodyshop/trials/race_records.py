"""Records of race day: entrants, draws, heats and lanes, what happened, and what officials decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from bodyshop.trials.columns import Field
from bodyshop.trials.record import A_CAR, MAX_JSON, Record
from bodyshop.trials.words import EntrantState, RaceFormat, RunEnd

__all__ = ["Draw", "Entrant", "Heat", "HeatLane", "HeatResult", "Ruling"]


@dataclass(frozen=True, slots=True)
class Entrant(Record):
    """A car's part in the race. A car that drops out is a correction of its entrant."""

    car: Annotated[str, A_CAR]
    state: Annotated[EntrantState, Field("Whether it takes part.")] = EntrantState.ENTERED
    division: Annotated[str, Field("The division it races in.", longest=80)] = ""
    seed: Annotated[int | None, Field("Its place in the draw, where cars are seeded.", low=1)] = None
    allowed: Annotated[
        str, Field("Why an official lets it race although it has not passed inspection.", longest=400)
    ] = ""
    allowed_over: Annotated[
        int | None, Field("The inspection that this was decided over; empty for none.", refers="inspection")
    ] = None


@dataclass(frozen=True, slots=True)
class Draw(Record):
    """How the heats of a race or a stage of it were drawn: enough to draw them again."""

    name: Annotated[str, Field("The race or the stage of it.", longest=80)]
    race: Annotated[RaceFormat, Field("How it is run.")]
    lanes: Annotated[int, Field("Lanes used.", low=1, high=99)]
    seed: Annotated[int, Field("The number from which chance began.", low=0)] = 0
    settings: Annotated[str, Field("What else was chosen, as JSON.", longest=MAX_JSON, lines=True)] = "{}"


@dataclass(frozen=True, slots=True)
class Heat(Record):
    """A heat: cars let go together. A rerun is a heat of its own that names the one it repeats."""

    draw: Annotated[int, Field("The draw it belongs to.", refers="draw")]
    round: Annotated[int, Field("The round, counted from 1.", low=1)]
    number: Annotated[int, Field("The heat in the order they are run, counted from 1.", low=1)]
    reruns: Annotated[int | None, Field("The heat that this one repeats.", refers="heat")] = None
    name: Annotated[str, Field("What it is called: semi-final.", longest=80)] = ""


@dataclass(frozen=True, slots=True)
class HeatLane(Record):
    """Which car has which lane of a heat."""

    heat: Annotated[int, Field("The heat.", refers="heat")]
    lane: Annotated[int, Field("The lane, counted from 1.", low=1, high=99)]
    car: Annotated[str, A_CAR]


@dataclass(frozen=True, slots=True)
class HeatResult(Record):
    """How a car did in a heat."""

    heat: Annotated[int, Field("The heat.", refers="heat")]
    lane: Annotated[int, Field("The lane, counted from 1.", low=1, high=99)]
    car: Annotated[str, A_CAR]
    end: Annotated[RunEnd, Field("How it ended.")] = RunEnd.FINISHED
    time_s: Annotated[float | None, Field("Its time.", low=0.0, high=3600.0)] = None
    place: Annotated[int | None, Field("Its place in the heat; the same for a tie.", low=1, high=99)] = None
    speed_m_s: Annotated[float | None, Field("What the speed gate showed.", low=0.0, high=150.0)] = None


@dataclass(frozen=True, slots=True)
class Ruling(Record):
    """A decision of the officials on race day."""

    what: Annotated[str, Field("What was decided.", longest=400)]
    because: Annotated[str, Field("Why.", longest=400)] = ""
    heat: Annotated[int | None, Field("The heat it is about.", refers="heat")] = None
    car: Annotated[str | None, A_CAR] = None
