"""What the airflow and the drag balance mean: the drag area, and what it comes to at race speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.car.assembly import Car
from bodyshop.foundation.statistics import Repeats
from bodyshop.physics.air import dynamic_pressure_pa
from bodyshop.physics.drag import BUILD_UP_FORMULA, BUILD_UP_SOURCE, DragBuildUp, build_up
from bodyshop.physics.tunnel import TUNNEL_FORMULA, TUNNEL_SOURCE, TunnelDrag
from bodyshop.records.book.model import AirflowSeen, Entry, Flow, TunnelReading
from bodyshop.records.findings.facts import AirflowFacts, BuildUpFacts, Question, TunnelFacts
from bodyshop.records.findings.measured_priors import air_of, drag_from, usable_tunnel
from bodyshop.records.findings.model import CM2_PER_M2, Finding, FindingSubject, scaled

__all__ = ["airflow_findings", "drag_findings"]


def airflow_findings(entries: Sequence[Entry[AirflowSeen]]) -> Iterator[Finding]:
    """What threads or smoke showed, spot by spot."""
    if not entries:
        return
    seen = {flow: tuple(e.record.where for e in entries if e.record.seen is flow) for flow in Flow}
    yield Finding(
        id="airflow",
        subject=FindingSubject.AIRFLOW,
        facts=AirflowFacts(seen),
        formula="threads or smoke, by eye",
        source="flow visualisation, any textbook on fluid mechanics",
        records=tuple(entry.id for entry in entries),
    )


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
    return Finding(
        id="drag.estimate",
        subject=FindingSubject.DRAG,
        facts=BuildUpFacts(built, race_m_s),
        formula=BUILD_UP_FORMULA,
        source=BUILD_UP_SOURCE,
        value=held.value,
        unit="cm2",
        interval=held,
    )


def _measured(
    drag: TunnelDrag, entries: Sequence[Entry[TunnelReading]], built: DragBuildUp | None, race_m_s: float
) -> Finding:
    held = scaled(drag.estimate.interval(), CM2_PER_M2)
    last = entries[-1].record
    air = air_of(last.temperature_c, last.pressure_hpa, last.humidity_percent)
    force = dynamic_pressure_pa(air, race_m_s) * drag.estimate.value
    return Finding(
        id="drag.tunnel",
        subject=FindingSubject.DRAG,
        facts=TunnelFacts(drag, tuple(entries), built, air, race_m_s, force),
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
        doubts=tuple(Question(words) for words in drag.doubts),
        records=tuple(entry.id for entry in entries),
    )
