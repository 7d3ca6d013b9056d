"""What is asked about at entry: what cannot be true, and nothing of what usually is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bodyshop.foundation.units.instruments import FORCE_N, ForceUnit
from bodyshop.records.book.earlier import EarlierRecords, known_about, likely
from bodyshop.records.book.model import (
    AirflowSeen,
    Flow,
    MassReading,
    MeasuredFrom,
    Record,
    RollTest,
    RunEnd,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.book.plausibility import questions
from tests.records.trial_books import small_book

GF = FORCE_N[ForceUnit.GF]
RUN = TrackRun(
    "Kestrel", 20000.0, 1.06, lane=1, speed_m_s=22.0, cartridge_before_g=29.1, cartridge_after_g=21.3
)
DRAG = TunnelReading("Kestrel", 20.0, 18.5 * GF, ForceUnit.GF, drag_zero_n=0.3 * GF, front_lift_n=-2 * GF)
ROLL = RollTest("Kestrel", 150.0, 580.0, 6600.0)
MASS = MassReading("Kestrel", WeighingStage.COMPLETE, 84.3)
KNOWN = EarlierRecords(mass_g=84.3, track_mm=20000.0, lanes=2)


@pytest.mark.parametrize(
    "record",
    [
        RUN,
        # Published results, facts of the trade: 20 m in 0.986 and 1.2 s (a school championship, 2016);
        # 45 ft in 0.654 s (a middle school's best); 22.3 m in 2.063 s at 10.8 m/s.
        replace(RUN, time_s=0.986, speed_m_s=None),
        replace(RUN, time_s=1.2, speed_m_s=None),
        TrackRun("Kestrel", 13716.0, 0.654),
        TrackRun("Kestrel", 22300.0, 2.063, speed_m_s=10.8),
        replace(RUN, end=RunEnd.STOPPED, time_s=None),
        replace(RUN, gates_mm_s=((5000.0, 0.4), (10000.0, 0.63))),
        replace(RUN, speed_m_s=12.0, speed_at_mm=2000.0),
        DRAG,
        replace(
            DRAG, drag_lowest_n=17.9 * GF, drag_highest_n=19.0 * GF, temperature_c=24.0, pressure_hpa=985.0
        ),
        ROLL,
        MASS,
        AirflowSeen("Kestrel", "tail", Flow.REVERSED),
    ],
)
def test_what_usually_is_is_not_asked_about(record: Record) -> None:
    known = replace(KNOWN, track_mm=None)
    assert questions(record, known) == ()


@pytest.mark.parametrize(
    ("record", "words"),
    [
        # A newspaper printed 1.282 s over "10 meter" as 34.89 mph: the speed fits 20 m.
        (TrackRun("Kestrel", 10000.0, 1.282, speed_m_s=34.89 * 0.44704), "17 to 20 m long"),
        (replace(RUN, time_s=0.1, speed_m_s=None), "200 m/s"),
        (replace(RUN, time_s=0.0), "takes no time"),
        (replace(RUN, time_s=None), "has no time"),
        (replace(RUN, end=RunEnd.NO_START), "did not start"),
        (replace(RUN, time_s=60.0, speed_m_s=None), "0.333 m/s"),
        (replace(RUN, speed_m_s=9.0), "disagree"),
        (replace(RUN, cartridge_before_g=21.3, cartridge_after_g=29.1), "gained 7.8 g"),
        (replace(RUN, cartridge_after_g=29.0), "used 0.1 g"),
        (replace(RUN, cartridge_c=55.0), "55 °C"),
        (replace(RUN, lane=3), "2 lanes"),
        (replace(RUN, length_mm=18000.0, speed_m_s=None), "20 m long, not 18 m"),
        (replace(RUN, gates_mm_s=((10000.0, 0.63), (5000.0, 0.7))), "before it was at 5 m"),
        (replace(RUN, gates_mm_s=((21000.0, 0.9),)), "beyond the finish"),
        (replace(RUN, gates_mm_s=((19000.0, 0.3),)), "63.3 m/s"),
        (replace(DRAG, drag_n=4000 * GF), "1.63e+03 cm²"),
        (replace(DRAG, drag_n=18.5), "far more than a car"),
        (replace(DRAG, drag_n=0.2 * GF), "does not push a car forward"),
        (replace(DRAG, speed_m_s=0.5), "0.5 m/s"),
        (replace(DRAG, front_lift_n=100 * GF), "more than the car's weight"),
        (replace(DRAG, front_lift_n=50 * GF, rear_lift_n=45 * GF), "together are 95 gf"),
        (replace(DRAG, drag_lowest_n=19 * GF, drag_highest_n=18 * GF), "above the highest"),
        (replace(DRAG, drag_lowest_n=19 * GF, drag_highest_n=20 * GF), "not between"),
        (replace(DRAG, drag_lowest_n=1 * GF, drag_highest_n=30 * GF), "flickers"),
        (replace(DRAG, temperature_c=-20.0), "-20 °C"),
        (replace(DRAG, pressure_hpa=400.0), "400 hPa"),
        (replace(ROLL, ramp_height_mm=600.0), "cannot come down"),
        (replace(ROLL, ramp_length_mm=0.0), "above zero"),
        (replace(ROLL, run_out_mm=500.0, measured_from=MeasuredFrom.TOP), "foot of the ramp"),
        (replace(ROLL, run_out_mm=300_000.0), "friction of 0.000499"),
        (replace(ROLL, mass_g=300.0), "84.3 g complete"),
        (replace(MASS, mass_g=3412.0), "no usual mass"),
    ],
)
def test_what_cannot_be_true_is_asked_about(record: Record, words: str) -> None:
    assert any(words in ask for ask in questions(record, KNOWN)), questions(record, KNOWN)


def test_the_book_is_asked_what_it_knows(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        blank = book.add(MassReading("Kestrel", WeighingStage.BLANK, 341.2))
        book.add(MassReading("Kestrel", WeighingStage.COMPLETE, 84.3))

        def asked(record: Record, but: int | None = None) -> str:
            return " ".join(questions(record, known_about(book, record, but=but)))

        assert "take wood away" in asked(MassReading("Kestrel", WeighingStage.SAWN, 360.0))
        assert "341.2 g at this stage before" in asked(MassReading("Kestrel", WeighingStage.BLANK, 34.12))
        assert asked(MassReading("Kestrel", WeighingStage.BLANK, 34.12), but=blank.id) == ""
        assert "the cartridge would weigh 2.7 g" in asked(MassReading("Kestrel", WeighingStage.LOADED, 87.0))
        assert asked(MassReading("Kestrel", WeighingStage.LOADED, 113.4)) == ""
        assert asked(MassReading("Wren", WeighingStage.SAWN, 360.0)) == ""
        book.add(TrackRun("Kestrel", 20000.0, 1.06))
        assert "far from the car's own time: 1.060 s" in asked(TrackRun("Kestrel", 20000.0, 2.0))
        book.add(DRAG)
        assert "before, it was" in asked(replace(DRAG, drag_n=40 * GF))


def test_an_unweighed_car_is_held_against_a_heavy_one() -> None:
    asked = questions(replace(DRAG, front_lift_n=600 * GF), EarlierRecords())
    assert any("would be a heavy one" in ask for ask in asked)
    assert questions(replace(DRAG, front_lift_n=100 * GF), EarlierRecords()) == ()


def test_bounds_have_a_source() -> None:
    for name, row in likely().items():
        assert row.low < row.high, name
        assert len(row.source) > 20, name
        assert row.confidence.value in ("R", "C", "P"), name


@pytest.mark.parametrize(
    ("before_g", "before_step", "after_g", "after_step", "asks"),
    [
        # One scale: a reading may be half a step off, so one step more can be chance, two cannot.
        (341.2, 0.1, 341.3, 0.1, False),
        (341.2, 0.1, 341.4, 0.1, True),
        (341.0, 1.0, 342.0, 1.0, False),
        (341.0, 1.0, 343.0, 1.0, True),
        # A coarse scale, then a fine one: the coarse one's step counts too.
        (341.0, 1.0, 341.5, 0.1, False),
        (341.0, 1.0, 341.7, 0.1, True),
        (341.2, 0.1, 341.1, 0.1, False),
    ],
)
def test_wood_taken_away_is_lighter_but_for_the_steps_of_the_scales(
    tmp_path: Path, before_g: float, before_step: float, after_g: float, after_step: float, asks: bool
) -> None:
    with small_book(tmp_path / "a.trials") as book:
        book.add(MassReading("Kestrel", WeighingStage.BLANK, before_g, before_step))
        record = MassReading("Kestrel", WeighingStage.SANDED, after_g, after_step)
        assert any("take wood away" in ask for ask in questions(record, known_about(book, record))) is asks
        # The same the other way round: the later stage noted first.
        back = MassReading("Wren", WeighingStage.SANDED, after_g, after_step)
        book.add(back)
        record = MassReading("Wren", WeighingStage.BLANK, before_g, before_step)
        assert any("take wood away" in ask for ask in questions(record, known_about(book, record))) is asks


@pytest.mark.parametrize("slip", [0.1, 10.0])
@pytest.mark.parametrize("area_cm2", [5.0, 7.4, 10.0, 15.0])
def test_a_slip_of_the_decimal_point_in_a_drag_is_asked_about_at_the_first_reading(
    area_cm2: float, slip: float
) -> None:
    # The working range of CO2 cars, 5 to 15 cm2; drag = CdA rho v2 / 2 at 20 m/s in ISO 2533's air of 20 C.
    drag = area_cm2 * 1e-4 * 0.5 * 1.2041 * 20.0**2
    assert questions(TunnelReading("Kestrel", 20.0, drag)) == ()
    assert any("drag area" in ask for ask in questions(TunnelReading("Kestrel", 20.0, slip * drag)))


@pytest.mark.parametrize("slip", [0.1, 10.0])
@pytest.mark.parametrize("friction", [0.008, 0.012, 0.017, 0.025, 0.04])
def test_a_slip_of_the_decimal_point_in_a_run_out_is_asked_about_at_the_first_roll(
    friction: float, slip: float
) -> None:
    # Energy, by hand: friction times the level way is the drop, so the run-out is 150 / friction - 560 mm.
    roll = RollTest("Kestrel", 150.0, 580.0, 150.0 / friction - 560.3)
    assert questions(roll) == ()
    wrong = replace(roll, run_out_mm=slip * roll.run_out_mm)
    assert any("friction of" in ask for ask in questions(wrong)), wrong


def test_a_roll_is_held_against_those_before(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        book.add(ROLL)
        other = replace(ROLL, run_out_mm=13_500.0)
        assert any("before, it was 0.0209" in ask for ask in questions(other, known_about(book, other)))
        back = replace(ROLL, run_out_mm=7_400.0)
        assert questions(back, known_about(book, back)) == ()
