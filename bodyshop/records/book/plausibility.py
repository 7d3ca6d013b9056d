"""What is asked about a record before it goes into the book: what cannot be true, or hardly.

Nothing is refused here. Each question says what was found and why it is odd, with the nearest thing that
would make sense; the person who measured has the last word, and the doubt is kept with the record.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any, Final

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.foundation.units.instruments import force_text
from bodyshop.records.book.earlier import EarlierRecords, drag_area_m2, level_friction, likely
from bodyshop.records.book.model import (
    MassReading,
    MeasuredFrom,
    Record,
    RollTest,
    RunEnd,
    TrackRun,
    TunnelReading,
    WeighingStage,
)

__all__ = ["questions"]

_SLACK_G: Final = 1e-9  # below what any scale shows: sums of decimal fractions

_SLACK_STEPS: Final = 1e-6  # the same, of a time in steps of its timing

_ENOUGH: Final = 3
"""So many times of a class show what is usual in it."""


def questions(record: Record, known: EarlierRecords | None = None) -> tuple[str, ...]:
    """What has to be asked about a record, each a sentence; none where it makes sense."""
    asks = _ASKS.get(type(record))
    return () if asks is None else tuple(asks(record, known or EarlierRecords()))


def _about_mass(record: MassReading, known: EarlierRecords) -> Iterator[str]:
    bounds = likely()["car_mass_g"]
    if not bounds.holds(record.mass_g):
        yield f"{record.mass_g:g} g is no usual mass of a car ({bounds.low:g} to {bounds.high:g} g)."
    order = list(WeighingStage)
    wood = (WeighingStage.BLANK, WeighingStage.DRILLED, WeighingStage.SAWN, WeighingStage.SANDED)
    here = order.index(record.stage)
    for stage, before in (known.stages or {}).items():
        mass, there = before.mass_g, order.index(stage)
        # Each reading may be half a step of its own scale off.
        step = 0.5 * (record.resolution_g + before.resolution_g)
        if stage in wood and record.stage in wood and there != here:
            lighter, heavier = (record.mass_g, mass) if there < here else (mass, record.mass_g)
            if lighter > heavier + step + _SLACK_G:
                yield (
                    f"{record.mass_g:g} g {record.stage.value} does not go with {mass:g} g {stage.value}: "
                    "saw and sandpaper take wood away."
                )
        far = mass > 0.0 and not likely()["mass_repeat"].holds(record.mass_g / mass)
        if stage is record.stage and far and abs(record.mass_g - mass) > 2 * step:
            yield f"The same car was {mass:g} g at this stage before."
        if {stage, record.stage} == {WeighingStage.COMPLETE, WeighingStage.LOADED}:
            loaded, bare = (
                (record.mass_g, mass) if record.stage is WeighingStage.LOADED else (mass, record.mass_g)
            )
            if not likely()["cartridge_g"].holds(loaded - bare):
                yield (
                    f"With {loaded:g} g loaded and {bare:g} g without, the cartridge would weigh "
                    f"{loaded - bare:.1f} g."
                )


def _about_tunnel(record: TunnelReading, known: EarlierRecords) -> Iterator[str]:
    speeds = likely()["tunnel_speed_m_s"]
    shown = force_text(record.net_drag_n, record.unit)
    if not speeds.holds(record.speed_m_s):
        yield (
            f"{record.speed_m_s:g} m/s is no usual speed of a tunnel ({speeds.low:g} to {speeds.high:g} m/s)."
        )
    area = drag_area_m2(record)
    if record.net_drag_n <= 0.0:
        yield f"The drag less its zero reading is {shown}: air does not push a car forward."
    elif area is not None and not likely()["drag_area_m2"].holds(area):
        lots = "more" if area > likely()["drag_area_m2"].high else "less"
        yield (
            f"A drag of {shown} at {record.speed_m_s:g} m/s is a drag area of {area * 1e4:.3g} cm²: far "
            f"{lots} than a car of this size has. Is the unit {record.unit.value}, and the zero right?"
        )
    elif area is not None and known.drag_areas:
        mean = math.fsum(known.drag_areas) / len(known.drag_areas)
        if mean <= 0.0 or not likely()["drag_repeat"].holds(area / mean):
            yield (f"The drag area comes to {area * 1e4:.3g} cm²; before, it was {mean * 1e4:.3g} cm².")
    yield from _about_lift(record, known)
    yield from _about_flicker(record)
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_lift(record: TunnelReading, known: EarlierRecords) -> Iterator[str]:
    lifts = {
        end: value
        for end, value in (("front", record.net_front_lift_n), ("rear", record.net_rear_lift_n))
        if value is not None
    }
    mass = known.mass_g if known.mass_g is not None else likely()["car_mass_g"].high
    weight = mass / 1000.0 * GRAVITY_M_S2
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


def _about_roll(record: RollTest, known: EarlierRecords) -> Iterator[str]:
    height, length = record.ramp_height_mm, record.ramp_length_mm
    if length <= 0.0 or height <= 0.0:
        yield "A ramp has a height and a length above zero."
        return
    if height >= length:
        yield f"A ramp {length:g} mm long cannot come down by {height:g} mm."
        return
    friction = level_friction(record)
    if friction is None:
        yield "The car did not get beyond the foot of the ramp."
        return
    flat = record.run_out_mm - (0.0 if record.measured_from is MeasuredFrom.FOOT else length)
    bounds = likely()["rolling"]
    if not bounds.holds(friction):
        yield (
            f"Rolling {flat / 1000:.3g} m after a drop of {height:g} mm means a friction of {friction:.3g}, "
            f"outside {bounds.low:g} to {bounds.high:g}."
        )
    elif known.frictions:
        before = statistics.median(known.frictions)
        if not likely()["roll_repeat"].holds(friction / before):
            yield f"This roll means a friction of {friction:.3g}; before, it was {before:.3g}."
    same = likely()["mass_repeat"]
    if record.mass_g is not None and known.mass_g and not same.holds(record.mass_g / known.mass_g):
        yield f"The car was {known.mass_g:g} g complete, not {record.mass_g:g} g."
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_run(record: TrackRun, known: EarlierRecords) -> Iterator[str]:
    length_mm = record.length_mm or known.track_mm
    if known.lanes is not None and record.lane is not None and record.lane > known.lanes:
        yield f"The track has {known.lanes} lanes, not {record.lane}."
    if known.track_mm and length_mm and not likely()["same_length"].holds(length_mm / known.track_mm):
        yield f"The track is {known.track_mm / 1000:g} m long, not {length_mm / 1000:g} m."
    yield from _about_step(record, known)
    yield from _about_pace(record, length_mm, known)
    if record.time_s and length_mm:
        yield from _about_speed(record, length_mm, length_mm / 1000.0 / record.time_s)
    yield from _about_gates(record, length_mm)
    yield from _about_cartridge(record)
    yield from _about_air(record.temperature_c, record.pressure_hpa)


def _about_step(record: TrackRun, known: EarlierRecords) -> Iterator[str]:
    """A heat is timed by the event's own timer: nothing finer can have been read."""
    if record.heat is None or known.timing_s is None or record.time_s is None:
        return
    steps = record.time_s / known.timing_s
    if abs(steps - round(steps)) > _SLACK_STEPS:
        yield f"{record.time_s:g} s is finer than the event's timing, with steps of {known.timing_s:g} s."


def _about_pace(record: TrackRun, length_mm: float | None, known: EarlierRecords) -> Iterator[str]:
    """What a time is held against: how the run ended, the track, and what is known of car and class."""
    time = record.time_s
    if time is None:
        if record.end is RunEnd.FINISHED:
            yield "The run finished, and has no time."
        return
    if record.end in (RunEnd.STOPPED, RunEnd.NO_START):
        yield f"The car {record.end.value}, and yet there is a time of {time:g} s."
    if time <= 0.0:
        yield "No run takes no time."
        return
    metres = None if length_mm is None else length_mm / 1000.0
    bounds = likely()["mean_speed_m_s"]
    if metres is not None and not bounds.holds(metres / time):
        mean = metres / time
        yield (
            f"{metres:g} m in {time:g} s is {mean:.3g} m/s ({mean * 3.6:.0f} km/h) on the average, outside "
            f"{bounds.low:g} to {bounds.high:g} m/s."
        )
    if known.own_times:
        # The car's own runs say more than the class and the prediction: it may well be a slow car.
        if not likely()["run_repeat"].holds(time / statistics.median(known.own_times)):
            yield f"{time:g} s is far from the car's own time: {_times_words(known.own_times)}."
        return
    others = known.class_times
    if len(others) >= _ENOUGH and not likely()["run_of_class"].holds(time / statistics.median(others)):
        yield f"{time:g} s is far from the times of the class: {_times_words(others)}."
    if known.predicted_s is not None:
        value, low, high = known.predicted_s
        half = high - value if time > value else value - low
        if half > 0.0 and not likely()["run_of_prediction"].holds((time - value) / half):
            yield f"{time:g} s is far from the prediction: {value:.3f} s ({low:.3f} to {high:.3f})."


def _times_words(times: Sequence[float]) -> str:
    """`1.402 s`, or `1.381 to 1.437 s in 5 runs`."""
    if len(times) == 1:
        return f"{times[0]:.3f} s"
    return f"{min(times):.3f} to {max(times):.3f} s in {len(times)} runs"


def _about_speed(record: TrackRun, length_mm: float, mean_m_s: float) -> Iterator[str]:
    if record.speed_m_s is None:
        return
    at_line = record.speed_at_mm is None or record.speed_at_mm >= 0.8 * length_mm
    share, bounds = record.speed_m_s / mean_m_s, likely()["line_over_mean"]
    # Near the start a car is slower than on the average: only the upper bound holds there.
    if share > bounds.high or (at_line and share < bounds.low):
        # The speed at the line is the mean, or some fifth above it.
        most_m = record.speed_m_s * (record.time_s or 0.0)
        yield (
            f"Distance, time and speed disagree: {length_mm / 1000:g} m in {record.time_s:g} s is "
            f"{mean_m_s:.3g} m/s on the average, and the gate showed {record.speed_m_s:.3g} m/s. With this "
            f"speed and time the track would be {most_m / 1.2:.0f} to {most_m:.0f} m long."
        )


def _about_gates(record: TrackRun, length_mm: float | None) -> Iterator[str]:
    points = [(0.0, 0.0), *sorted(record.gates_mm_s)]
    if record.time_s is not None and length_mm is not None:
        points.append((length_mm, record.time_s))
    if length_mm is not None and any(at > length_mm for at, _ in record.gates_mm_s):
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


_ASKS: Final[Mapping[type[Record], Callable[[Any, EarlierRecords], Iterator[str]]]] = {
    MassReading: _about_mass,
    TunnelReading: _about_tunnel,
    RollTest: _about_roll,
    TrackRun: _about_run,
}
