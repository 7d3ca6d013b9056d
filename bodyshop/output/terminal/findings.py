"""What records mean, and what each part costs in drag, for a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, pad, printable, wrap
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.output.words.figures import (
    figure,
    number,
    places_for,
    plain,
    range_words,
    rounded,
    series_words,
    share,
    times_words,
)
from bodyshop.output.words.findings import finding_words, missing_words
from bodyshop.physics.air import dynamic_pressure_pa
from bodyshop.physics.drag import BUILD_UP_FORMULA, DragBuildUp, DragItem, build_up
from bodyshop.physics.model import Air
from bodyshop.records.findings.classruns import BookFit
from bodyshop.records.findings.model import CM2_PER_M2, CarMeaning, Finding, FindingSubject, scaled
from bodyshop.records.findings.prediction_check import CarComparison, Comparison, FreezeResult

__all__ = ["comparison_text", "drag_text", "fit_text", "frozen_text", "meaning_text"]


_PART, _AREA, _RANGE, _SHARE = 32, 7, 15, 7
_WHOLE: Final = 2 + _PART + _AREA + 2 * _RANGE + _SHARE
_HOW: Final = (
    "A coefficient between two ends may be anywhere between them: each part's spread is its width over "
    "the root "
    "of twelve (JCGM 100:2008, 4.3.7). Parts are taken as half tied to each other, as air that meets one "
    "cleanly mostly meets the next so too: a judgement. A tunnel's reading takes the place of all this."
)


def drag_text(car: Car, air: Air, speed_m_s: float, *, width: int, ink: TextStyle | None = None) -> str:
    """The table of a car at a speed, the dearest part first."""
    ink = TextStyle() if ink is None else ink
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


_HEADINGS = {
    FindingSubject.MASS: "On the balance",
    FindingSubject.AIRFLOW: "In the airflow",
    FindingSubject.DRAG: "Drag",
    FindingSubject.LIFT: "Lift",
    FindingSubject.ROLLING: "Rolling",
    FindingSubject.RUNS: "On the track",
}
_IN_19_OF_20 = "Ranges hold the true value in 19 cases of 20, as far as is known."


def meaning_text(told: CarMeaning, *, width: int, ink: TextStyle | None = None, short: bool = False) -> str:
    """All findings of a car; `short` leaves out readings, formulas and notes."""
    ink = TextStyle() if ink is None else ink
    bench = f", {told.bench}" if told.bench else ""
    lines = [ink.strong(clip(printable(f"{told.car}{bench}: what its measurements mean"), width)), ""]
    for subject, findings in groupby(told.findings, key=lambda finding: finding.subject):
        lines.append(ink.strong(_HEADINGS[subject]))
        how = ""
        for finding in findings:
            lines += _finding(finding, width, ink, short=short)
            told_how = f"How: {finding.formula} ({finding.source})."
            if told_how != how and not short:  # once for findings that were found alike
                lines += _coloured(ink.quiet, wrap(printable(told_how), width, "    ", "         "))
            how = told_how
            lines.append("")
    if told.missing:
        lines.append(ink.strong("What to measure next"))
        for missing in missing_words(told):
            lines += wrap(printable(missing), width, "  - ", "    ")
        lines.append("")
    if told.doubts:
        words = "One reading is" if told.doubts == 1 else f"{told.doubts} readings are"
        lines += [*_coloured(ink.near, wrap(f"{words} questioned above.", width)), ""]
    lines += wrap(_IN_19_OF_20, width)
    return "\n".join(lines) + "\n"


def _finding(finding: Finding, width: int, ink: TextStyle, *, short: bool) -> Iterable[str]:
    words = finding_words(finding)
    yield from (ink.strong(line) for line in wrap(f"{words.title}: {words.figure}", width, "  ", "    "))
    yield from wrap(printable(words.sentence), width, "    ")
    for doubt in words.doubts:
        yield from _coloured(ink.near, wrap(printable(doubt), width, "    ? ", "      "))
    if short:
        return
    if finding.repeats is not None:
        yield from wrap(capital(series_words(finding.repeats, finding.repeats_unit)) + ".", width, "    ")
    for note in words.notes:
        yield from _coloured(ink.quiet, wrap(printable(note), width, "    - ", "      "))


def _coloured(colour: object, lines: Iterable[str]) -> list[str]:
    return [colour(line) for line in lines]  # type: ignore[operator]


# ---------------------------------------------------------------- frozen and compared


def frozen_text(frozen: FreezeResult, *, width: int, ink: TextStyle | None = None) -> str:
    """What was frozen, fastest first."""
    ink = TextStyle() if ink is None else ink
    entries = sorted(frozen.entries, key=lambda entry: entry.record.time_s)
    count = len(entries)
    lines = [
        ink.strong(f"{number_words(count, 'prediction')} frozen, fastest first"),
        "",
        f"  {pad('car', 22)} {'time s':>7}  {pad('95 % range', 16)} {'record':>6}",
    ]
    for entry in entries:
        record = entry.record
        ends = f"{rounded(record.time_low_s, 3)} to {rounded(record.time_high_s, 3)}"
        lines.append(
            f"  {pad(clip(printable(record.car), 22), 22)} {rounded(record.time_s, 3):>7}  {pad(ends, 16)} "
            f"{entry.id:>6}"
        )
    lines.append("")
    for name, why in frozen.passed_over:
        lines += _coloured(ink.near, wrap(printable(f"{name} was left out: {why}"), width, "  ? ", "    "))
    lines += wrap(
        "They stay as they are. After the race, bodyshop race compare holds them against the times.", width
    )
    return "\n".join(lines) + "\n"


def comparison_text(found: Comparison, *, width: int, ink: TextStyle | None = None) -> str:
    """Predictions against times, car by car, and what it comes to."""
    ink = TextStyle() if ink is None else ink
    lines = [ink.strong("Frozen predictions against the times"), ""]
    lines.append(
        f"  {pad('car', 16)} {'predicted s':>11}  {pad('95 % range', 15)}{'runs':>5} {'mean s':>7}  error"
    )
    for car in found.cars:
        lines += _car_lines(car, ink)
    lines.append("")
    for sentence in comparison_sentences(found):
        lines += wrap(sentence, width, "  ", "  ")
    if found.passed_over:
        lines.append("")
        for why in found.passed_over:
            lines += _coloured(ink.near, wrap(printable(f"Left out: {why}"), width, "  ? ", "    "))
    lines += ["", *wrap(_HOW_COMPARED, width)]
    return "\n".join(lines) + "\n"


_TIMER_PLACES = 3
"""Decimals of a second that a timing gate shows."""

_HOW_COMPARED = (
    "Error is the mean of a car's runs less its prediction. Order: Kendall's tau-b, with the chance of "
    "one as "
    "good by luck. Shares with Wilson's interval (1927)."
)


def _car_lines(car: CarComparison, ink: TextStyle) -> Iterable[str]:
    record = car.prediction.record
    ends = f"{rounded(record.time_low_s, 3)} to {rounded(record.time_high_s, 3)}"
    mark = "" if car.mean_inside else "  outside"
    line = (
        f"  {pad(clip(printable(record.car), 16), 16)} {rounded(record.time_s, 3):>11}  {pad(ends, 15)}"
        f"{car.times.count:>5} {rounded(car.times.mean, 3):>7}  {car.error_s:+.3f}{mark}"
    )
    yield line if car.mean_inside else ink.near(line)


def comparison_sentences(found: Comparison) -> list[str]:
    """What the comparison comes to, in sentences."""
    cars = len(found.cars)
    told = [f"The predictions were off by {number(found.typical_s, 2)} s on the whole."]
    if found.bias is not None:
        # A wide range must not round the error itself away: two digits of it, down to a thousandth.
        wide = places_for(0.5 * (found.bias.high - found.bias.low), found.bias_s)
        places = max(wide, min(places_for(found.bias_s), _TIMER_PLACES))
        size = abs(found.bias_s)
        off = f"{rounded(size, places)} s {'slower' if found.bias_s > 0 else 'faster'} than"
        if size < 0.5 * 10.0**-_TIMER_PLACES:
            off = "as fast as"
        words = f"On average cars were {off} predicted (error {range_words(found.bias, places)} s)"
        clear = found.bias.low > 0 or found.bias.high < 0
        told.append(
            words + (": that is no accident, fit the class's runs." if clear else ": that may be chance.")
        )
    if found.order is None:
        told.append(
            "With fewer than three cars, or all alike, an order says nothing: chance gets two cars right "
            "every "
            "second time."
        )
    else:
        told.append(
            f"Order of {cars} cars: tau {rounded(found.order.kendall, 2)} (Spearman's rho "
            f"{rounded(found.order.spearman, 2)}); 1 is all right, 0 is guessing. Luck alone does as well "
            f"{_chance(found.order.chance)}."
        )
        told.append(
            "The car said to win had the best mean time."
            if found.winner_told
            else "Another car than the one said to win had the best mean time."
        )
    inside = round(found.cars_inside.value * cars)
    if cars == 1:
        lies = "lies inside" if inside else "does not lie inside"
        told.append(f"The one car {lies} its range, where {share(found.confidence)} of many should.")
    else:
        told.append(
            f"{inside} of {cars} cars lie inside their range, where {share(found.confidence)} should; so few "
            f"cars only tell that the true share is {share(found.cars_inside.low)} to "
            f"{share(found.cars_inside.high)}. Of single runs, {share(found.runs_inside.value)} lie inside."
        )
    return told


def _chance(chance: float) -> str:
    if chance >= 0.095:
        return f"{times_words(round(chance * 10))} in 10"
    if chance >= 0.0095:
        return f"{times_words(round(chance * 100))} in 100"
    return "less than once in 100"


# ---------------------------------------------------------------- the class's fit


def fit_text(fit: BookFit, *, width: int, ink: TextStyle | None = None, stored: int | None = None) -> str:
    """What the class's runs tell of its cartridges."""
    ink = TextStyle() if ink is None else ink
    found = fit.fitted
    runs = f"{number_words(found.runs, 'run')} of {number_words(found.cars, 'car')}"
    lines = [ink.strong(f"The class's cartridges, from {runs}"), ""]
    rows = [
        ("impulse that reaches a car", figure(found.impulse_ns.interval(), "N s")),
        ("measured push ÷ calculated push", figure(found.impulse_factor.interval())),
        ("  before the fit", figure(fit.prior.impulse_factor.interval())),
        ("diameter of the puncture", figure(found.hole_mm.interval(), "mm")),
        ("  before the fit", figure(fit.prior.hole_mm.interval(), "mm")),
        ("correlation of the two", rounded(found.coupling, 2)),
        ("times scatter about the fit", f"{rounded(found.scatter_s * 1e3, 1)} ms"),
    ]
    column = max(len(name) for name, _ in rows)
    for name, value in rows:
        lines += wrap(value, width, f"  {pad(name, column)}  ")
    lines.append("")
    for sentence in fit_sentences(fit):
        lines += wrap(sentence, width, "  ", "  ")
    for far in found.far:
        entry = fit.entries[far.run]
        words = (
            f"Run {entry.id} of {entry.record.car} is {number(abs(far.error_s), 2)} s "
            f"{'slower' if far.error_s > 0 else 'faster'} than the others suggest, "
            f"{number(far.deviations, 2)} standard deviations. Was it written down correctly? If not, "
            "correct or strike it, and fit again."
        )
        lines += _coloured(ink.near, wrap(printable(words), width, "  ? ", "    "))
    for why in fit.passed_over:
        lines += _coloured(ink.near, wrap(printable(f"Left out: {why}"), width, "  ? ", "    "))
    lines.append("")
    if stored is not None:
        lines += wrap(f"Kept in the book as record {stored}; predictions with this book use it.", width)
    else:
        lines += wrap("Not kept in the book.", width)
    return "\n".join(lines) + "\n"


def fit_sentences(fit: BookFit) -> list[str]:
    """What the fit comes to, in sentences."""
    found = fit.fitted
    told = [
        (
            "Drag, friction and masses are kept as they were known before: race times tell almost nothing "
            "about them, and their spread is in the ranges above."
        )
    ]
    if found.hole_told:
        told.append("The runs tell the puncture as well.")
    elif fit.gates:
        told.append("Even with the gates the runs hardly tell the puncture: it stays near what it was.")
    else:
        told.append(
            "Times at the finish alone cannot tell a strong push from a quick one: the puncture stays "
            "what it "
            "was before. A gate near 5 m would tell them apart."
        )
    if found.birge > 1.0 and found.times > 3:
        told.append(
            f"The times scatter {rounded(found.birge, 1)} times as much as was expected, so all ranges are "
            "widened by that."
        )
    return told
