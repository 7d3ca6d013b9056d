"""Predictions frozen, compared, and the class's fit kept."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.json.findings import comparison_data, fit_data, frozen_data
from bodyshop.output.terminal.findings import comparison_text, fit_text, frozen_text
from bodyshop.physics.air import air_of_the_day
from bodyshop.physics.factors import Factor
from bodyshop.physics.model import Basis
from bodyshop.physics.prediction import predict
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    ClassFit,
    Draw,
    Event,
    FrozenPrediction,
    Heat,
    RaceFormat,
    RunEnd,
    TrackRun,
)
from bodyshop.records.findings.cars import latest_fit
from bodyshop.records.findings.classruns import fit_book, store_fit, timed_places
from bodyshop.records.findings.measured_priors import priors_from_book
from bodyshop.records.findings.prediction_check import compare_book, freeze, lane_length_m
from bodyshop.records.findings.setups import RaceConditions, lane_of, ready
from tests.documents import valid
from tests.records.books import BEFORE, CARS, RACE, measure, new_book, run


def conditions(book: Book) -> RaceConditions:
    return RaceConditions(lane_of(book), air_of_the_day(20.0, 1010.0))


def predicted(book: Book, car: str, seconds: float, *, half: float = 0.1, minutes: int = 0) -> None:
    book.add(
        FrozenPrediction(
            car, seconds, seconds - half, seconds + half, inputs='{"length_m": 20.0}', top_speed_m_s=20.0
        ),
        at=BEFORE + timedelta(minutes=minutes),
    )


# ---------------------------------------------------------------- what the book knows


def test_what_was_measured_takes_the_place_of_what_was_taken_for_granted(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        assert priors_from_book(book, "Wren").figures == {}
        measure(book, "Kestrel")
        found, setup = ready(book, "kestrel", conditions(book))
        known = priors_from_book(book, "Kestrel", found.design)
    assert set(known.figures) == {Factor.MASS, Factor.DRAG, Factor.ROLLING}
    assert setup.figure(Factor.MASS).value == pytest.approx(121.43, abs=0.01)
    assert setup.figure(Factor.DRAG).value == pytest.approx(14.4e-4, rel=0.02)
    assert setup.figure(Factor.ROLLING).value == pytest.approx(0.02, rel=0.01)
    assert all(known.figures[factor].basis is Basis.MEASURED for factor in known.figures)


def test_readings_that_are_doubted_are_not_used(tmp_path: Path) -> None:
    from bodyshop.records.book.model import RollTest, TunnelReading

    with new_book(tmp_path) as book:
        book.add(TunnelReading("Wren", 12.0, 39.0), at=BEFORE)
        book.add(RollTest("Wren", 150.0, 600.0, 1e6), at=BEFORE)
        found, _ = ready(book, "Wren", conditions(book))
        assert priors_from_book(book, "Wren", found.design).figures == {}


def test_a_measured_car_is_predicted_more_closely(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        before = predict(ready(book, "Kestrel", conditions(book))[1]).finish
        measure(book, "Kestrel")
        after = predict(ready(book, "Kestrel", conditions(book))[1]).finish
    assert after.high - after.low < 0.8 * (before.high - before.low)


# ---------------------------------------------------------------- freezing


def test_frozen_with_all_it_was_made_from(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        measure(book, "Kestrel")
        frozen = freeze(book, conditions(book), by="Bench 4")
        assert [entry.record.car for entry in frozen.entries] == ["Kestrel", "Wren", "Swift"]
        kept = book.records(FrozenPrediction)
    assert len(kept) == 3
    record = kept[0].record
    inputs = json.loads(record.inputs)
    assert set(inputs["figures"]) == {factor.id for factor in Factor}
    assert inputs["figures"]["mass"]["basis"] == "measured"
    assert inputs["air"] == {"temperature_c": 20.0, "pressure_hpa": 1010.0}
    assert lane_length_m(record) == 20.0
    assert record.time_low_s < record.time_s < record.time_high_s
    assert record.top_speed_m_s is not None
    assert record.fingerprint
    assert kept[0].by == "Bench 4"
    page = frozen_text(frozen, width=80)
    assert max(len(line) for line in page.splitlines()) <= 80
    assert len(valid(frozen_data(frozen))["predictions"]) == 3


def test_a_frozen_prediction_is_the_same_each_time(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        one, other = (freeze(book, conditions(book), ["Wren"]).entries[0].record for _ in range(2))
    assert one == other


def test_cars_that_cannot_be_predicted_are_told(tmp_path: Path) -> None:
    from bodyshop.records.book.model import CarRecord

    with new_book(tmp_path, cars=("Wren",)) as book:
        book.add(CarRecord("Dunlin"), at=BEFORE)
        frozen = freeze(book, conditions(book))
        assert [name for name, _ in frozen.passed_over] == ["Dunlin"]
        assert "Dunlin was left out" in frozen_text(frozen, width=80)
        with pytest.raises(ProblemsError, match="no design"):
            freeze(book, conditions(book), ["Wren", "Dunlin"])
        assert len(book.records(FrozenPrediction)) == 1  # all or none
        with pytest.raises(ProblemsError, match="there is no car"):
            freeze(book, conditions(book), ["Kestrel"])


def test_a_track_of_unknown_length_is_asked_for(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        event = book.event
        book.correct(Event, event.id, replace(event.record, track_mm=None), "not measured yet")
        with pytest.raises(ProblemsError, match="how long the track is"):
            lane_of(book)
        assert lane_of(book, 13.7).length_m == 13.7


# ---------------------------------------------------------------- comparing


def test_nothing_to_compare(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        assert compare_book(book) is None
        predicted(book, "Wren", 1.2)
        assert compare_book(book) is None
    assert valid(comparison_data(None))["summary"] is None


def test_errors_order_and_coverage_by_hand(tmp_path: Path) -> None:
    cars = ("Kestrel", "Wren", "Swift", "Heron")
    with new_book(tmp_path, cars=cars) as book:
        for car, told, times in (
            ("Kestrel", 1.00, (1.02, 1.04)),  # mean 1.03, inside
            ("Wren", 1.10, (1.12,)),  # inside
            ("Swift", 1.20, (1.35,)),  # outside
            ("Heron", 1.30, (1.25, 1.27)),  # mean 1.26, inside
        ):
            predicted(book, car, told)
            for k, seconds in enumerate(times):
                run(book, car, seconds, k)
        found = compare_book(book)
    assert found is not None
    assert [car.car for car in found.cars] == ["Kestrel", "Wren", "Swift", "Heron"]
    assert [car.error_s for car in found.cars] == pytest.approx([0.03, 0.02, 0.15, -0.04])
    assert found.bias_s == pytest.approx(0.04)
    assert found.typical_s == pytest.approx(((0.0009 + 0.0004 + 0.0225 + 0.0016) / 4) ** 0.5)
    # One pair of six is the wrong way round: tau is 4/6; of 24 orders 4 are as good or better.
    assert found.order is not None
    assert found.order.kendall == pytest.approx(4 / 6)
    assert found.order.spearman == pytest.approx(0.8)
    assert found.order.chance == pytest.approx(4 / 24)
    assert found.cars_inside.value == pytest.approx(3 / 4)
    assert found.runs_inside.value == pytest.approx(5 / 6)
    assert found.winner_told
    page = comparison_text(found, width=80)
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "outside" in page
    document = valid(comparison_data(found))
    assert document["summary"]["order"]["chance_counted"] is True
    assert [car["runs_inside"] for car in document["cars"]] == [2, 1, 0, 2]


def test_two_cars_have_no_order(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        for car, told in (("Kestrel", 1.0), ("Wren", 1.1)):
            predicted(book, car, told)
            run(book, car, told)
        found = compare_book(book)
    assert found is not None
    assert found.order is None
    assert "fewer than three" in " ".join(comparison_text(found, width=80).split())


def test_nobody_predicts_what_he_has_seen(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        predicted(book, "Wren", 1.10)
        predicted(book, "Wren", 1.20, minutes=30)  # the last one before the race counts
        run(book, "Wren", 1.30)
        predicted(book, "Wren", 1.30, minutes=600)  # after it
        run(book, "Wren", 1.32, 900)
        run(book, "Swift", 1.4)
        predicted(book, "Swift", 1.4, minutes=600)
        run(book, "Kestrel", 1.5)
        found = compare_book(book)
    assert found is not None
    assert [car.prediction.record.time_s for car in found.cars] == [1.20]
    assert found.cars[0].times.values == (1.30, 1.32)
    assert any("Swift: its prediction came into the book after" in why for why in found.passed_over)
    assert any("Kestrel: nothing was predicted" in why for why in found.passed_over)


def test_a_clock_set_back_makes_no_prediction(tmp_path: Path) -> None:
    with new_book(tmp_path, cars=(*CARS, "Heron")) as book:
        for car in CARS:
            predicted(book, car, 9.9, minutes=-60)
        run(book, "Wren", 1.30)
        predicted(book, "Wren", 1.30, minutes=-30)  # in the book after the run, by the clock before it
        gone = book.add(TrackRun("Swift", 20_000.0, time_s=1.4), at=RACE)
        predicted(book, "Swift", 1.4, minutes=-30)
        book.strike(TrackRun, gone.id, "typed twice")  # it was seen all the same
        run(book, "Swift", 1.4, 1)
        other = book.add(TrackRun("Kestrel", 20_000.0, time_s=1.5), at=RACE)
        book.correct(TrackRun, other.id, replace(other.record, car="Wren"), "it was Wren's")
        predicted(book, "Kestrel", 1.6, minutes=-30)  # no time of Kestrel was seen before
        run(book, "Kestrel", 1.61, 2)
        other = book.add(TrackRun("Swift", 20_000.0, time_s=1.7), at=RACE)
        predicted(book, "Heron", 1.7, minutes=-30)  # seen already, under another name
        book.correct(TrackRun, other.id, replace(other.record, car="Heron"), "it was Heron's")
        found = compare_book(book)
    assert found is not None
    assert {car.car: car.prediction.record.time_s for car in found.cars} == {
        "Wren": 9.9,
        "Swift": 9.9,
        "Kestrel": 1.6,
    }


def test_a_prediction_after_the_run_by_its_own_moment_does_not_count(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        predicted(book, "Wren", 1.30, minutes=600)  # made in the evening
        run(book, "Wren", 1.30)  # typed in later still, and run in the morning
        assert compare_book(book) is None


def test_what_counts_as_a_time(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        predicted(book, "Wren", 1.2)
        run(book, "Wren", 1.21)
        run(book, "Wren", 9.0, end=RunEnd.VOID)
        run(book, "Wren", 9.0, end=RunEnd.STOPPED)
        book.add(TrackRun("Wren", 10_000.0, time_s=0.7), at=RACE)  # another length
        draw = book.add(Draw("final", RaceFormat.TIME_TRIALS, 2), at=RACE)
        first = book.add(Heat(draw.origin, 1, 1), at=RACE)
        again = book.add(Heat(draw.origin, 1, 2, reruns=first.origin), at=RACE)
        void = TrackRun("Wren", 20000.0, 1.99, lane=1, end=RunEnd.VOID, heat=first.origin)
        book.add(void, at=RACE)  # was run again
        result = book.add(TrackRun("Wren", None, 1.23, lane=1, heat=again.origin), at=RACE)
        alone = book.add(Heat(draw.origin, 2, 3), at=RACE)
        run(book, "Wren", 1.25, heat=alone.origin)
        found = compare_book(book)
        book.strike(TrackRun, result.id, "timer not armed")
        fewer = compare_book(book)
    assert found is not None
    assert sorted(found.cars[0].times.values) == [1.21, 1.23, 1.25]
    assert fewer is not None
    assert sorted(fewer.cars[0].times.values) == [1.21, 1.25]


def test_a_prediction_for_another_lane_is_passed_over(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        predicted(book, "Wren", 1.2)
        book.add(TrackRun("Wren", 13_700.0, time_s=0.9), at=RACE)
        predicted(book, "Swift", 1.2)
        run(book, "Swift", 1.2)
        found = compare_book(book)
    assert found is not None
    assert any("Wren: it was predicted for 20 m and run over 13.7 m" in why for why in found.passed_over)


# ---------------------------------------------------------------- the class's fit


def raced(book: Book) -> None:
    """Times that the model itself gives, 4 % more impulse than computed, a puncture of 2 mm."""
    import numpy as np

    from bodyshop.physics.model import Estimate
    from bodyshop.physics.prediction import simulate

    for car in ("Kestrel", "Wren", "Swift"):
        measure(book, car)
        _, setup = ready(book, car, conditions(book))
        setup = setup.having(Factor.IMPULSE, Estimate.exact(1.04, "true")).having(
            Factor.HOLE, Estimate.exact(2.0, "true")
        )
        runs = simulate(setup, np.zeros((len(Factor), 1)))
        for minutes in (0, 7):
            run(
                book,
                car,
                round(float(runs.finish_s[0]), 3),
                minutes,
                gates_mm_s=((5000.0, round(float(runs.gates_s[0, 0]), 3)),),
                temperature_c=20.0,
                pressure_hpa=1010.0,
                cartridge_c=20.0,
            )


def test_the_class_is_fitted_kept_and_used(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        raced(book)
        fit = fit_book(book)
        found = fit.fitted
        assert (found.runs, found.cars, found.times) == (6, 3, 12)
        assert found.impulse_factor.value == pytest.approx(1.04, rel=0.02)
        assert found.hole_mm.value == pytest.approx(2.0, rel=0.03)
        assert fit.gates
        assert priors_from_book(book, "Wren").fit is None
        entry = store_fit(book, fit)
        stored = latest_fit(book)
        assert stored is not None
        assert (stored.number, stored.runs, stored.cars) == (entry.id, 6, 3)
        assert stored.impulse_factor == found.impulse_factor
        assert stored.coupling == found.coupling
        _, setup = ready(book, "Wren", conditions(book))
        assert setup.figure(Factor.IMPULSE) == found.impulse_factor
        assert setup.figure(Factor.HOLE) == found.hole_mm
        assert setup.cartridge.coupling == found.coupling
        # A second fit starts from the priors again, not from the first one.
        assert fit_book(book).fitted.impulse_factor == found.impulse_factor
    page = fit_text(fit, width=80, stored=entry.id)
    assert max(len(line) for line in page.splitlines()) <= 80
    document = valid(fit_data(fit, entry.id))
    assert len(document["runs"]) == 6
    assert document["record"] == entry.id


def test_a_wrongly_noted_run_is_pointed_at(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        raced(book)
        wrong = book.records(TrackRun, car="Wren")[0]
        book.correct(
            TrackRun, wrong.id, replace(wrong.record, time_s=(wrong.record.time_s or 0) + 1.0), "slip"
        )
        fit = fit_book(book)
    assert [fit.entries[far.run].record.car for far in fit.fitted.far] == ["Wren"]
    assert "Was it written down correctly?" in " ".join(fit_text(fit, width=80).split())


def test_there_is_nothing_to_fit(tmp_path: Path) -> None:
    with new_book(tmp_path, designs=False) as book:
        with pytest.raises(ProblemsError, match="nothing has been run yet"):
            fit_book(book)
        run(book, "Wren", 1.2)
        with pytest.raises(ProblemsError, match="Wren: the book holds no design"):
            fit_book(book)


def test_a_spoilt_fit_is_told(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        for text in (
            "{",
            "[]",
            '{"impulse_factor": {"value": -1, "sd": 0, "source": "x"}}',
            '{"coupling": NaN}',
        ):
            entry = book.add(ClassFit("cartridge", text))
            with pytest.raises(ProblemsError, match="makes no sense"):
                latest_fit(book)
            book.strike(ClassFit, entry.id, "spoilt")
        book.add(ClassFit("another kind", "{}"))
        assert latest_fit(book) is None


def test_places_of_a_run() -> None:
    record = TrackRun(
        "Wren", 20_000.0, time_s=1.2, gates_mm_s=((10_000.0, 0.7), (5000.0, 0.4), (25_000.0, 2.0))
    )
    assert timed_places(record) == ((5.0, 0.4), (10.0, 0.7), (20.0, 1.2))


@pytest.mark.parametrize(
    ("errors", "words"),
    [
        ((0.34, -0.33, 0.0038), "On average cars were 0.005 s slower"),
        ((0.34, -0.33, -0.0402), "On average cars were 0.010 s faster"),
        ((0.03, -0.03, 0.0003), "On average cars were as fast as predicted"),
        ((0.5, 0.45, 0.55), "On average cars were 0.50 s slower"),
    ],
)
def test_a_wide_range_does_not_round_the_error_away(
    tmp_path: Path, errors: tuple[float, ...], words: str
) -> None:
    with new_book(tmp_path) as book:
        for car, error in zip(("Kestrel", "Wren", "Swift"), errors, strict=True):
            predicted(book, car, 1.5)
            run(book, car, 1.5 + error)
        found = compare_book(book)
    assert found is not None
    told = " ".join(comparison_text(found, width=80).split())
    assert words in told
    assert not re.search(r"\b0(\.0*)? s (slower|faster)", told)
