"""What each part of a car costs in drag, before any test: a table with its sources, and the same as JSON."""

from __future__ import annotations

from typing import Final

from bodyshop.assembly import Car
from bodyshop.findings.figures import figure, number, plain, rounded, share
from bodyshop.findings.json_file import document, interval_data
from bodyshop.findings.model import CM2_PER_M2, scaled
from bodyshop.race.air import dynamic_pressure_pa
from bodyshop.race.drag import BUILD_UP_FORMULA, DragBuildUp, DragItem, build_up
from bodyshop.race.model import Air
from bodyshop.report.columns import clip, pad, printable, wrap
from bodyshop.report.ink import Ink
from bodyshop.report.plain_data import number as plain_number

__all__ = ["drag_json", "drag_text"]

_FORMAT: Final = "bodyshop-race-drag"
_PART, _AREA, _RANGE, _SHARE = 32, 7, 15, 7
_WHOLE: Final = 2 + _PART + _AREA + 2 * _RANGE + _SHARE
_HOW: Final = (
    "A coefficient between two ends may be anywhere between them: each part's spread is its width over "
    "the root "
    "of twelve (JCGM 100:2008, 4.3.7). Parts are taken as half tied to each other, as air that meets one "
    "cleanly mostly meets the next so too: a judgement. A tunnel's reading takes the place of all this."
)


def drag_text(car: Car, air: Air, speed_m_s: float, *, width: int, ink: Ink | None = None) -> str:
    """The table of a car at a speed, the dearest part first."""
    ink = Ink() if ink is None else ink
    built = build_up(car, air, speed_m_s)
    held = scaled(built.estimate.interval(), CM2_PER_M2)
    force = dynamic_pressure_pa(air, speed_m_s) * built.estimate.value
    title = f"{car.design.name}: drag area before any test {figure(held, 'cm²')}"
    lines = [ink.strong(line) for line in wrap(printable(title), width)]
    lines += wrap(
        f"At {plain(speed_m_s)} m/s the air holds it back by about {number(force, 2)} N. Over its "
        "frontal area of "
        f"{built.frontal_mm2 / 100:.1f} cm² that is a drag coefficient of {number(built.coefficient, 2)}.",
        width,
    )
    lines += ["", ink.strong(_row(width, "part", "area", "coefficient", "drag area", "share"))]
    lines.append(_row(width, "", "cm²", "low to high", "cm²", ""))
    parts = built.by_cost
    for item in parts:
        places = 3 if item.high < 0.1 else 2
        area = rounded(item.area_mm2 / 100.0, 1) if item.id != "interference" else ""
        ends = f"{rounded(item.low, places)} to {rounded(item.high, places)}"
        lines.append(_row(width, item.label, area, ends, _ends(item), share(built.share(item))))
    lines += [_row(width, "all at their ends", "", "", _ends(built), ""), ""]
    lines.append(ink.strong("Where the coefficients come from"))
    for item in parts:
        alike = [other.label for other in parts if (other.source, other.note) == (item.source, item.note)]
        if alike[0] == item.label:
            words = f"{' and '.join(alike)}: {item.source} [{item.confidence.value}]"
            words += f"; {item.note}" if item.note else ""
            lines += wrap(printable(words), width, "  - ", "    ")
    lines += ["", *wrap("R read in the source, C computed from such figures, M from memory.", width)]
    lines += wrap(f"How: {BUILD_UP_FORMULA}. {_HOW}", width)
    return "\n".join(lines) + "\n"


def _ends(of: DragItem | DragBuildUp) -> str:
    return f"{rounded(of.low_m2 * CM2_PER_M2, 1)} to {rounded(of.high_m2 * CM2_PER_M2, 1)}"


def _row(width: int, part: str, area: str, coefficient: str, drag: str, of_all: str) -> str:
    """A line of the table; on a narrow page without areas and coefficients."""
    cells = f"  {pad(clip(part, _PART), _PART)}"
    if width >= _WHOLE:
        cells += f"{area:>{_AREA}}{coefficient:>{_RANGE}}"
    cells += f"{drag:>{_RANGE}}{of_all:>{_SHARE}}"
    return cells.replace("\u00a0", " ").rstrip()


def drag_json(car: Car, air: Air, speed_m_s: float) -> str:
    """The same for other programs."""
    built = build_up(car, air, speed_m_s)
    return document(
        _FORMAT,
        {
            "name": car.design.name,
            "fingerprint": car.design.fingerprint,
            "speed_m_s": plain_number(speed_m_s),
            "reynolds": plain_number(built.reynolds),
            "frontal_cm2": plain_number(built.frontal_mm2 / 100.0),
            "drag_coefficient": plain_number(built.coefficient),
            "drag_area_cm2": interval_data(scaled(built.estimate.interval(), CM2_PER_M2)),
            "ends_cm2": {
                "low": plain_number(built.low_m2 * CM2_PER_M2),
                "high": plain_number(built.high_m2 * CM2_PER_M2),
            },
            "parts": [
                {
                    "id": item.id,
                    "label": item.label,
                    "area_cm2": plain_number(item.area_mm2 / 100.0),
                    "coefficient": {"low": plain_number(item.low), "high": plain_number(item.high)},
                    "drag_area_cm2": {
                        "low": plain_number(item.low_m2 * CM2_PER_M2),
                        "middle": plain_number(item.cda_m2 * CM2_PER_M2),
                        "high": plain_number(item.high_m2 * CM2_PER_M2),
                    },
                    "share": plain_number(built.share(item)),
                    "source": item.source,
                    "confidence": item.confidence.value,
                    "note": item.note,
                }
                for item in built.by_cost
            ],
        },
    )
