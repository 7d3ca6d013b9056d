"""What the lift balance means: which axle grows light, and at what speed it would leave the ground."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bodyshop.findings.figures import figure, number, plain, share
from bodyshop.findings.known import usable_tunnel
from bodyshop.findings.model import Finding, Subject
from bodyshop.race.lift import (
    LIFT_FORMULA,
    LIFT_SOURCE,
    LOAD_FORMULA,
    PRACTICE,
    REAR_LOAD_FORMULA,
    AxleLift,
    LiftBalance,
    Lightness,
    Stance,
    lift_balance,
)
from bodyshop.race.model import Basis, Estimate, Law
from bodyshop.race.tunnel import SPEED_SHARE, Force, net_force
from bodyshop.repeats import Repeats, repeats
from bodyshop.trials.model import Entry, TunnelReading

__all__ = ["lift_findings", "same_speed"]

_SAME_SPEED = 0.02


def same_speed(entries: Sequence[Entry[TunnelReading]]) -> list[list[Entry[TunnelReading]]]:
    """Readings at one tunnel speed together (within a fiftieth), the slowest first."""
    groups: list[list[Entry[TunnelReading]]] = []
    for entry in sorted(entries, key=lambda each: (each.record.speed_m_s, each.at)):
        if groups and entry.record.speed_m_s <= (1 + _SAME_SPEED) * groups[-1][0].record.speed_m_s:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def lift_findings(
    entries: Sequence[Entry[TunnelReading]],
    stance: Stance | None,
    race_m_s: float,
    why_not: str = "",
    push: str = "",
) -> Iterator[Finding]:
    """Both axles at race speed, scaled from the fastest speed at which both were read. `push` says what the
    cartridge's push does to the axles.
    """
    read = [
        entry
        for entry in usable_tunnel(entries)
        if entry.record.front_lift_n is not None and entry.record.rear_lift_n is not None
    ]
    if not read:
        return
    groups = same_speed(read)
    fastest = groups[-1]
    speed = math.fsum(entry.record.speed_m_s for entry in fastest) / len(fastest)
    front, front_series = _lift(fastest, "front")
    rear, rear_series = _lift(fastest, "rear")
    records = tuple(entry.id for entry in fastest)
    if stance is None or stance.wheelbase_mm <= 0:
        yield _unloaded(front, rear, speed, records, why_not)
        return
    balance = lift_balance(front, rear, speed, race_m_s, stance)
    others = [math.fsum(entry.record.speed_m_s for entry in group) / len(group) for group in groups[:-1]]
    yield _balance(balance, records, others, push)
    yield _axle("front", balance.front, balance, front_series, records)
    yield _axle("rear", balance.rear, balance, rear_series, records)


def _force(record: TunnelReading, end: str) -> Force:
    """The lift of one end, `front` or `rear`, as it was shown."""

    def part(name: str) -> float | None:
        value: float | None = getattr(record, f"{end}_{name}_n")
        return value

    return Force(
        part("lift") or 0.0, part("zero") or 0.0, part("lowest"), part("highest"), record.resolution_n
    )


def _lift(entries: Sequence[Entry[TunnelReading]], end: str) -> tuple[Estimate, Repeats]:
    """The mean lift of readings at one speed; what the speed is not known to is in it."""
    forces = [net_force(_force(entry.record, end)) for entry in entries]
    step = max(entry.record.resolution_n for entry in entries)
    series = repeats([force.value for force in forces], step)
    own = math.sqrt(sum(force.sd**2 for force in forces)) / len(forces)
    scatter = own if series.sd is None else max(series.sd, own)
    sd = math.hypot(scatter, 2.0 * SPEED_SHARE * series.mean)
    return Estimate(series.mean, sd, "lift balance less zero", Basis.MEASURED, Law.PLAIN), series


def _unloaded(
    front: Estimate, rear: Estimate, speed: float, records: tuple[int, ...], why_not: str
) -> Finding:
    return Finding(
        id="lift.balance",
        subject=Subject.LIFT,
        title="Lift in the tunnel",
        figure=f"front {figure(front.interval(), 'N')}, rear {figure(rear.interval(), 'N')}",
        sentence=f"At {plain(speed)} m/s. What each axle carries is not known"
        + (f" ({why_not})" if why_not else "")
        + ", so nobody can say yet which one grows light.",
        formula=LIFT_FORMULA,
        source=LIFT_SOURCE,
        notes=(f"wanted: {PRACTICE}",),
        records=records,
    )


def _balance(balance: LiftBalance, records: tuple[int, ...], others: Sequence[float], push: str) -> Finding:
    front, rear = balance.front.tunnel_n, balance.rear.tunnel_n
    gap = rear.value - front.value
    if balance.by_practice:
        sentence = "Front and rear are about equal, small, and not negative: as it is wanted."
    else:
        faults = []
        if not balance.equal:
            more = "rear" if gap > 0 else "front"
            faults.append(f"the {more} is lifted more than the {'front' if more == 'rear' else 'rear'}")
        if not balance.small:
            faults.append("the lift is not small beside what the axles carry")
        if balance.negative:
            faults.append("an axle is pressed down, which costs drag and rolls harder")
        sentence = f"{faults[0][:1].upper()}{faults[0][1:]}"
        sentence += "".join(f", and {fault}" for fault in faults[1:]) + "."
    notes = [f"wanted: {PRACTICE}", *([push] if push else [])]
    if others:
        listed = ", ".join(plain(speed) for speed in others)
        notes.append(
            f"also read at {listed} m/s; the fastest reading is scaled, as it has the least far to go"
        )
    return Finding(
        id="lift.balance",
        subject=Subject.LIFT,
        title="Lift, front against rear",
        figure=f"rear over front {number(gap, 2)} N at {plain(balance.tunnel_m_s)} m/s",
        sentence=sentence,
        formula="rear lift - front lift",
        source=LIFT_SOURCE,
        value=gap,
        unit="N",
        interval=Estimate(
            gap, math.hypot(front.sd, rear.sd), "difference", Basis.MEASURED, Law.PLAIN
        ).interval(),
        notes=tuple(notes),
        doubts=balance.doubts,
        records=records,
    )


def _axle(
    name: str, axle: AxleLift, balance: LiftBalance, series: Repeats, records: tuple[int, ...]
) -> Finding:
    held = axle.race_n.interval()
    speed = plain(balance.race_m_s)
    carried = f"of the {number(axle.load_n, 2)} N that the axle carries"
    if axle.load_n <= 0:
        sentence = f"The {name} axle carries nothing as the car is drawn, so any lift takes it off."
    elif axle.lightness is Lightness.PRESSED:
        sentence = f"At {speed} m/s the air presses the {name} down by {share(-axle.share)} {carried}."
    elif axle.lightness is Lightness.SMALL:
        sentence = f"At {speed} m/s the air takes {share(axle.share)} {carried}: it hardly changes."
    else:
        sentence = f"At {speed} m/s the air takes {share(axle.share)} {carried}: it {axle.lightness.value}."
    formula = LOAD_FORMULA if name == "front" else REAR_LOAD_FORMULA
    notes = [f"what it carries at rest with a spent cartridge, as it is at top speed: {formula}"]
    if axle.leaves_m_s is not None:
        leaving = figure(axle.leaves_m_s, "m/s")
        verb = "It does so" if axle.lightness is Lightness.LEAVES else "It would leave the ground"
        sentence += f" {verb} at {number(axle.leaves_m_s.value)} m/s."
        notes.append(f"speed at which lift equals load: {leaving}")
    notes.append(f"in the tunnel at {plain(balance.tunnel_m_s)} m/s: {figure(axle.tunnel_n.interval(), 'N')}")
    return Finding(
        id=f"lift.{name}",
        subject=Subject.LIFT,
        title=f"{name.capitalize()} lift at race speed",
        figure=figure(held, "N"),
        sentence=sentence,
        formula=LIFT_FORMULA,
        source=LIFT_SOURCE,
        value=held.value,
        unit="N",
        interval=held,
        repeats=series,
        repeats_unit="N",
        notes=tuple(notes),
        records=records,
    )
