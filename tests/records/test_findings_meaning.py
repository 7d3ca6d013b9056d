"""What a book says of one car."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.json.findings import meaning_data
from bodyshop.output.terminal.findings import meaning_text
from bodyshop.output.words.findings import finding_words, missing_words
from bodyshop.records.book.model import (
    AirflowSeen,
    Flow,
    FrozenPrediction,
    MassReading,
    MeasuredFrom,
    RollTest,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.findings.meaning import MeaningOptions, meaning
from bodyshop.records.findings.model import CarMeaning, Finding
from tests.documents import valid
from tests.records.books import BEFORE, measure, new_book, run


def by_id(told: CarMeaning) -> dict[str, Finding]:
    return {finding.id: finding for finding in told.findings}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> CarMeaning:
    with new_book(tmp_path_factory.mktemp("told")) as book:
        measure(book, "Kestrel")
        run(book, "Kestrel", 1.912, lane=1, speed_m_s=10.1)
        run(book, "Kestrel", 1.924, 5, lane=2, speed_m_s=9.9, cartridge_before_g=29.1, cartridge_after_g=21.2)
        book.add(AirflowSeen("Kestrel", "top of the tail", Flow.REVERSED), at=BEFORE)
        book.add(AirflowSeen("Kestrel", "nose", Flow.ATTACHED), at=BEFORE)
        return meaning(book, "kestrel")


def test_everything_in_the_order_of_the_work(told) -> None:
    assert list(by_id(told)) == [
        "mass.complete",
        "airflow",
        "drag.estimate",
        "drag.tunnel",
        "lift.balance",
        "lift.front",
        "lift.rear",
        "rolling.friction",
        "runs.time.20m",
        "runs.speed",
        "runs.gas",
    ]
    assert (told.car, told.bench) == ("Kestrel", "Bench 4")
    assert told.missing == ()
    assert told.doubts == 0


def test_each_has_a_sentence_a_formula_and_a_source(told) -> None:
    for finding in told.findings:
        assert finding_words(finding).sentence.endswith((".", "?"))
        assert finding.formula
        assert finding.source
        assert finding.records or finding.id == "drag.estimate"
        if finding.value is not None:
            held = finding.interval
            assert held is not None
            assert held.low <= finding.value <= held.high


def test_drag_by_hand(told) -> None:
    # Mean net drag 0.1237 N at 12 m/s in air of 1.190 kg/m3 (19.5 C, 1004 hPa, half wet): 14.43 cm2.
    drag = by_id(told)["drag.tunnel"]
    assert drag.value == pytest.approx(0.123667 / (0.5 * 1.1897 * 144) * 1e4, rel=1e-3)
    assert drag.repeats is not None
    assert drag.repeats.count == 3
    assert "agrees" in finding_words(drag).sentence


def test_lift_by_hand(told) -> None:
    # Race speed is the fastest gate, 10.1 m/s: lift times (10.1/12) squared.
    front = by_id(told)["lift.front"]
    assert front.value == pytest.approx((0.020 + 0.018 + 0.021) / 3 * (10.1 / 12) ** 2, rel=1e-6)
    balance = by_id(told)["lift.balance"]
    assert balance.value == pytest.approx((0.055 + 0.060 + 0.058 - 0.059) / 3, rel=1e-6)
    assert "The rear is lifted more than the front" in finding_words(balance).sentence
    assert any("no published source" in note for note in finding_words(balance).notes)
    assert any("10 N of it move" in note for note in finding_words(balance).notes)


def test_rolling_by_hand(told) -> None:
    friction = by_id(told)["rolling.friction"]
    assert friction.value == pytest.approx(0.0200, rel=0.01)
    assert friction.repeats is not None
    assert friction.repeats.count == 4
    assert any("both ways" in note for note in finding_words(friction).notes)


def test_times_and_their_spread(told) -> None:
    time = by_id(told)["runs.time.20m"]
    assert time.value is not None
    assert time.value == pytest.approx(1.918)
    # Two readings: t is 12.706, the spread 0.0085, so 0.076 either way.
    assert time.interval is not None
    assert time.interval.high - time.value == pytest.approx(12.706 * 0.006, rel=1e-3)
    assert time.repeats is not None
    assert time.repeats.values == (1.912, 1.924)
    assert by_id(told)["runs.gas"].value == pytest.approx(7.9)


def test_one_run_has_no_range(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        run(book, "Wren", 1.943)
        time = by_id(meaning(book, "Wren"))["runs.time.20m"]
    assert (time.value, time.interval) == (1.943, None)
    assert finding_words(time).figure == "1.943 s, one run"


def test_an_empty_book_says_what_is_missing(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        told = meaning(book, "Wren")
    assert [finding.id for finding in told.findings] == ["drag.estimate"]
    assert len(told.missing) == 4


def test_without_a_design_there_is_still_a_meaning(tmp_path: Path) -> None:
    with new_book(tmp_path, designs=False) as book:
        measure(book, "Kestrel")
        told = meaning(book, "Kestrel")
    found = by_id(told)
    assert "drag.estimate" not in found
    assert found["drag.tunnel"].value is not None
    assert found["rolling.friction"].value == pytest.approx(0.02, rel=0.02)
    assert "not known" in finding_words(found["lift.balance"]).sentence
    assert any("no design" in missing for missing in missing_words(told))


def test_a_design_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        entry = book.car("Wren")
        book.correct(
            type(entry.record), entry.id, replace(entry.record, design_text="format = 1\n[["), "torn"
        )
        told = meaning(book, "Wren")
    assert any("cannot be read" in missing for missing in missing_words(told))


def test_a_design_file_may_take_its_place(tmp_path: Path, root: Path) -> None:
    with new_book(tmp_path, designs=False) as book:
        told = meaning(book, "Wren", MeaningOptions(design=str(root / "samples" / "wren.toml")))
    assert "drag.estimate" in by_id(told)


def test_no_such_car(tmp_path: Path) -> None:
    with new_book(tmp_path) as book, pytest.raises(ProblemsError, match="Kestrel"):
        meaning(book, "Kestral")


def test_race_speed_comes_from_the_book_or_from_the_reader(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        measure(book, "Kestrel")

        def words(options: MeaningOptions | None = None) -> str:
            return finding_words(by_id(meaning(book, "Kestrel", options))["lift.front"]).sentence

        assert "At 20 m/s" in words()
        book.add(FrozenPrediction("Kestrel", 1.2, 1.1, 1.3, top_speed_m_s=18.0), at=BEFORE)
        assert "At 18 m/s" in words()
        run(book, "Kestrel", 1.2, speed_m_s=15.0)
        assert "At 18 m/s" in words()
        assert "At 12 m/s" in words(MeaningOptions(race_m_s=12.0))


def test_the_tunnel_section_is_allowed_for(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        measure(book, "Kestrel")
        free = by_id(meaning(book, "Kestrel"))["drag.tunnel"]
        shut = by_id(meaning(book, "Kestrel", MeaningOptions(section_mm2=90_000)))["drag.tunnel"]
    assert free.value is not None
    assert shut.value == pytest.approx(free.value * 0.985, rel=2e-3)
    assert any("section is not known" in note for note in finding_words(free).notes)
    assert any("fills 3.0" in note for note in finding_words(shut).notes)


def test_run_out_from_the_top_is_counted_from_the_foot(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(RollTest("Wren", 150.0, 579.6, 6616.0), at=BEFORE)
        book.add(RollTest("Swift", 150.0, 579.6, 6616.0 + 579.6, MeasuredFrom.TOP), at=BEFORE)
        first, second = (by_id(meaning(book, car))["rolling.friction"].value for car in ("Wren", "Swift"))
    assert first is not None
    assert second == pytest.approx(first, rel=0.01)


# ---------------------------------------------------------------- readings that cannot be true


@pytest.mark.parametrize(
    ("record", "id_", "words"),
    [
        (TunnelReading("Wren", 12.0, -0.02), "drag.tunnel", "pull a car forward"),
        (TunnelReading("Wren", 12.0, 0.0), "drag.tunnel", "pull a car forward"),
        (TunnelReading("Wren", 12.0, 39.2), "drag.tunnel", "twice the car's frontal area"),
        (TunnelReading("Wren", 12.0, 0.1, front_lift_n=3.0, rear_lift_n=0.1), "lift.balance", "car's weight"),
        (
            TunnelReading("Wren", 12.0, 0.1, front_lift_n=-3.0, rear_lift_n=0.1),
            "lift.balance",
            "presses down",
        ),
        (RollTest("Wren", 700.0, 600.0, 5000.0), "rolling.friction", "not as high"),
        (RollTest("Wren", 0.0, 600.0, 5000.0), "rolling.friction", "not as high"),
        (RollTest("Wren", 100.0, 600.0, 0.0), "rolling.friction", "past the foot"),
        (RollTest("Wren", 100.0, 600.0, 500.0, MeasuredFrom.TOP), "rolling.friction", "past the foot"),
        (RollTest("Wren", 150.0, 600.0, 1e6), "rolling.friction", "so easily"),
    ],
)
def test_what_cannot_be_true_is_questioned_and_not_used(tmp_path, record, id_, words) -> None:
    with new_book(tmp_path) as book:
        book.add(record, at=BEFORE)
        told = meaning(book, "Wren")
    assert any(words in doubt for doubt in finding_words(by_id(told)[id_]).doubts)
    meaning_text(told, width=80)
    meaning_data(told)


def test_air_that_stands_still_means_nothing(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(TunnelReading("Wren", 0.0, 0.1), at=BEFORE)
        assert "drag.tunnel" not in by_id(meaning(book, "Wren"))


def test_zero_grams_is_no_mass(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        book.add(MassReading("Wren", WeighingStage.COMPLETE, 0.0), at=BEFORE)
        assert "mass.complete" not in by_id(meaning(book, "Wren"))


def test_a_car_that_changed_between_weighings_is_questioned(tmp_path: Path) -> None:
    with new_book(tmp_path) as book:
        for grams in (130.0, 121.0):
            book.add(MassReading("Wren", WeighingStage.COMPLETE, grams), at=BEFORE)
        mass = by_id(meaning(book, "Wren"))["mass.complete"]
        assert "changed in between" in finding_words(mass).doubts[0]


def test_a_run_that_did_not_finish_does_not_count(tmp_path: Path) -> None:
    from bodyshop.records.book.model import RunEnd

    with new_book(tmp_path) as book:
        book.add(TrackRun("Wren", 20_000.0, time_s=9.0, end=RunEnd.STOPPED), at=BEFORE)
        assert not any(id_.startswith("runs") for id_ in by_id(meaning(book, "Wren")))


# ---------------------------------------------------------------- text and JSON


def test_the_page_fits_and_calls_nothing_safe(told) -> None:
    for width in (60, 80, 100):
        page = meaning_text(told, width=width)
        assert max(len(line) for line in page.splitlines()) <= width
        assert not re.search(r"\bsafe", page, re.IGNORECASE)
    assert len(meaning_text(told, width=80, short=True)) < len(meaning_text(told, width=80))


def test_each_reading_is_shown(told) -> None:
    page = " ".join(meaning_text(told, width=80).split())
    assert "3 readings: 121.4, 121.5, 121.4 g; mean 121.433, spread 0.058" in page
    assert "2 readings: 1.912, 1.924 s" in page


def test_the_json_is_what_the_schema_says(told) -> None:
    document = valid(meaning_data(told))
    drag = next(each for each in document["findings"] if each["id"] == "drag.tunnel")
    assert drag["unit"] == "cm2"
    assert drag["interval"]["low"] < drag["value"] < drag["interval"]["high"]
    assert len(drag["repeats"]["values"]) == 3
