"""The class's runs gathered from the book and fitted: what its cartridges really do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.physics.cartridge import check_temperature
from bodyshop.physics.classfit import ClassFitResult, TimedRun, fit_class
from bodyshop.physics.factors import Factor
from bodyshop.physics.model import Basis, CartridgeNumbers, Estimate, Law
from bodyshop.physics.priors import car_numbers, cartridge_numbers
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import ClassFit, Entry, RunEnd, TrackRun
from bodyshop.records.findings.cars import book_car, fit_record
from bodyshop.records.findings.measured_priors import air_of, believed, priors_from_book
from bodyshop.rules.checking import RulebookCache

__all__ = ["BookFit", "fit_book", "store_fit", "timed_places", "timing_sd", "usable_runs"]

_STEADY_S = 0.002
"""How evenly a timer starts and stops, one standard deviation. Common practice, no published source."""

_WARMTH_SD_C = 0.5
_WEIGHED_SD_G = 0.06
_FAR = 4.0
_SLOWEST_M_S, _FASTEST_M_S = 0.5, 100.0
"""Between two timed places; published ones lie from 5 to 25 m/s."""


@dataclass(frozen=True, slots=True)
class BookFit:
    """A fit of the runs of a book. `entries` are the runs in the order of the fit; `passed_over` says in
    clauses which others were left out, and why.
    """

    fitted: ClassFitResult
    entries: tuple[Entry[TrackRun], ...]
    prior: CartridgeNumbers
    gates: bool
    passed_over: tuple[str, ...]


def usable_runs(book: Book, car: str | None = None) -> list[Entry[TrackRun]]:
    """Runs that were timed to the finish over a known length; one that names none was over the event's."""
    track = book.event.record.track_mm
    runs = [
        entry
        if entry.record.length_mm is not None
        else replace(entry, record=replace(entry.record, length_mm=track))
        for entry in book.records(TrackRun, car=car)
        if entry.record.end is RunEnd.FINISHED and entry.record.time_s
    ]
    return [entry for entry in runs if entry.record.length_mm is not None]


def timed_places(record: TrackRun) -> tuple[tuple[float, float], ...]:
    """Where and when a run was timed, m and s, in order: its gates, then the finish."""
    length = record.length_mm or 0.0
    places = {at_mm / 1e3: time for at_mm, time in record.gates_mm_s if 0 < at_mm < length and time > 0}
    if record.time_s and length:
        places[length / 1e3] = record.time_s
    return tuple(sorted(places.items()))


def _possible(times: tuple[tuple[float, float], ...]) -> bool:
    """Whether times rise from place to place, at speeds that such a car may have."""
    before = (0.0, 0.0)
    for place, time in times:
        if time <= before[1] or not _SLOWEST_M_S <= (place - before[0]) / (time - before[1]) <= _FASTEST_M_S:
            return False
        before = (place, time)
    return bool(times)


def timing_sd(record: TrackRun) -> float:
    """How well a time is known, s: the timer's step, and how evenly it is started."""
    return math.hypot(_STEADY_S, record.resolution_s / math.sqrt(12.0))


def fit_book(book: Book) -> BookFit:
    """The class's impulse and puncture from every timed run of a car whose design is in the book.

    Raises:
        ProblemsError: there is no such run, or none that the car could have made.
    """
    passed_over: list[str] = []
    plain: dict[str, TimedRun | None] = {}
    entries: list[Entry[TrackRun]] = []
    runs: list[TimedRun] = []
    shelf = RulebookCache()
    for entry in usable_runs(book):
        name = entry.record.car
        if name not in plain:
            plain[name], why = _plain(book, name, shelf)
            if why:
                passed_over.append(why)
        known = plain[name]
        if known is not None and not _possible(timed_places(entry.record)):
            passed_over.append(f"run {entry.id} of {name}: its times can hardly be of a car")
        elif known is not None:
            entries.append(entry)
            runs.append(_run(known, entry.record))
    fitted = fit_class(runs) if runs else None
    if fitted is None:
        message = "there is no timed run to fit: " + ("; ".join(passed_over) or "nothing has been run yet")
        raise ProblemsError(
            [
                Problem(
                    "book-no-runs",
                    message,
                    file=book.name,
                    expected="timed runs of cars whose designs are in the book",
                )
            ]
        )
    passed_over += [
        f"run {entries[index].id} of {entries[index].record.car}: by the sum it would not come so far"
        for index in fitted.left_out
    ]
    return BookFit(
        fitted,
        tuple(entries),
        runs[0].cartridge,
        any(len(run.times) > 1 for run in runs),
        tuple(passed_over),
    )


def store_fit(book: Book, fit: BookFit) -> Entry[ClassFit]:
    """Put a fit into the book."""
    used = [entry.id for index, entry in enumerate(fit.entries) if index not in fit.fitted.left_out]
    return book.add(fit_record(fit.fitted, used))


def _plain(book: Book, name: str, shelf: RulebookCache) -> tuple[TimedRun | None, str]:
    """A car's own figures as a run without times, or why it has none."""
    found = book_car(book, name, shelf=shelf)
    if found.design is None:
        return None, f"{name}: {found.why_not}"
    air = air_of(None, None)
    # The fit starts from the priors, never from an earlier fit of the same runs.
    known = replace(priors_from_book(book, name, found.design), fit=None)
    try:
        numbers = known.car_numbers(car_numbers(found.design, air))
    except ProblemsError as error:
        return None, f"{name}: {error.problems[0].sentence}"
    gas = cartridge_numbers(found.design.design.cartridge)
    return TimedRun(name, numbers, gas, air.density_kg_m3, (), _STEADY_S), ""


def _run(known: TimedRun, record: TrackRun) -> TimedRun:
    numbers, gas = known.numbers, known.cartridge
    if record.mass_g:
        noted = Estimate(record.mass_g, 0.05, "noted at the run", Basis.MEASURED, Law.PLAIN)
        if believed(Factor.MASS, noted):
            numbers = replace(numbers, mass_g=noted)
    warm = record.cartridge_c is not None and check_temperature(record.cartridge_c) is None
    if warm and record.cartridge_c is not None:
        warmth = Estimate(record.cartridge_c, _WARMTH_SD_C, "read before the run", Basis.MEASURED, Law.PLAIN)
        gas = replace(gas, temperature_c=warmth)
    used = record.gas_used_g
    if used is not None and abs(used - gas.charge_g.value) < _FAR * gas.charge_g.sd:
        # Dry ice left behind at the line is gone before the shell is weighed again.
        gas = replace(gas, charge_g=Estimate(used, _WEIGHED_SD_G, "weighed twice", Basis.MEASURED))
    air = air_of(record.temperature_c, record.pressure_hpa, record.humidity_percent)
    return replace(
        known,
        numbers=numbers,
        cartridge=gas,
        density_kg_m3=air.density_kg_m3,
        times=timed_places(record),
        timing_sd_s=timing_sd(record),
        warmth_read=warm,
    )
