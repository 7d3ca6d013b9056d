"""What the airflow and the drag balance mean: the drag area, and what it comes to at race speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.assembly import Car
from bodyshop.findings.figures import CM2_PER_M2, figure, number, plain, scaled, share
from bodyshop.findings.known import air_of, drag_from, usable_tunnel
from bodyshop.findings.model import Finding, Subject
from bodyshop.race.air import DENSITY_FORMULA, DENSITY_SOURCE, dynamic_pressure_pa
from bodyshop.race.drag import BUILD_UP_FORMULA, BUILD_UP_SOURCE, DragBuildUp, build_up
from bodyshop.race.model import Interval
from bodyshop.race.tunnel import TUNNEL_FORMULA, TUNNEL_SOURCE, TunnelDrag
from bodyshop.repeats import Repeats
from bodyshop.trials.instruments import force_text
from bodyshop.trials.model import AirflowSeen, Entry, Flow, TunnelReading

__all__ = ["airflow_findings", "drag_findings"]

_PLATE = 1.17
"""Drag coefficient of a square plate set across the flow (Aeronautical Engineer's Data Book, fig. 5.13b)."""

_SPEEDS_DIFFER = 1.15


def airflow_findings(entries: Sequence[Entry[AirflowSeen]]) -> Iterator[Finding]:
    """What threads or smoke showed, spot by spot."""
    if not entries:
        return
    spots = {flow: [e.record.where for e in entries if e.record.seen is flow] for flow in Flow}
    words = []
    if spots[Flow.REVERSED]:
        words.append(
            f"Where the air ran backwards ({_places(spots[Flow.REVERSED])}) it has left the car, and what it "
            "leaves behind pulls the car back: easing the shape ahead of it is worth trying first."
        )
    if spots[Flow.DISTURBED]:
        words.append(
            f"Where it was unsteady ({_places(spots[Flow.DISTURBED])}) something ahead stirs it up, or it is "
            "about to leave."
        )
    if spots[Flow.ATTACHED]:
        where = "elsewhere " if words else ""
        words.append(f"It lay along the car {where}({_places(spots[Flow.ATTACHED])}).")
    counted = [f"{len(spots[flow])} {flow.value}" for flow in Flow if spots[flow]]
    yield Finding(
        id="airflow",
        subject=Subject.AIRFLOW,
        title="Airflow seen",
        figure=", ".join(counted),
        sentence=" ".join(words),
        formula="threads or smoke, by eye",
        source="flow visualisation, any textbook on fluid mechanics",
        records=tuple(entry.id for entry in entries),
    )


def _places(spots: Sequence[str]) -> str:
    known = list(dict.fromkeys(spots))
    shown = known[:6]
    return ", ".join(shown) + (f" and {len(known) - 6} more places" if len(known) > 6 else "")


def drag_findings(
    entries: Sequence[Entry[TunnelReading]],
    design: Car | None,
    race_m_s: float,
    section_mm2: float | None = None,
) -> Iterator[Finding]:
    """The drag area before any test, and as the tunnel has it."""
    built = None if design is None else build_up(design)
    if built is not None:
        yield _before(built, race_m_s)
    drag = drag_from(entries, design, section_mm2)
    usable = usable_tunnel(entries)
    if drag is not None:
        yield _measured(drag, usable, built, race_m_s)


def _before(built: DragBuildUp, race_m_s: float) -> Finding:
    held = scaled(built.estimate.interval(), CM2_PER_M2)
    parts = sorted(built.items, key=lambda item: -item.cda_m2)
    listed = [f"{item.label} {share(built.share(item))}" for item in parts]
    return Finding(
        id="drag.estimate",
        subject=Subject.DRAG,
        title="Drag area before any test",
        figure=figure(held, "cm²"),
        sentence=f"From the drawing alone, with published figures for shapes like its parts. Most of it: "
        f"{listed[0]}, then {', '.join(listed[1:3])}. A tunnel narrows it.",
        formula=BUILD_UP_FORMULA,
        source=BUILD_UP_SOURCE,
        value=held.value,
        unit="cm2",
        interval=held,
        notes=(
            f"all parts: {', '.join(listed)}",
            (
                f"over the frontal area of {built.frontal_mm2 / 100:.1f} cm² this is a drag coefficient of "
                f"{number(built.coefficient, 2)}"
            ),
            (
                f"at {plain(race_m_s)} m/s in air of 15 °C it holds the car back by "
                f"{number(0.5 * 1.225 * race_m_s**2 * built.estimate.value, 2)} N"
            ),
        ),
    )


def _measured(
    drag: TunnelDrag, entries: Sequence[Entry[TunnelReading]], built: DragBuildUp | None, race_m_s: float
) -> Finding:
    held = scaled(drag.estimate.interval(), CM2_PER_M2)
    last = entries[-1].record
    air = air_of(last.temperature_c, last.pressure_hpa, last.humidity_percent)
    force = dynamic_pressure_pa(air, race_m_s) * drag.estimate.value
    sentence = "The tunnel's readings come to no drag at all, which cannot be."
    if drag.estimate.value > 0:
        sentence = (
            f"The air holds this car back as much as a square board of {number(held.value / _PLATE, 2)} "
            "cm² set "
            f"across it: {number(force, 2)} N at {plain(race_m_s)} m/s. Twice the speed is four times that."
        )
        if built is not None:
            sentence += _against(held, scaled(built.estimate.interval(), CM2_PER_M2))
    notes = [
        (
            f"air of {number(air.density_kg_m3.value, 4)} kg/m³ ({air.density_kg_m3.source}); "
            f"{DENSITY_FORMULA} ({DENSITY_SOURCE})"
        ),
        "the tunnel's speed is taken as known to 3 %, and it counts twice: it does not average out",
    ]
    if built is not None and drag.estimate.value > 0:
        notes.append(
            f"over the frontal area of {built.frontal_mm2 / 100:.1f} cm² this is a drag coefficient of "
            f"{number(drag.estimate.value * 1e6 / built.frontal_mm2, 2)}"
        )
    if drag.filled is not None:
        notes.append(
            f"the car fills {share(drag.filled)} of the tunnel, which makes the air round it faster: in "
            "a closed "
            f"tunnel every reading is {share(drag.lowered_by)} too high, and this is taken off (Barlow, "
            "Rae and "
            "Pope 1999, from memory)"
        )
    else:
        notes.append(
            "the tunnel's section is not known, so nothing is taken off for how much of it the car fills"
        )
    notes.append(_shown(entries))
    notes += _speeds(entries, drag.series)
    if drag.series.count == 1:
        notes.append("one reading shows no spread of its own: two more would tell how well it repeats")
    return Finding(
        id="drag.tunnel",
        subject=Subject.DRAG,
        title="Drag area in the tunnel",
        figure=figure(held, "cm²"),
        sentence=sentence,
        formula=TUNNEL_FORMULA,
        source=TUNNEL_SOURCE,
        value=held.value,
        unit="cm2",
        interval=held,
        repeats=Repeats(
            tuple(value * CM2_PER_M2 for value in drag.series.values),
            drag.series.mean * CM2_PER_M2,
            None if drag.series.spread is None else drag.series.spread * CM2_PER_M2,
        ),
        repeats_unit="cm²",
        notes=tuple(notes),
        doubts=drag.doubts,
        records=tuple(entry.id for entry in entries),
    )


def _against(measured: Interval, before: Interval) -> str:
    if measured.high < before.low:
        return " That is less than its drawing let hope: a good car, or a reading to take again."
    if measured.low > before.high:
        return " That is more than its drawing let fear: look for air that runs backwards, or read again."
    return " That agrees with what its drawing let expect, and is surer."


def _shown(entries: Sequence[Entry[TunnelReading]]) -> str:
    """What the balance showed less its zero, in its own unit."""
    listed = [
        f"{force_text(entry.record.net_drag_n, entry.record.unit)} at {plain(entry.record.speed_m_s)} m/s"
        for entry in entries[:12]
    ]
    more = f" and {len(entries) - 12} more" if len(entries) > 12 else ""
    return f"reading less zero: {', '.join(listed)}{more}"


def _speeds(entries: Sequence[Entry[TunnelReading]], series: Repeats) -> list[str]:
    """Whether the drag area stays the same from slow to fast, as it nearly should."""
    speeds = [entry.record.speed_m_s for entry in entries]
    slow, fast = min(speeds), max(speeds)
    if fast < _SPEEDS_DIFFER * slow:
        return []
    ends = []
    for limit in (slow, fast):
        near = [v for v, s in zip(series.values, speeds, strict=True) if abs(s / limit - 1.0) < 0.05]
        ends.append(sum(near) / len(near))
    change = ends[1] / ends[0] - 1.0 if ends[0] else 0.0
    words = f"read at {plain(slow)} to {plain(fast)} m/s: from slow to fast the drag area changes by "
    words += share(change)
    if abs(change) > 0.15:
        words += ". It should hardly change: at low speed the balance's own friction may show"
    return [words]
