"""What is asked about a record before it goes into the book: what cannot be true, or hardly.

Nothing is refused here. Each question says what was found and why it is odd, with the nearest thing that
would make sense; the person who measured has the last word, and the doubt is kept with the record.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from bodyshop.trials.book import Book
from bodyshop.trials.instruments import force_text
from bodyshop.trials.model import (
    MassReading,
    MeasuredFrom,
    Record,
    RollTest,
    RunEnd,
    Stage,
    TrackRun,
    TunnelReading,
)

__all__ = ["Known", "Likely", "known_about", "likely", "questions"]

_G: Final = 9.80665  # m/s2, standard gravity
_R_DRY: Final = 287.05287  # J/(kg K), dry air (ISO 2533:1975)
_ODD_REPEAT: Final = 0.15
"""Repeats that differ from what was noted before by more than this share are asked about."""
_SAME_LENGTH: Final = 0.01


@dataclass(frozen=True, slots=True)
class Likely:
    """Bounds of what is likely, and where they come from."""

    low: float
    high: float
    source: str
    confidence: str

    def holds(self, value: float) -> bool:
        """Whether a value is within."""
        return self.low <= value <= self.high


@cache
def likely() -> Mapping[str, Likely]:
    """What measurements are likely to be, by the name of the quantity."""
    text = Path(__file__).with_name("likely.toml").read_text(encoding="utf-8")
    return {name: Likely(**row) for name, row in tomllib.loads(text).items()}


@dataclass(frozen=True, slots=True)
class Known:
    """What the book says already that a new record of a car is held against. None where it says nothing."""

    mass_g: float | None = None
    """The complete car without its cartridge, weighed last."""
    stage_masses_g: Mapping[Stage, float] | None = None
    """The last mass at each stage."""
    track_mm: float | None = None
    lanes: int | None = None
    times_s: Mapping[float, float] | None = None
    """The mean time over each length, mm."""
    before: tuple[float, ...] = ()
    """Earlier drag areas of the car, m2."""


def known_about(book: Book, record: Record, *, but: int | None = None) -> Known:
    """What the book says that bears on a record. `but` is an entry being corrected: it is no witness."""
    car = getattr(record, "car", None)
    event = book.event.record
    if car is None:
        return Known(track_mm=event.track_mm, lanes=event.lanes)
    own = type(record)
    masses = {
        entry.record.stage: entry.record.mass_g
        for entry in book.records(MassReading, car=car)
        if own is not MassReading or entry.id != but
    }
    times: dict[float, list[float]] = {}
    if isinstance(record, TrackRun):
        for run in book.records(TrackRun, car=car):
            if run.record.time_s is not None and run.record.end is RunEnd.FINISHED and run.id != but:
                times.setdefault(run.record.length_mm, []).append(run.record.time_s)
    areas: tuple[float, ...] = ()
    if isinstance(record, TunnelReading):
        readings = [each for each in book.records(TunnelReading, car=car) if each.id != but]
        found = [_drag_area_m2(each.record) for each in readings]
        areas = tuple(each for each in found if each is not None)
    return Known(
        mass_g=masses.get(Stage.COMPLETE),
        stage_masses_g=masses,
        track_mm=event.track_mm,
        lanes=event.lanes,
        times_s={length: math.fsum(each) / len(each) for length, each in times.items()},
        before=areas,
    )


def questions(record: Record, known: Known | None = None) -> tuple[str, ...]:
    """What has to be asked about a record, each a sentence; none where it makes sense."""
    asks = _ASKS.get(type(record))
    return () if asks is None else tuple(asks(record, known or Known()))


def _about_mass(record: MassReading, known: Known) -> Iterator[str]:
    bounds = likely()["car_mass_g"]
    if not bounds.holds(record.mass_g):
        yield f"{record.mass_g:g} g is no usual mass of a car ({bounds.low:g} to {bounds.high:g} g)."
    earlier = known.stage_masses_g or {}
    order = list(Stage)
    wood = (Stage.BLANK, Stage.DRILLED, Stage.SAWN, Stage.SANDED)
    here = order.index(record.stage)
    for stage, mass in earlier.items():
        there = order.index(stage)
        step = record.resolution_g
        if stage in wood and record.stage in wood and there != here:
            lighter, heavier = (record.mass_g, mass) if there < here else (mass, record.mass_g)
            if lighter > heavier + step:
                yield (
                    f"{record.mass_g:g} g {record.stage.value} does not go with {mass:g} g {stage.value}: "
                    "saw and sandpaper take wood away."
                )
        if stage is record.stage and abs(record.mass_g - mass) > max(_ODD_REPEAT * mass, 2 * step):
            yield f"The same car was {mass:g} g at this stage before."
        if {stage, record.stage} == {Stage.COMPLETE, Stage.LOADED}:
            loaded, bare = (record.mass_g, mass) if record.stage is Stage.LOADED else (mass, record.mass_g)
            if not likely()["cartridge_g"].holds(loaded - bare):
                yield (
                    f"With {loaded:g} g loaded and {bare:g} g without, the cartridge would weigh "
                    f"{loaded - bare:.1f} g."
                )


def _drag_area_m2(record: TunnelReading) -> float | None:
    """CdA from a reading and its air, m2; a usual room where the air was not noted."""
    if record.speed_m_s <= 0.0:
        return None
    kelvin = (20.0 if record.temperature_c is None else record.temperature_c) + 273.15
    pascal = 100.0 * (1013.25 if record.pressure_hpa is None else record.pressure_hpa)
    pressure = 0.5 * pascal / (_R_DRY * kelvin) * record.speed_m_s**2
    return record.net_drag_n / pressure


def _about_tunnel(record: TunnelReading, known: Known) -> Iterator[str]:
    speeds = likely()["tunnel_speed_m_s"]
    shown = force_text(record.net_drag_n, record.unit)
    if not speeds.holds(record.speed_m_s):
        yield (
            f"{record.speed_m_s:g} m/s is no usual speed of a tunnel ({speeds.low:g} to {speeds.high:g} m/s)."
        )
    area = _drag_area_m2(record)
    if record.net_drag_n <= 0.0:
        yield f"The drag less its zero reading is {shown}: air does not push a car forward."
    elif area is not None and not likely()["drag_area_m2"].holds(area):
        lots = "more" if area > likely()["drag_area_m2"].high else "less"
        yield (
            f"A drag of {shown} at {record.speed_m_s:g} m/s is a drag area of {area * 1e4:.3g} cm²: far "
            f"{lots} than a car of this size has. Is the unit {record.unit.value}, and the zero right?"
        )
    elif area is not None and known.before:
        mean = math.fsum(known.before) / len(known.before)
        if abs(area - mean) > 2 * _ODD_REPEAT * abs(mean):
            yield (f"The drag area comes to {area * 1e4:.3g} cm²; before, it was {mean * 1e4:.3g} cm².")
    yield from _about_lift(record, known)
    yield from _about_flicker(record)
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_lift(record: TunnelReading, known: Known) -> Iterator[str]:
    lifts = {
        end: value
        for end, value in (("front", record.net_front_lift_n), ("rear", record.net_rear_lift_n))
        if value is not None
    }
    mass = known.mass_g if known.mass_g is not None else likely()["car_mass_g"].high
    weight = mass / 1000.0 * _G
    words = f"the car weighs {force_text(weight, record.unit)}"
    if known.mass_g is None:
        words = f"a car that weighs {force_text(weight, record.unit)} would be a heavy one"
    for end, value in lifts.items():
        if abs(value) > weight:
            yield f"A {end} lift of {force_text(value, record.unit)} is more than the car's weight: {words}."
    if len(lifts) == 2 and sum(lifts.values()) > weight >= max(abs(value) for value in lifts.values()):
        total = force_text(sum(lifts.values()), record.unit)
        yield f"Front and rear lift together are {total}, more than the car's weight: {words}."


def _about_flicker(record: TunnelReading) -> Iterator[str]:
    for what, value, low, high in (
        ("drag", record.drag_n, record.drag_lowest_n, record.drag_highest_n),
        ("front lift", record.front_lift_n, record.front_lowest_n, record.front_highest_n),
        ("rear lift", record.rear_lift_n, record.rear_lowest_n, record.rear_highest_n),
    ):
        if low is not None and high is not None and low > high:
            yield f"The lowest {what} is above the highest."
        elif value is not None and (
            (low is not None and value < low - record.resolution_n)
            or (high is not None and value > high + record.resolution_n)
        ):
            yield f"The {what} is not between its lowest and its highest."
        elif what == "drag" and low is not None and high is not None and high - low > abs(record.net_drag_n):
            yield "The drag flickers by more than the drag itself."


def _about_air(temperature_c: float | None, pressure_hpa: float | None) -> Iterator[str]:
    room, weather = likely()["room_c"], likely()["weather_hpa"]
    if temperature_c is not None and not room.holds(temperature_c):
        yield f"{temperature_c:g} °C is no usual air to measure in. Is it in °F?"
    if pressure_hpa is not None and not weather.holds(pressure_hpa):
        yield f"{pressure_hpa:g} hPa is no usual pressure of the air."


def _about_roll(record: RollTest, known: Known) -> Iterator[str]:
    height, length = record.ramp_height_mm, record.ramp_length_mm
    if length <= 0.0 or height <= 0.0:
        yield "A ramp has a height and a length above nought."
        return
    if height >= length:
        yield f"A ramp {length:g} mm long cannot come down by {height:g} mm."
        return
    base = math.sqrt(length**2 - height**2)
    flat = record.run_out_mm - (0.0 if record.measured_from is MeasuredFrom.FOOT else length)
    if flat <= 0.0:
        yield "The car did not get beyond the foot of the ramp."
        return
    friction = height / (base + flat)
    bounds = likely()["rolling"]
    if not bounds.holds(friction):
        yield (
            f"Rolling {flat / 1000:.3g} m after a drop of {height:g} mm means a friction of {friction:.3g}, "
            f"outside {bounds.low:g} to {bounds.high:g}."
        )
    if record.mass_g is not None and known.mass_g and abs(record.mass_g / known.mass_g - 1.0) > _ODD_REPEAT:
        yield f"The car was {known.mass_g:g} g complete, not {record.mass_g:g} g."
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_run(record: TrackRun, known: Known) -> Iterator[str]:
    if known.lanes is not None and record.lane is not None and record.lane > known.lanes:
        yield f"The track has {known.lanes} lanes, not {record.lane}."
    if known.track_mm and abs(record.length_mm / known.track_mm - 1.0) > _SAME_LENGTH:
        yield f"The track is {known.track_mm / 1000:g} m long, not {record.length_mm / 1000:g} m."
    yield from _about_time(record, known)
    yield from _about_gates(record)
    yield from _about_cartridge(record)
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_time(record: TrackRun, known: Known) -> Iterator[str]:
    time = record.time_s
    if time is None:
        if record.end is RunEnd.FINISHED:
            yield "The run finished, and has no time."
        return
    if record.end in (RunEnd.STOPPED, RunEnd.NO_START):
        yield f"The car {record.end.value}, and yet there is a time of {time:g} s."
    metres = record.length_mm / 1000.0
    if time <= 0.0:
        yield "No run takes no time."
        return
    mean, bounds = metres / time, likely()["mean_speed_m_s"]
    if not bounds.holds(mean):
        yield (
            f"{metres:g} m in {time:g} s is {mean:.3g} m/s ({mean * 3.6:.0f} km/h) on the average, outside "
            f"{bounds.low:g} to {bounds.high:g} m/s."
        )
    yield from _about_speed(record, mean)
    before = (known.times_s or {}).get(record.length_mm)
    if before is not None and abs(time / before - 1.0) > 2 * _ODD_REPEAT:
        yield f"The car's mean over this length was {before:.3f} s before."


def _about_speed(record: TrackRun, mean_m_s: float) -> Iterator[str]:
    if record.speed_m_s is None:
        return
    at_line = record.speed_at_mm is None or record.speed_at_mm >= 0.8 * record.length_mm
    share, bounds = record.speed_m_s / mean_m_s, likely()["line_over_mean"]
    # Near the start a car is slower than on the average: only the upper bound holds there.
    if share > bounds.high or (at_line and share < bounds.low):
        # The speed at the line is the mean, or some fifth above it.
        most_m = record.speed_m_s * (record.time_s or 0.0)
        yield (
            f"Distance, time and speed disagree: {record.length_mm / 1000:g} m in {record.time_s:g} s is "
            f"{mean_m_s:.3g} m/s on the average, and the gate showed {record.speed_m_s:.3g} m/s. With this "
            f"speed and time the track would be {most_m / 1.2:.0f} to {most_m:.0f} m long."
        )


def _about_gates(record: TrackRun) -> Iterator[str]:
    points = [(0.0, 0.0), *sorted(record.gates_mm_s)]
    if record.time_s is not None:
        points.append((record.length_mm, record.time_s))
    if any(at > record.length_mm for at, _ in record.gates_mm_s):
        yield "A gate stands beyond the finish."
        return
    for (before, early), (at, late) in pairwise(points):
        if late <= early and at > before:
            yield f"The car cannot be at {at / 1000:g} m ({late:g} s) before it was at {before / 1000:g} m."
        elif late > early and (at - before) / 1000.0 / (late - early) > 1.7 * likely()["mean_speed_m_s"].high:
            yield (
                f"From {before / 1000:g} to {at / 1000:g} m in {late - early:.3g} s is "
                f"{(at - before) / 1000 / (late - early):.3g} m/s."
            )


def _about_cartridge(record: TrackRun) -> Iterator[str]:
    before, after = record.cartridge_before_g, record.cartridge_after_g
    for what, mass in (("full", before), ("spent", after)):
        bounds = likely()["cartridge_g"]
        low = bounds.low if what == "full" else 0.5 * bounds.low
        if mass is not None and not low <= mass <= bounds.high:
            yield f"A {what} cartridge of {mass:g} g is no usual one."
    if before is not None and after is not None:
        used = before - after
        share = likely()["gas_share"]
        if used < 0.0:
            yield f"The cartridge gained {-used:.3g} g in the run. Are the two masses the right way round?"
        elif record.end is RunEnd.FINISHED and not share.holds(used / before if before else 0.0):
            yield f"The run used {used:.3g} g of a cartridge of {before:g} g."
    warm = likely()["cartridge_c"]
    if record.cartridge_c is not None and not warm.holds(record.cartridge_c):
        yield (
            f"A cartridge at {record.cartridge_c:g} °C? Cartridges are kept at room temperature: their "
            "pressure climbs steeply with heat."
        )


_ASKS: Final[Mapping[type[Record], Callable[[Any, Known], Iterator[str]]]] = {
    MassReading: _about_mass,
    TunnelReading: _about_tunnel,
    RollTest: _about_roll,
    TrackRun: _about_run,
}
