"""Books whose records hold whatever their columns allow: shown and questioned, never a crash."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.json.findings import comparison_data, fit_data, frozen_data, meaning_data
from bodyshop.output.terminal.findings import comparison_text, fit_text, frozen_text, meaning_text
from bodyshop.physics.air import air_of_the_day
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.model import (
    FrozenPrediction,
    MassReading,
    Record,
    RollTest,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.findings.classruns import fit_book
from bodyshop.records.findings.meaning import meaning
from bodyshop.records.findings.measured_priors import complete_mass, priors_from_book
from bodyshop.records.findings.prediction_check import compare_book, freeze
from bodyshop.records.findings.setups import RaceConditions, lane_of
from tests.records.books import BEFORE, RACE, new_book, run

ODD_INPUTS = ("{}", "[1]", '{"length_m": 20}', '{"length_m": "x"}', "")


def wild(rng: np.random.Generator, kind: type[Record], **fixed: object) -> Record:
    """A record with any numbers that its columns allow, ends and tiny ones often."""
    values: dict[str, object] = dict(fixed)
    for column in columns_of(kind):
        if column.name in values or column.shape is not ValueType.NUMBER:
            continue
        if column.optional and rng.random() < 0.3:
            continue
        low = -1e6 if column.field.low is None else column.field.low
        high = 1e6 if column.field.high is None else column.field.high
        pick = int(rng.integers(5))
        size = 10.0 ** float(rng.uniform(-300, 2) if pick == 2 else rng.uniform(-3, 3))
        values[column.name] = (
            (low, high)[pick] if pick < 2 else min(max(-size if pick == 3 else size, low), high)
        )
    return kind(**values)


@pytest.mark.parametrize("seed", range(4))
def test_whatever_a_book_holds(tmp_path: Path, seed: int) -> None:
    rng = np.random.default_rng(seed)
    with new_book(tmp_path, cars=("Kestrel", "Wren")) as book:
        with book.writing() as writer:
            for car in ("Kestrel", "Wren"):
                for k in range(int(rng.integers(1, 4))):
                    writer.add(wild(rng, MassReading, car=car, stage=WeighingStage.COMPLETE), at=BEFORE)
                    writer.add(wild(rng, TunnelReading, car=car), at=BEFORE)
                    writer.add(wild(rng, RollTest, car=car, direction=("", "a", "b")[k]), at=BEFORE)
                    writer.add(wild(rng, TrackRun, car=car, gates_mm_s=((5000.0, 0.4),)), at=RACE)
                inputs = ODD_INPUTS[int(rng.integers(len(ODD_INPUTS)))]
                writer.add(wild(rng, FrozenPrediction, car=car, inputs=inputs), at=BEFORE)
        for car in ("Kestrel", "Wren"):
            told = meaning(book, car)
            assert max(len(line) for line in meaning_text(told, width=60).splitlines()) <= 60
            meaning_data(told)
        frozen = freeze(book, RaceConditions(lane_of(book), air_of_the_day()))
        assert frozen_text(frozen, width=80)
        frozen_data(frozen)
        try:
            fit = fit_book(book)
        except ProblemsError:
            pass
        else:
            assert fit_text(fit, width=80)
            fit_data(fit, None)
        found = compare_book(book)
        if found is not None:
            assert comparison_text(found, width=80)
        comparison_data(found)


def test_air_that_hardly_moves_is_still(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(TunnelReading("Wren", 1e-200, 0.1, front_lift_n=0.1, rear_lift_n=0.1), at=BEFORE)
        assert [finding.id for finding in meaning(book, "Wren").findings] == ["drag.estimate"]


def test_masses_of_no_car_are_not_used(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(MassReading("Wren", WeighingStage.COMPLETE, 90_000.0), at=BEFORE)
        book.add(MassReading("Swift", WeighingStage.COMPLETE, 100.0, resolution_g=500.0), at=BEFORE)
        assert complete_mass(book, "Wren") is None
        assert priors_from_book(book, "Swift").mass_g is None


def test_a_prediction_that_is_no_time_counts_for_nothing(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(FrozenPrediction("Wren", 0.0, 0.0, 0.0, inputs='{"length_m": 20.0}'), at=BEFORE)
        book.add(FrozenPrediction("Swift", 1.2, 1.5, 1.1, inputs='{"length_m": 20.0}'), at=BEFORE)
        run(book, "Wren", 1.2)
        run(book, "Swift", 1.2)
        assert compare_book(book) is None


def test_times_that_fall_are_no_run_to_fit(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        run(book, "Wren", 2.0, gates_mm_s=((5000.0, 2.5),))
        with pytest.raises(ProblemsError, match="can hardly be of a car"):
            fit_book(book)
        run(book, "Wren", 2.0, 5)
        fit = fit_book(book)
    assert fit.fitted.runs == 1
    assert len(fit.passed_over) == 1
