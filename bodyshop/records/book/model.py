"""Every kind of record that the trial book keeps.

A record says what was seen or decided, and nothing else: who noted it and when, its number and whether it
was corrected are in the `Entry` that holds it. Quantities are in mm, g, s, N; speeds in m/s, temperatures in
°C and pressures in hPa, as the instruments show them. The unit is the end of the field's name. What was not
measured is None.

Another record is named by the number of its first version, which stays when it is corrected; a car by its
name.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Final, Generic, TypeVar

from bodyshop.foundation.units.instruments import ForceUnit
from bodyshop.records.book.columns import (
    A_CAR,
    AIR_C,
    AIR_HPA,
    HUMIDITY,
    MAX_JSON,
    SHA256,
    Pairs,
    Record,
    RecordField,
)
from bodyshop.records.book.enums import (
    Answer,
    EntrantState,
    Flow,
    MeasuredFrom,
    RaceFormat,
    RunEnd,
    WeighingStage,
)
from bodyshop.records.book.race_records import Draw, Entrant, Heat, HeatLane, Ruling

__all__ = [
    "DEFAULT_BOOK",
    "GATE_STEP_S",
    "KINDS",
    "KIND_NAMES",
    "AirflowSeen",
    "Answer",
    "CarRecord",
    "ClassFit",
    "Draw",
    "Entry",
    "Entrant",
    "EntrantState",
    "Event",
    "EyesAnswer",
    "Flow",
    "ForceUnit",
    "FrozenPrediction",
    "Heat",
    "HeatLane",
    "InspectedValue",
    "Inspection",
    "MassReading",
    "MeasuredFrom",
    "Pairs",
    "R",
    "RaceFormat",
    "Record",
    "RollTest",
    "Ruling",
    "RunEnd",
    "WeighingStage",
    "TrackRun",
    "TunnelReading",
]


GATE_STEP_S: Final = 0.001
"""The smallest step that timing gates usually show. Common practice, no published source."""

DEFAULT_BOOK: Final = "class.trials"
"""The book of a class that names none."""


# ---------------------------------------------------------------- the class and its cars


@dataclass(frozen=True, slots=True)
class Event(Record):
    """What the book is for. A book has one; a later one takes the place of the first by correction."""

    name: Annotated[str, RecordField("What the event or the class is called.", longest=120)]
    rulebook: Annotated[str, RecordField("The rulebook: a shipped name or a file.")] = ""
    division: Annotated[str, RecordField("The division of the event, where its rulebook has any.")] = ""
    track_mm: Annotated[float | None, RecordField("From the start to the finish.", low=1.0, high=1e6)] = None
    lanes: Annotated[int, RecordField("Lanes side by side.", low=1, high=99)] = 2
    gates_mm: Annotated[
        tuple[float, ...], RecordField("Distances of timing gates from the start.", low=0.0)
    ] = ()
    owner: Annotated[str, RecordField("The school or workshop.", longest=60)] = ""
    timing_s: Annotated[
        float | None,
        RecordField(
            "The smallest step that the timing shows: 0.1 or 0.01 of a stop-watch, 0.001 of a gate.",
            low=1e-6,
            high=1.0,
        ),
    ] = None

    @property
    def time_step_s(self) -> float:
        """The step to which times are told apart: that of a timing gate where the event does not say."""
        return GATE_STEP_S if self.timing_s is None else self.timing_s


@dataclass(frozen=True, slots=True)
class CarRecord(Record):
    """A car, and its design as it was when noted, so that a prediction can be made again."""

    name: Annotated[str, RecordField("The car's name, each once in a book.", longest=80)]
    bench: Annotated[str, RecordField("The builder's bench or team.", longest=80)] = ""
    entry_number: Annotated[str, RecordField("The number it is entered under.", longest=20)] = ""
    design_file: Annotated[str, RecordField("The design file, as it was named.")] = ""
    fingerprint: Annotated[str, RecordField("The fingerprint of the design.", longest=100)] = ""
    rulebook: Annotated[str, RecordField("The rulebook the design was held against.")] = ""
    design_text: Annotated[
        str, RecordField("The whole text of the design file.", longest=1_000_000, lines=True)
    ] = ""


# ---------------------------------------------------------------- the workshop's instruments


@dataclass(frozen=True, slots=True)
class MassReading(Record):
    """One reading of the balance."""

    car: Annotated[str, A_CAR]
    stage: Annotated[WeighingStage, RecordField("How far the car had come.")]
    mass_g: Annotated[float, RecordField("What the balance shows.", low=0.0, high=100_000.0)]
    resolution_g: Annotated[float, RecordField("The balance's smallest step.", low=0.0, high=1000.0)] = 0.1
    instrument: Annotated[str, RecordField("Which balance.", longest=80)] = ""


@dataclass(frozen=True, slots=True)
class AirflowSeen(Record):
    """What was seen at one spot of the car, with threads or smoke."""

    car: Annotated[str, A_CAR]
    where: Annotated[
        str, RecordField("The spot, in words: behind the front wheel, top of the tail.", longest=120)
    ]
    seen: Annotated[Flow, RecordField("What the flow did there.")]
    x_mm: Annotated[
        float | None, RecordField("The spot's distance from the nose.", low=-1000.0, high=10_000.0)
    ] = None
    speed_m_s: Annotated[float | None, RecordField("Speed of the air.", low=0.0, high=150.0)] = None
    photo: Annotated[str, RecordField("File of a photo.")] = ""
    photo_sha256: Annotated[str, SHA256] = ""


@dataclass(frozen=True, slots=True)
class TunnelReading(Record):
    """One reading of the drag balance, as shown: the zero reading is not yet taken off.

    Lift is positive upwards. While a figure flickers, `_lowest_n` and `_highest_n` are its bounds and the
    reading is what was taken for its middle.
    """

    car: Annotated[str, A_CAR]
    speed_m_s: Annotated[float, RecordField("Speed of the air in the tunnel.", low=0.0, high=150.0)]
    drag_n: Annotated[float, RecordField("Drag as shown.", low=-1e4, high=1e4)]
    unit: Annotated[ForceUnit, RecordField("The unit the balance shows; values are kept in newtons.")] = (
        ForceUnit.N
    )
    drag_zero_n: Annotated[float, RecordField("Drag shown with the air still.", low=-1e4, high=1e4)] = 0.0
    drag_lowest_n: Annotated[
        float | None, RecordField("Lowest drag while it flickers.", low=-1e4, high=1e4)
    ] = None
    drag_highest_n: Annotated[
        float | None, RecordField("Highest drag while it flickers.", low=-1e4, high=1e4)
    ] = None
    front_lift_n: Annotated[
        float | None, RecordField("Front lift as shown, up positive.", low=-1e4, high=1e4)
    ] = None
    front_zero_n: Annotated[
        float, RecordField("Front lift shown with the air still.", low=-1e4, high=1e4)
    ] = 0.0
    front_lowest_n: Annotated[
        float | None, RecordField("Lowest front lift while it flickers.", low=-1e4, high=1e4)
    ] = None
    front_highest_n: Annotated[
        float | None, RecordField("Highest front lift while it flickers.", low=-1e4, high=1e4)
    ] = None
    rear_lift_n: Annotated[
        float | None, RecordField("Rear lift as shown, up positive.", low=-1e4, high=1e4)
    ] = None
    rear_zero_n: Annotated[float, RecordField("Rear lift shown with the air still.", low=-1e4, high=1e4)] = (
        0.0
    )
    rear_lowest_n: Annotated[
        float | None, RecordField("Lowest rear lift while it flickers.", low=-1e4, high=1e4)
    ] = None
    rear_highest_n: Annotated[
        float | None, RecordField("Highest rear lift while it flickers.", low=-1e4, high=1e4)
    ] = None
    resolution_n: Annotated[float, RecordField("The balance's smallest step.", low=0.0, high=100.0)] = 0.0
    temperature_c: Annotated[float | None, AIR_C] = None
    pressure_hpa: Annotated[float | None, AIR_HPA] = None
    humidity_percent: Annotated[float | None, HUMIDITY] = None

    @property
    def net_drag_n(self) -> float:
        """Drag with the zero reading taken off, N."""
        return self.drag_n - self.drag_zero_n

    @property
    def net_front_lift_n(self) -> float | None:
        """Front lift with the zero reading taken off, N; None where it was not read."""
        return None if self.front_lift_n is None else self.front_lift_n - self.front_zero_n

    @property
    def net_rear_lift_n(self) -> float | None:
        """Rear lift with the zero reading taken off, N; None where it was not read."""
        return None if self.rear_lift_n is None else self.rear_lift_n - self.rear_zero_n


@dataclass(frozen=True, slots=True)
class RollTest(Record):
    """One roll down a ramp and out over the flat."""

    car: Annotated[str, A_CAR]
    ramp_height_mm: Annotated[
        float, RecordField("How far the car comes down on the ramp, upright.", low=0.0, high=10_000.0)
    ]
    ramp_length_mm: Annotated[
        float, RecordField("How far it rolls on the ramp, along the slope.", low=0.0, high=100_000.0)
    ]
    run_out_mm: Annotated[float, RecordField("How far it rolled.", low=0.0, high=1e6)]
    measured_from: Annotated[MeasuredFrom, RecordField("Where the run-out is measured from.")] = (
        MeasuredFrom.FOOT
    )
    resolution_mm: Annotated[float, RecordField("The tape's smallest step.", low=0.0, high=1000.0)] = 10.0
    surface: Annotated[str, RecordField("What it rolled on.", longest=80)] = ""
    direction: Annotated[
        str, RecordField("Which way it rolled, so that both ways can be told apart.", longest=40)
    ] = ""
    mass_g: Annotated[float | None, RecordField("Mass of the car as it rolled.", low=0.0, high=100_000.0)] = (
        None
    )
    temperature_c: Annotated[float | None, AIR_C] = None
    pressure_hpa: Annotated[float | None, AIR_HPA] = None


@dataclass(frozen=True, slots=True)
class TrackRun(Record):
    """One run on the track, in a heat or alone. A heat's run may lack the length: it is that of the event."""

    car: Annotated[str, A_CAR]
    length_mm: Annotated[float | None, RecordField("From the start to the finish.", low=1.0, high=1e6)] = None
    time_s: Annotated[float | None, RecordField("Time over that length.", low=0.0, high=3600.0)] = None
    resolution_s: Annotated[float, RecordField("The timer's smallest step.", low=0.0, high=10.0)] = (
        GATE_STEP_S
    )
    lane: Annotated[int | None, RecordField("The lane, counted from 1.", low=1, high=99)] = None
    gates_mm_s: Annotated[Pairs, RecordField("Gates passed: distance in mm and time in s.", low=0.0)] = ()
    speed_m_s: Annotated[float | None, RecordField("What the speed gate showed.", low=0.0, high=150.0)] = None
    speed_at_mm: Annotated[float | None, RecordField("Where the speed gate stands.", low=0.0, high=1e6)] = (
        None
    )
    end: Annotated[RunEnd, RecordField("How the run ended.")] = RunEnd.FINISHED
    mass_g: Annotated[
        float | None, RecordField("The car as it ran, without its cartridge.", low=0.0, high=100_000.0)
    ] = None
    cartridge_before_g: Annotated[float | None, RecordField("The full cartridge.", low=0.0, high=1000.0)] = (
        None
    )
    cartridge_after_g: Annotated[float | None, RecordField("The same, spent.", low=0.0, high=1000.0)] = None
    cartridge_c: Annotated[
        float | None, RecordField("Temperature of the cartridge before the run.", low=-60.0, high=60.0)
    ] = None
    temperature_c: Annotated[float | None, AIR_C] = None
    pressure_hpa: Annotated[float | None, AIR_HPA] = None
    humidity_percent: Annotated[float | None, HUMIDITY] = None
    heat: Annotated[int | None, RecordField("The heat that it was run in.", refers="heat")] = None
    place: Annotated[
        int | None, RecordField("Its place in the heat; the same for a tie.", low=1, high=99)
    ] = None

    @property
    def gas_used_g(self) -> float | None:
        """Gas that left the cartridge, g; None where it was not weighed twice."""
        if self.cartridge_before_g is None or self.cartridge_after_g is None:
            return None
        return self.cartridge_before_g - self.cartridge_after_g


# ---------------------------------------------------------------- inspection


@dataclass(frozen=True, slots=True)
class Inspection(Record):
    """One inspection of a car as built. A later one is a record of its own; both are kept."""

    car: Annotated[str, A_CAR]
    rulebook: Annotated[str, RecordField("The rulebook it was judged by.")]
    result: Annotated[str, RecordField("What all verdicts came to.", longest=200)]
    rulebook_fingerprint: Annotated[str, RecordField("The fingerprint of the rulebook.", longest=100)] = ""
    division: Annotated[str, RecordField("The division.", longest=80)] = ""
    design_fingerprint: Annotated[str, RecordField("The fingerprint of the design.", longest=100)] = ""
    passes: Annotated[bool, RecordField("Whether no rule was broken.")] = False
    open_points: Annotated[
        int, RecordField("Rules not yet settled: not measured, not looked at, too close to tell.", low=0)
    ] = 0
    points_off: Annotated[float, RecordField("Points taken.", low=0.0, high=1e6)] = 0.0
    verdicts: Annotated[str, RecordField("Every rule's verdict, as JSON.", longest=MAX_JSON, lines=True)] = (
        "[]"
    )
    legal: Annotated[
        bool | None, RecordField("Whether it may race by what was found: no broken rule takes it out.")
    ] = None


@dataclass(frozen=True, slots=True)
class InspectedValue(Record):
    """One value measured on the car. Its unit is that of the measure: mm, g, degrees or a count."""

    inspection: Annotated[int, RecordField("The inspection it belongs to.", refers="inspection")]
    measure: Annotated[str, RecordField("The measure, by its name in the catalogue.", longest=80)]
    value: Annotated[float, RecordField("What was measured.", low=-1e7, high=1e7)]
    unit: Annotated[str, RecordField("The unit of the value.", longest=10)] = "mm"
    resolution: Annotated[
        float, RecordField("The instrument's smallest step, in the same unit.", low=0.0)
    ] = 0.0
    instrument: Annotated[str, RecordField("What it was measured with.", longest=80)] = ""
    designed: Annotated[float | None, RecordField("The value of the design, in the same unit.")] = None


@dataclass(frozen=True, slots=True)
class EyesAnswer(Record):
    """What an inspector saw on an item that no instrument measures."""

    inspection: Annotated[int, RecordField("The inspection it belongs to.", refers="inspection")]
    clause: Annotated[str, RecordField("The clause of the rulebook.", longest=80)]
    answer: Annotated[Answer, RecordField("Whether the car is as the item wants it.")]
    item: Annotated[str, RecordField("The words of the item.", longest=2000, lines=True)] = ""


# ---------------------------------------------------------------- what was worked out


@dataclass(frozen=True, slots=True)
class FrozenPrediction(Record):
    """A prediction as it was made, never changed after. Intervals hold `confidence` of all cases."""

    car: Annotated[str, A_CAR]
    time_s: Annotated[float, RecordField("Race time.", low=0.0, high=3600.0)]
    time_low_s: Annotated[float, RecordField("Lower end of its interval.", low=0.0, high=3600.0)]
    time_high_s: Annotated[float, RecordField("Upper end of its interval.", low=0.0, high=3600.0)]
    confidence: Annotated[float, RecordField("Share of cases the intervals hold.", low=0.0, high=1.0)] = 0.95
    top_speed_m_s: Annotated[float | None, RecordField("Top speed.", low=0.0, high=400.0)] = None
    top_speed_low_m_s: Annotated[float | None, RecordField("Lower end of its interval.", low=0.0)] = None
    top_speed_high_m_s: Annotated[float | None, RecordField("Upper end of its interval.", low=0.0)] = None
    line_speed_m_s: Annotated[float | None, RecordField("Speed at the finish.", low=0.0, high=400.0)] = None
    line_speed_low_m_s: Annotated[float | None, RecordField("Lower end of its interval.", low=0.0)] = None
    line_speed_high_m_s: Annotated[float | None, RecordField("Upper end of its interval.", low=0.0)] = None
    fingerprint: Annotated[str, RecordField("The fingerprint of the design.", longest=100)] = ""
    inputs: Annotated[
        str, RecordField("Everything it was made from, as JSON.", longest=MAX_JSON, lines=True)
    ] = "{}"

    @property
    def length_mm(self) -> float | None:
        """The length of the lane it was made for; None where it does not say."""
        try:
            length_m = float(json.loads(self.inputs)["length_m"])
        except (ValueError, KeyError, TypeError):
            return None
        return 1e3 * length_m if math.isfinite(length_m) and length_m > 0 else None


@dataclass(frozen=True, slots=True)
class ClassFit(Record):
    """What the class's runs told: a fit, with its uncertainty, as JSON."""

    kind: Annotated[str, RecordField("What was fitted.", longest=40)]
    fit: Annotated[str, RecordField("The fit with its uncertainty, as JSON.", longest=MAX_JSON, lines=True)]


KINDS: Final[dict[str, type[Record]]] = {
    "event": Event,
    "car": CarRecord,
    "mass": MassReading,
    "airflow": AirflowSeen,
    "drag": TunnelReading,
    "roll": RollTest,
    "inspection": Inspection,
    "inspected_value": InspectedValue,
    "eyes_answer": EyesAnswer,
    "prediction": FrozenPrediction,
    "class_fit": ClassFit,
    "entrant": Entrant,
    "draw": Draw,
    "heat": Heat,
    "heat_lane": HeatLane,
    "run": TrackRun,
    "ruling": Ruling,
}
"""Every kind by its name, which its table and its CSV file have too; none before one that it refers to."""

KIND_NAMES: Final[dict[type[Record], str]] = {record: name for name, record in KINDS.items()}

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, slots=True)
class Entry(Generic[R]):
    """A record in the book.

    `id` is its number; `origin` that of its first version, the same through all corrections. `at` is when
    it was measured or decided, with the local zone. `doubt` is what was asked about it at entry, and
    confirmed. `supersedes` is the number it corrects, `reason` why, `superseded_by` the number that
    corrects it. A `struck` entry says that the record does not count any more. `order` counts all records of
    the book in the order in which they came into it, from 1.
    """

    id: int
    origin: int
    at: datetime
    record: R
    by: str = ""
    note: str = ""
    doubt: str = ""
    reason: str = ""
    supersedes: int | None = None
    superseded_by: int | None = None
    struck: bool = False
    order: int = 0

    @property
    def kind(self) -> str:
        """The name of its kind."""
        return KIND_NAMES[type(self.record)]

    @property
    def counts(self) -> bool:
        """Whether it stands: neither corrected nor struck."""
        return self.superseded_by is None and not self.struck
