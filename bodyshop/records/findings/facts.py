"""The figures that the sentences of a finding are made of, one class for each kind of finding."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.car.assembly import Mass
from bodyshop.foundation.statistics import Repeats
from bodyshop.physics.drag import DragBuildUp
from bodyshop.physics.lift import AxleLift, LiftBalance
from bodyshop.physics.model import Air, Estimate, Interval
from bodyshop.physics.roll import RollResult
from bodyshop.physics.tunnel import TunnelDrag
from bodyshop.records.book.model import Entry, Flow, TunnelReading, WeighingStage

__all__ = [
    "AirflowFacts",
    "AxleFacts",
    "BalanceFacts",
    "BuildUpFacts",
    "ChangedBetween",
    "Doubt",
    "Facts",
    "GasFacts",
    "ImpossibleRoll",
    "MassFacts",
    "PushMoment",
    "Question",
    "RollFacts",
    "SpeedFacts",
    "TimeFacts",
    "TunnelFacts",
    "UnloadedFacts",
]


@dataclass(frozen=True, slots=True)
class MassFacts:
    """A stage that was weighed, g; `before` is the stage weighed before it, `drawn` what the drawing came "
    "to.
    """

    stage: WeighingStage
    mass: Estimate
    before: tuple[WeighingStage, float] | None
    drawn: Mass | None


@dataclass(frozen=True, slots=True)
class AirflowFacts:
    """Where the air did what, in the order in which it was seen."""

    places: dict[Flow, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class BuildUpFacts:
    """The drag area by its parts, before any test."""

    built: DragBuildUp
    race_m_s: float


@dataclass(frozen=True, slots=True)
class TunnelFacts:
    """The drag area as the tunnel has it, with the air of the last reading; `built` is that of the "
    "drawing.
    """

    drag: TunnelDrag
    entries: tuple[Entry[TunnelReading], ...]
    built: DragBuildUp | None
    air: Air
    race_m_s: float
    force_n: float


@dataclass(frozen=True, slots=True)
class PushMoment:
    """What the push does while it lasts: how far it runs above the balance point (mm), and how much of its
    `push_n` it moves to the front axle (N).
    """

    above_mm: float
    push_n: float
    moved_n: float


@dataclass(frozen=True, slots=True)
class UnloadedFacts:
    """Lift of a car of which nobody knows what its axles carry; `why_not` says why."""

    front: Estimate
    rear: Estimate
    speed_m_s: float
    why_not: str


@dataclass(frozen=True, slots=True)
class BalanceFacts:
    """Lift of the front against the rear; `other_speeds` were read too and are not scaled."""

    balance: LiftBalance
    other_speeds: tuple[float, ...]
    push: PushMoment | None


@dataclass(frozen=True, slots=True)
class AxleFacts:
    """The lift of one axle, `front` or `rear`, at race speed."""

    name: str
    axle: AxleLift
    balance: LiftBalance
    load_formula: str


@dataclass(frozen=True, slots=True)
class RollFacts:
    """The friction from all rolls; None where no roll can be as it is noted."""

    result: RollResult | None


@dataclass(frozen=True, slots=True)
class TimeFacts:
    """Times over one length; `interval` is that of their mean, None for a single run. `step_s` is the "
    "timer's.
    """

    series: Repeats
    length_m: float
    interval: Interval | None
    step_s: float
    lanes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SpeedFacts:
    """What a speed gate showed, and where it stood."""

    series: Repeats
    places_m: tuple[float, ...]
    interval: Interval | None


@dataclass(frozen=True, slots=True)
class GasFacts:
    """The gas that left the cartridge, g."""

    series: Repeats
    interval: Interval


Facts = (
    MassFacts
    | AirflowFacts
    | BuildUpFacts
    | TunnelFacts
    | UnloadedFacts
    | BalanceFacts
    | AxleFacts
    | RollFacts
    | TimeFacts
    | SpeedFacts
    | GasFacts
)


@dataclass(frozen=True, slots=True)
class ChangedBetween:
    """Readings of one stage that spread so far that the car may have been changed between them."""

    stage: WeighingStage
    count: int
    spread_g: float


@dataclass(frozen=True, slots=True)
class ImpossibleRoll:
    """A roll that cannot be, by its number in the book, and why."""

    number: int
    why: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question that the physics asks of a reading."""

    words: str


Doubt = ChangedBetween | ImpossibleRoll | Question
