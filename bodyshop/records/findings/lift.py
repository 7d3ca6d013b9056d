"""What the lift balance means: which axle grows light, and at what speed it would leave the ground."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bodyshop.foundation.statistics import Repeats, repeats
from bodyshop.physics.lift import (
    LIFT_FORMULA,
    LIFT_SOURCE,
    LOAD_FORMULA,
    REAR_LOAD_FORMULA,
    AxleLift,
    AxleLoads,
    LiftBalance,
    lift_balance,
)
from bodyshop.physics.model import Basis, Estimate, Law
from bodyshop.physics.tunnel import SPEED_SHARE, Force, net_force
from bodyshop.records.book.model import Entry, TunnelReading
from bodyshop.records.findings.facts import AxleFacts, BalanceFacts, PushMoment, Question, UnloadedFacts
from bodyshop.records.findings.measured_priors import usable_tunnel
from bodyshop.records.findings.model import Finding, FindingSubject

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
    stance: AxleLoads | None,
    race_m_s: float,
    why_not: str = "",
    push: PushMoment | None = None,
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
        subject=FindingSubject.LIFT,
        facts=UnloadedFacts(front, rear, speed, why_not),
        formula=LIFT_FORMULA,
        source=LIFT_SOURCE,
        records=records,
    )


def _balance(
    balance: LiftBalance, records: tuple[int, ...], others: Sequence[float], push: PushMoment | None
) -> Finding:
    front, rear = balance.front.tunnel_n, balance.rear.tunnel_n
    gap = rear.value - front.value
    return Finding(
        id="lift.balance",
        subject=FindingSubject.LIFT,
        facts=BalanceFacts(balance, tuple(others), push),
        formula="rear lift - front lift",
        source=LIFT_SOURCE,
        value=gap,
        unit="N",
        interval=Estimate(
            gap, math.hypot(front.sd, rear.sd), "difference", Basis.MEASURED, Law.PLAIN
        ).interval(),
        doubts=tuple(Question(words) for words in balance.doubts),
        records=records,
    )


def _axle(
    name: str, axle: AxleLift, balance: LiftBalance, series: Repeats, records: tuple[int, ...]
) -> Finding:
    held = axle.race_n.interval()
    formula = LOAD_FORMULA if name == "front" else REAR_LOAD_FORMULA
    return Finding(
        id=f"lift.{name}",
        subject=FindingSubject.LIFT,
        facts=AxleFacts(name, axle, balance, formula),
        formula=LIFT_FORMULA,
        source=LIFT_SOURCE,
        value=held.value,
        unit="N",
        interval=held,
        repeats=series,
        repeats_unit="N",
        records=records,
    )
