"""The closed lists of words that records choose from."""

from __future__ import annotations

from enum import Enum

__all__ = ["Answer", "EntrantState", "Flow", "MeasuredFrom", "RaceFormat", "RunEnd", "WeighingStage"]


class WeighingStage(Enum):
    """How far a car had come when it was weighed, in shop order."""

    BLANK = "blank"
    DRILLED = "drilled"
    SAWN = "sawn"
    SANDED = "sanded"
    FINISHED = "finished"
    COMPLETE = "complete"
    """On its wheels, without a cartridge."""
    LOADED = "with cartridge"


class Flow(Enum):
    """What threads or smoke showed at a spot."""

    ATTACHED = "attached"
    DISTURBED = "disturbed"
    REVERSED = "reversed"


class MeasuredFrom(Enum):
    """Where a run-out is measured from."""

    FOOT = "foot of the ramp"
    TOP = "start on the ramp"


class RunEnd(Enum):
    """How a run or a lane of a heat ended."""

    FINISHED = "finished"
    STOPPED = "did not finish"
    NO_START = "did not start"
    OUT = "disqualified"
    VOID = "void"
    """Not counted for anybody: a fault of the track or the timing."""


class Answer(Enum):
    """What an inspector's eyes said."""

    YES = "yes"
    NO = "no"
    OPEN = "not looked at"


class EntrantState(Enum):
    """Whether a car takes part in a race."""

    ENTERED = "entered"
    WITHDRAWN = "withdrawn"
    OUT = "disqualified"


class RaceFormat(Enum):
    """How a race is run."""

    TIME_TRIALS = "time trials"
    ELIMINATION = "elimination"
