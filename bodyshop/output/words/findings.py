"""A finding in words: its title, its figure, the sentence for a student, and notes for whoever wants more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import Mass
from bodyshop.foundation.constants import GRAVITY_M_S2, NORMAL_95
from bodyshop.foundation.statistics import Repeats
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units.instruments import force_text
from bodyshop.output.words.figures import figure, number, plain, share, times_words
from bodyshop.physics.air import DENSITY_FORMULA, DENSITY_SOURCE
from bodyshop.physics.drag import DragBuildUp
from bodyshop.physics.lift import PRACTICE, AxleLoadChange
from bodyshop.physics.model import Interval
from bodyshop.physics.roll import FLOOR_FALL, RollResult
from bodyshop.records.book.model import Entry, Flow, TunnelReading, WeighingStage
from bodyshop.records.findings.facts import (
    AirflowFacts,
    AxleFacts,
    BalanceFacts,
    BuildUpFacts,
    ChangedBetween,
    Doubt,
    GasFacts,
    ImpossibleRoll,
    MassFacts,
    PushMoment,
    RollFacts,
    SpeedFacts,
    TimeFacts,
    TunnelFacts,
    UnloadedFacts,
)
from bodyshop.records.findings.model import CM2_PER_M2, CarMeaning, Finding, Missing, scaled

__all__ = ["FindingWords", "finding_words", "missing_words"]

_PLATE: Final = 1.17
"""Drag coefficient of a square plate set across the flow (Aeronautical Engineer's Data Book, fig. 5.13b)."""

_SPEEDS_DIFFER: Final = 1.15
_KMH: Final = 3.6
_APART: Final = NORMAL_95 * 2**0.5
"""The difference of two readings is 1.96 times the root of two times their spread in 19 cases of 20."""

_STAGES: Final = {
    WeighingStage.BLANK: "the blank",
    WeighingStage.DRILLED: "the drilled block",
    WeighingStage.SAWN: "the sawn body",
    WeighingStage.SANDED: "the sanded body",
    WeighingStage.FINISHED: "the finished body",
    WeighingStage.COMPLETE: "the complete car",
    WeighingStage.LOADED: "the car with its cartridge",
}
_MISSING: Final = {
    Missing.MASS: "the complete car has not been weighed",
    Missing.TUNNEL: "no tunnel reading: the drag area is an estimate from the drawing",
    Missing.LIFT: "front and rear lift have not been read together",
    Missing.ROLLS: "no roll test: the friction is an estimate from the parts",
    Missing.RUNS: "no timed run yet",
}


@dataclass(frozen=True, slots=True)
class FindingWords:
    """`figure` is the value with its interval, `sentence` what it means. `doubts` are questions."""

    title: str
    figure: str
    sentence: str
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def missing_words(meaning: CarMeaning) -> tuple[str, ...]:
    """What has not been measured yet, a clause each."""
    return tuple(
        f"no drawing to compare with: {meaning.why_no_drawing}" if each is Missing.DRAWING else _MISSING[each]
        for each in meaning.missing
    )


def finding_words(finding: Finding) -> FindingWords:
    """All words of a finding."""
    title, shown, sentence, notes = _words(finding)
    doubts = tuple(_doubt(doubt) for doubt in finding.doubts)
    return FindingWords(title, shown, sentence, tuple(notes), doubts)


_Words = tuple[str, str, str, Sequence[str]]


def _words(finding: Finding) -> _Words:  # noqa: PLR0911 - one for each kind
    match finding.facts:
        case MassFacts() as facts:
            return _mass(facts)
        case AirflowFacts() as facts:
            return _airflow(facts)
        case BuildUpFacts() as facts:
            return _build_up(facts)
        case TunnelFacts() as facts:
            return _tunnel(facts)
        case UnloadedFacts() as facts:
            return _unloaded(facts)
        case BalanceFacts() as facts:
            return _balance(facts)
        case AxleFacts() as facts:
            return _axle(facts)
        case RollFacts() as facts:
            return _rolling(facts)
        case TimeFacts() as facts:
            return _time(facts)
        case SpeedFacts() as facts:
            return _speed(facts)
        case GasFacts() as facts:
            return _gas(facts)


def _doubt(doubt: Doubt) -> str:
    match doubt:
        case ChangedBetween(stage, count, spread):
            return (
                f"{capital(_STAGES[stage])} was weighed {times_words(count)}, and the readings spread by "
                f"{number(spread)} g: was it changed in between?"
            )
        case ImpossibleRoll(number_in_book, why):
            return (
                f"Roll {number_in_book} cannot be: {why}. Is a unit wrong, or where the run-out is measured "
                "from?"
            )
    return doubt.words


# ---------------------------------------------------------------- mass


def _mass(facts: MassFacts) -> _Words:
    stage, mass = facts.stage, facts.mass.value
    sentence = f"{capital(_STAGES[stage])} weighs {number(mass, 4)} g."
    if facts.before is not None and stage is not WeighingStage.LOADED:
        change = mass - facts.before[1]
        verb = "taken off" if change < 0 else "added"
        sentence += f" Since {_STAGES[facts.before[0]]} the work has {verb} {number(abs(change))} g."
    if facts.drawn is not None:
        sentence += _against_drawing(mass, facts.drawn)
    return f"Mass of {_STAGES[stage]}", figure(facts.mass.interval(), "g"), sentence, ()


def _against_drawing(measured_g: float, mass: Mass) -> str:
    words = f" The drawing predicted {number(mass.mass_g)} g ({number(mass.low_g)} to {number(mass.high_g)})"
    if mass.low_g <= measured_g <= mass.high_g:
        return words + ". The scale agrees."
    if measured_g > mass.high_g:
        return words + ": it is heavier than that. Denser wood, more left on, or more paint?"
    return words + ": it is lighter than that. Lighter wood, or more taken off?"


# ---------------------------------------------------------------- airflow and drag


def _airflow(facts: AirflowFacts) -> _Words:
    places = facts.places
    words = []
    if places[Flow.REVERSED]:
        words.append(
            f"Where the air ran backwards ({_listed(places[Flow.REVERSED])}) it has left the car, and what "
            "it leaves behind pulls the car back: easing the shape ahead of it is worth trying first."
        )
    if places[Flow.DISTURBED]:
        words.append(
            f"The air was rough ({_listed(places[Flow.DISTURBED])}): something in front stirs it, or the "
            "flow is about to break away."
        )
    if places[Flow.ATTACHED]:
        where = "elsewhere " if words else ""
        words.append(f"It followed the car {where}({_listed(places[Flow.ATTACHED])}).")
    counted = [f"{len(places[flow])} {flow.value}" for flow in Flow if places[flow]]
    return "Airflow seen", ", ".join(counted), " ".join(words), ()


def _listed(places: Sequence[str]) -> str:
    known = list(dict.fromkeys(places))
    return ", ".join(known[:6]) + (f" and {len(known) - 6} more places" if len(known) > 6 else "")


def _build_up(facts: BuildUpFacts) -> _Words:
    built, race_m_s = facts.built, facts.race_m_s
    parts = sorted(built.items, key=lambda item: -item.cda_m2)
    listed = [f"{item.label} {share(built.share(item))}" for item in parts]
    sentence = (
        "From the drawing alone, with published figures for shapes like its parts. Most of it: "
        f"{listed[0]}, then {', '.join(listed[1:3])}. A tunnel narrows it."
    )
    force = 0.5 * 1.225 * race_m_s**2 * built.estimate.value
    notes = (
        f"all parts: {', '.join(listed)}",
        _coefficient(built, built.coefficient),
        f"at {plain(race_m_s)} m/s in air of 15 °C it holds the car back by {number(force, 2)} N",
    )
    held = scaled(built.estimate.interval(), CM2_PER_M2)
    return "Drag area before any test", figure(held, "cm²"), sentence, notes


def _coefficient(built: DragBuildUp, value: float) -> str:
    area = f"{built.frontal_mm2 / 100:.1f} cm²"
    return f"over the frontal area of {area} this is a drag coefficient of {number(value, 2)}"


def _tunnel(facts: TunnelFacts) -> _Words:
    drag, built = facts.drag, facts.built
    area_m2 = drag.estimate.value
    held = scaled(drag.estimate.interval(), CM2_PER_M2)
    sentence = "The tunnel's readings come to no drag at all, which cannot be."
    if area_m2 > 0:
        sentence = (
            f"The air holds this car back as much as a square board of {number(held.value / _PLATE, 2)} "
            "cm² set "
            f"across it: {number(facts.force_n, 2)} N at {plain(facts.race_m_s)} m/s. Twice the speed is "
            "four "
            "times that."
        )
        if built is not None:
            sentence += _against_build_up(held, scaled(built.estimate.interval(), CM2_PER_M2))
    return "Drag area in the tunnel", figure(held, "cm²"), sentence, list(_tunnel_notes(facts))


def _against_build_up(measured: Interval, before: Interval) -> str:
    if measured.high < before.low:
        return " That is less than its drawing let hope: a good car, or a reading to take again."
    if measured.low > before.high:
        return " That is more than its drawing let fear: look for air that runs backwards, or read again."
    return " That agrees with what its drawing let expect, and is surer."


def _tunnel_notes(facts: TunnelFacts) -> Iterator[str]:
    drag, built, density = facts.drag, facts.built, facts.air.density_kg_m3
    yield f"air of {number(density.value, 4)} kg/m³ ({density.source}); {DENSITY_FORMULA} ({DENSITY_SOURCE})"
    yield "the tunnel's speed is taken as known to 3 %, and it counts twice: it does not average out"
    if built is not None and drag.estimate.value > 0:
        yield _coefficient(built, drag.estimate.value * 1e6 / built.frontal_mm2)
    if drag.filled is not None:
        yield (
            f"the car fills {share(drag.filled)} of the tunnel, which makes the air round it faster: in a "
            "closed "
            f"tunnel every reading is {share(drag.lowered_by)} too high, and this is taken off (Barlow, "
            "Rae and "
            "Pope 1999, from memory)"
        )
    else:
        yield "the tunnel's section is not known, so nothing is taken off for how much of it the car fills"
    yield _readings(facts.entries)
    yield from _speeds(facts.entries, drag.series)
    if drag.series.count == 1:
        yield "one reading shows no spread of its own: two more would tell how well it repeats"


def _readings(entries: Sequence[Entry[TunnelReading]]) -> str:
    """What the balance showed less its zero, in its own unit."""
    listed = [
        f"{force_text(entry.record.net_drag_n, entry.record.unit)} at {plain(entry.record.speed_m_s)} m/s"
        for entry in entries[:12]
    ]
    more = f" and {len(entries) - 12} more" if len(entries) > 12 else ""
    return f"reading less zero: {', '.join(listed)}{more}"


def _speeds(entries: Sequence[Entry[TunnelReading]], series: Repeats) -> Iterator[str]:
    """Whether the drag area stays the same from slow to fast, as it nearly should."""
    speeds = [entry.record.speed_m_s for entry in entries]
    slow, fast = min(speeds), max(speeds)
    if fast < _SPEEDS_DIFFER * slow:
        return
    ends = []
    for limit in (slow, fast):
        near = [v for v, s in zip(series.values, speeds, strict=True) if abs(s / limit - 1.0) < 0.05]
        ends.append(sum(near) / len(near))
    change = ends[1] / ends[0] - 1.0 if ends[0] else 0.0
    words = f"read at {plain(slow)} to {plain(fast)} m/s: from slow to fast the drag area changes by "
    words += share(change)
    if abs(change) > 0.15:
        words += ". It should hardly change: at low speed the balance's own friction may show"
    yield words


# ---------------------------------------------------------------- lift


def _unloaded(facts: UnloadedFacts) -> _Words:
    shown = f"front {figure(facts.front.interval(), 'N')}, rear {figure(facts.rear.interval(), 'N')}"
    sentence = f"At {plain(facts.speed_m_s)} m/s. What each axle carries is not known"
    sentence += f" ({facts.why_not})" if facts.why_not else ""
    sentence += ", so nobody can say yet which one grows light."
    return "Lift in the tunnel", shown, sentence, (f"wanted: {PRACTICE}",)


def _balance(facts: BalanceFacts) -> _Words:
    balance = facts.balance
    gap = balance.rear.tunnel_n.value - balance.front.tunnel_n.value
    if balance.by_practice:
        sentence = "Front and rear are about equal, small, and not negative: as it is wanted."
    else:
        faults = []
        if not balance.equal:
            more, less = ("rear", "front") if gap > 0 else ("front", "rear")
            faults.append(f"the {more} is lifted more than the {less}")
        if not balance.small:
            faults.append("the lift is not small beside what the axles carry")
        if balance.negative:
            faults.append("an axle is pressed down, which costs drag and rolls harder")
        sentence = capital(", and ".join(faults)) + "."
    notes = [f"wanted: {PRACTICE}"]
    if facts.push is not None:
        notes.append(_push(facts.push))
    if facts.other_speeds:
        listed = ", ".join(plain(speed) for speed in facts.other_speeds)
        notes.append(
            f"also read at {listed} m/s; the fastest reading is scaled, as it has the least far to go"
        )
    shown = f"rear over front {number(gap, 2)} N at {plain(balance.tunnel_m_s)} m/s"
    return "Lift, front against rear", shown, sentence, notes


def _push(push: PushMoment) -> str:
    side = "over" if push.above_mm > 0 else "under"
    loaded, eased = ("front", "rear") if push.moved_n > 0 else ("rear", "front")
    return (
        f"the push runs {number(abs(push.above_mm), 2)} mm {side} the balance point: while it lasts, "
        f"{push.push_n:g} N of it move {number(abs(push.moved_n), 2)} N from the {eased} axle to the "
        f"{loaded} "
        "one (moments, textbook mechanics)"
    )


def _axle(facts: AxleFacts) -> _Words:
    name, axle, balance = facts.name, facts.axle, facts.balance
    speed = plain(balance.race_m_s)
    carried = f"of the {number(axle.load_n, 2)} N that the axle carries"
    if axle.load_n <= 0:
        sentence = f"The {name} axle carries nothing as the car is drawn, so any lift takes it off."
    elif axle.lightness is AxleLoadChange.PRESSED:
        sentence = f"At {speed} m/s the air presses the {name} down by {share(-axle.share)} {carried}."
    elif axle.lightness is AxleLoadChange.SMALL:
        sentence = f"At {speed} m/s the air takes {share(axle.share)} {carried}: it hardly changes."
    else:
        sentence = f"At {speed} m/s the air takes {share(axle.share)} {carried}: it {axle.lightness.value}."
    notes = [f"what it carries at rest with a spent cartridge, as it is at top speed: {facts.load_formula}"]
    if axle.leaves_m_s is not None:
        verb = "It does so" if axle.lightness is AxleLoadChange.LEAVES else "It would leave the ground"
        sentence += f" {verb} at {number(axle.leaves_m_s.value)} m/s."
        notes.append(f"speed at which lift equals load: {figure(axle.leaves_m_s, 'm/s')}")
    notes.append(f"in the tunnel at {plain(balance.tunnel_m_s)} m/s: {figure(axle.tunnel_n.interval(), 'N')}")
    title = f"{name.capitalize()} lift at race speed"
    return title, figure(axle.race_n.interval(), "N"), sentence, notes


# ---------------------------------------------------------------- rolling


def _rolling(facts: RollFacts) -> _Words:
    result = facts.result
    if result is None:
        return "Rolling friction", "not to be told", "No roll of this car can be as it is noted.", ()
    friction = result.estimate.value
    sentence = (
        f"Wheels and bearings hold back {number(friction, 2)} N for every newton the car weighs: on a level "
        f"floor it loses {number(friction * GRAVITY_M_S2, 2)} m/s in every second. Of the height's energy "
        "they "
        f"took {share(1.0 - result.air_share)}, the air {share(result.air_share)}."
    )
    return "Rolling friction", figure(result.estimate.interval()), sentence, list(_roll_notes(result))


def _roll_notes(result: RollResult) -> Iterator[str]:
    simple = sum(each.simple for each in result.rolls) / len(result.rolls)
    over = simple / result.estimate.value - 1.0
    yield (
        f"height over the whole level way gives {number(simple)}, {share(over)} more: it blames the wheels "
        "for "
        "what the air took as well"
    )
    if result.both_ways:
        fall = result.floor_fall
        falls = "" if fall is None else f": it falls by {number(abs(fall) * 1e3, 2)} mm in a metre"
        yield "rolled both ways and averaged, so the floor's slope falls out" + falls
    else:
        yield (
            f"rolled one way only: a floor that falls by {FLOOR_FALL * 1e3:g} mm in a metre is counted in "
            "the "
            "interval; rolling both ways takes that out"
        )
    worst = [f"{name} ({share(sd / result.estimate.value)})" for name, sd in result.causes[:3]]
    yield f"what makes it unsure, worst first: {', '.join(worst)}"
    if len(result.rolls) == 1:
        yield "one roll shows no spread of its own: four more would tell how well it repeats"


# ---------------------------------------------------------------- runs


def _time(facts: TimeFacts) -> _Words:
    series, length_m = facts.series, facts.length_m
    speed = length_m / series.mean
    sentence = f"{plain(length_m)} m in {number(series.mean, 4)} s is {number(speed)} m/s on average"
    sentence += f", {number(speed * _KMH)} km/h."
    if series.spread is not None:
        apart = _APART * max(series.spread, facts.step_s / 12**0.5)
        sentence += (
            f" Two cars must differ by more than {number(apart, 2)} s in one run before you can say which "
            "is faster."
        )
    notes = []
    if len(facts.lanes) > 1:
        lanes = ", ".join(str(lane) for lane in facts.lanes)
        notes.append(f"ran in lanes {lanes}, so any lane difference is included")
    if series.count == 1:
        notes.append("one run shows no spread of its own, so no range can be given")
    shown = figure(facts.interval, "s") if facts.interval else f"{number(series.mean, 4)} s, one run"
    return f"Time over {plain(length_m)} m", shown, sentence, notes


def _speed(facts: SpeedFacts) -> _Words:
    series, held = facts.series, facts.interval
    where = ", ".join(f"{plain(place)} m" for place in facts.places_m)
    sentence = f"At {where} the car did {number(series.mean)} m/s, {number(series.mean * _KMH)} km/h, "
    sentence += f"measured {times_words(series.count)}."
    alike = "the readings are all alike: the gate shows no finer"
    notes = () if held else (alike if series.count > 1 else "one reading shows no spread of its own",)
    shown = figure(held, "m/s") if held else f"{plain(series.mean)} m/s"
    return "Speed at the gate", shown, sentence, notes


def _gas(facts: GasFacts) -> _Words:
    sentence = (
        f"{number(facts.series.mean)} g of gas left the cartridge. Cartridges that hold more push longer, so "
        "weigh them before a race that matters."
    )
    note = "weigh the spent shell when it has come back to room temperature: frost weighs too"
    return "Gas used in a run", figure(facts.interval, "g"), sentence, (note,)
