"""`bodyshop trial` as it is typed."""

from __future__ import annotations

import io
import json
import re
import shutil
import sys
from pathlib import Path

import pytest

from bodyshop.foundation.units.instruments import ForceUnit
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    KINDS,
    AirflowSeen,
    Flow,
    MassReading,
    RollTest,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from tests.app.running import Ran, run_apart, run_here
from tests.documents import valid
from tests.records.trial_books import kestrel_book


@pytest.fixture
def trial(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> Ran:
        return run_here(capsys, "trial", *words)

    return call


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("ready") / "class.trials"
    kestrel_book(place)
    return place


@pytest.fixture
def begun(trial, tmp_path: Path, ready: Path):
    shutil.copy(ready, tmp_path)
    return trial


def the(kind: str):
    with Book.open("class.trials") as book:
        return [entry.record for entry in book.records(KINDS[kind])]


def test_a_new_book_takes_the_track_from_the_rulebook(trial) -> None:
    made = trial("new", "Quarry Lane Sprint", "--rulebook", "quarry-lane", "--gates", "5m,10m")
    assert (made.code, made.err) == (0, "")
    (event,) = the("event")
    assert (event.name, event.track_mm, event.gates_mm) == ("Quarry Lane Sprint", 20000.0, (5000.0, 10000.0))
    again = trial("new", "Quarry Lane Sprint")
    assert again.code == 2
    assert "never written over" in " ".join(again.err.split())


def test_a_car_comes_with_its_design(trial) -> None:
    trial("new", "Quarry Lane Sprint")
    assert trial("add", "car", "kestrel").code == 0
    (car,) = the("car")
    assert (car.name, car.bench, car.rulebook, car.design_file) == (
        "Kestrel",
        "Bench 4",
        "quarry-lane",
        "samples/kestrel.toml",
    )
    assert 'name = "Kestrel"' in car.design_text
    assert re.fullmatch(r"[A-Z0-9]{4}-[A-Z0-9]{4}", car.fingerprint)


@pytest.mark.parametrize(
    ("words", "record"),
    [
        ("mass Kestrel 341,2 blank", MassReading("Kestrel", WeighingStage.BLANK, 341.2)),
        (
            "mass kestrel mass=80oz stage=complete resolution=8oz --confirm",
            MassReading("Kestrel", WeighingStage.COMPLETE, 80 * 28.349523125, 8 * 28.349523125),
        ),
        (
            "airflow Kestrel tail reversed speed=72km/h x=280",
            AirflowSeen("Kestrel", "tail", Flow.REVERSED, 280.0, 20.0),
        ),
        (
            "roll Kestrel 6.6m ramp-height=15cm ramp-length=580 surface=lino direction=back",
            RollTest("Kestrel", 150.0, 580.0, 6600.0, surface="lino", direction="back"),
        ),
        (
            "run Kestrel 1.043s lane=2 gates=5000=0.4,10000=0.63 cartridge-before=29.1 cartridge-after=21.2",
            TrackRun(
                "Kestrel",
                20000.0,
                1.043,
                lane=2,
                gates_mm_s=((5000.0, 0.4), (10000.0, 0.63)),
                cartridge_before_g=29.1,
                cartridge_after_g=21.2,
            ),
        ),
    ],
)
def test_a_measurement_is_noted_in_the_units_it_was_read_in(begun, words: str, record: object) -> None:
    ran = begun("add", *words.split())
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(f"Saved: {words.split(' ', maxsplit=1)[0]} 1, Kestrel")
    assert the(words.split(" ", maxsplit=1)[0]) == [record]


def test_a_force_without_a_unit_is_in_that_of_the_balance(begun) -> None:
    ran = begun(
        "add", "drag", "Kestrel", "speed=20", "unit=gf", "drag=18.5", "drag-zero=0.3", "front-lift=-2"
    )
    assert ran.code == 0, ran.err
    (found,) = the("drag")
    assert isinstance(found, TunnelReading)
    assert found.unit is ForceUnit.GF
    assert found.net_drag_n == pytest.approx(18.2 * 9.80665e-3)
    assert found.net_front_lift_n == pytest.approx(-2 * 9.80665e-3)
    assert begun("add", "drag", "Kestrel", "speed=20", "drag=18.5gf").code == 0
    assert the("drag")[1].unit is ForceUnit.GF


def test_what_cannot_be_true_waits_for_a_word(begun) -> None:
    words = ("add", "run", "Kestrel", "0.1s")
    ran = begun(*words)
    assert ran.code == 2
    assert "200 m/s" in ran.err
    assert "--confirm" in ran.err
    assert the("run") == []
    ran = begun(*words, "--confirm")
    assert ran.code == 0
    with Book.open("class.trials") as book:
        assert "200 m/s" in book.records(TrackRun)[0].doubt


def test_repeats_are_summed_as_they_come(begun) -> None:
    for time in ("1.043", "1.061"):
        begun("add", "run", "Kestrel", time)
    ran = begun(
        "add", "run", "Kestrel", "1.052", "--by", "Bench 2", "--at", "2031-05-14T10:30+01:00", "lane=2"
    )
    assert "3 readings, mean 1.0520 s, interval 1.0296 to 1.0744 s" in " ".join(ran.out.split())
    with Book.open("class.trials") as book:
        last = next(entry for entry in book.records(TrackRun) if entry.by == "Bench 2")
        assert last.at.isoformat() == "2031-05-14T10:30:00+01:00"
        assert last.record.lane == 2
    shown = begun("show", "Kestrel")
    assert "1.0520, 1.0430, 1.0610 s" in shown.out or "1.0430, 1.0610" in shown.out
    data = valid(begun("show", "Kestrel", "--json").out)
    assert valid(begun("list", "run", "--json").out)["entries"] == data["runs"]
    (times,) = [each for each in data["repeats"] if each["what"] == "time"]
    assert sorted(times["values"]) == [1.043, 1.052, 1.061]
    assert times["interval"] == pytest.approx([1.02964, 1.07436], abs=1e-5)


def test_a_correction_and_a_strike_stay_in_sight(begun) -> None:
    begun("add", "mass", "Kestrel", "314.2", "blank")
    ran = begun("correct", "mass", "1", "mass=341.2g", "--because", "digits swapped")
    assert (ran.code, ran.err) == (0, "")
    assert begun("strike", "mass", "2", "--because", "another car").code == 0
    assert begun("list", "mass").out == "There is none.\n"
    shown = " ".join(begun("list", "mass", "--history").out.split())
    assert "corrects 1: digits swapped" in shown
    assert "strikes 2: another car" in shown
    for words, expected in (
        (("correct", "mass", "1", "mass=1", "--because", "x"), "was corrected already"),
        (("correct", "mass", "2", "--because", "x"), "nothing to change was given"),
        (("correct", "mass", "2", "mass=340", "--because", " "), "wants a reason"),
        (("correct", "prediction", "1", "time=1", "--because", "x"), "never corrected"),
        (("strike", "mass", "9", "--because", "x"), "no mass record number 9"),
    ):
        ran = begun(*words)
        assert ran.code == 2
        assert expected in ran.err


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("add", "run", "Kestrle", "1"), "did you mean Kestrel?"),
        (("add", "run", "Kestrel", "tiem=1"), "did you mean time?"),
        (("add", "run", "Kestrel", "time=fast"), '"fast" is not a number'),
        (("add", "run", "Kestrel", "1", "2"), '"2" names no field'),
        (("add", "run", "Kestrel", "1", "time=2"), "given twice"),
        (("add", "mass", "Kestrel", "341"), "stage is missing"),
        (("add", "mass", "Kestrel", "341", "blnk"), "did you mean blank?"),
        (("add", "mess", "Kestrel"), "did you mean mass?"),
        (("add", "airflow", "Kestrel", "tail", "reversed", "photo=none.jpg"), "there is no such photo"),
        (("list", "mas"), "did you mean mass?"),
        (("list", "--book", "other.trials"), "did you mean class.trials?"),
        (("lst",), "did you mean list?"),
        (("show", "Nobody"), 'no car "Nobody"'),
        (("new", "X", "--track", "far", "--book", "b.trials"), '"far" is not a number'),
        (("import", "nothing.csv"), "does not say what kind"),
        (("columns", "mas"), "did you mean mass?"),
        (("salvage", "none.trials", "new.trials"), "no such book"),
    ],
)
def test_slips_are_told_in_a_sentence(begun, words: tuple[str, ...], expected: str) -> None:
    ran = begun(*words)
    assert ran.code == 2
    assert expected in " ".join(ran.err.split())
    assert "Sorry" not in ran.err


def test_a_photo_is_known_again(begun, tmp_path: Path) -> None:
    (tmp_path / "tail.jpg").write_bytes(b"picture")
    assert begun("add", "airflow", "Kestrel", "tail", "attached", "photo=tail.jpg").code == 0
    (seen,) = the("airflow")
    # sha256sum of the seven letters, by another program
    assert seen.photo_sha256 == "2cea274d0bedc39ec4ab6ba9e59ec889e3ed6fb56a1cf088a64d9b383378dc97"


def test_tables_go_out_and_come_in(begun) -> None:
    begun("add", "mass", "Kestrel", "341.2", "blank")
    assert begun("export").code == 0
    assert sorted(file.name for file in Path("class-tables").glob("*.csv")) == [
        "car.csv",
        "event.csv",
        "mass.csv",
    ]
    ran = begun("import", "class-tables", "--book", "copy.trials")
    assert (ran.code, ran.err) == (0, "")
    with Book.open("class.trials") as one, Book.open("copy.trials") as two:
        for kind in KINDS.values():
            assert one.records(kind, history=True) == two.records(kind, history=True)
    Path("mass.csv").write_text("car;stage;mass_g\nKestrel;sawn;140,5\n", encoding="utf-8")
    assert "1 added" in begun("import", "mass.csv").out
    Path("weights.csv").write_text("car,stage,mass_g\nKestrel,sawn,x\n", encoding="utf-8")
    ran = begun("import", "weights.csv", "--kind", "mass")
    assert ran.code == 2
    assert "weights.csv:2:14" in ran.err
    assert [record.mass_g for record in the("mass")] == [341.2, 140.5]
    assert begun("export", "run", "--empty", "--out", "blank").code == 0
    assert Path("blank/run.csv").read_text(encoding="utf-8-sig").startswith("id,at,by,note,doubt")


def test_every_wrong_row_of_a_long_table_is_told(begun) -> None:
    rows = "".join(f"Kestrel,blank,{'x' if k % 2 else 341}\n" for k in range(120))
    Path("mass.csv").write_text(f"car,stage,mass_g\n{rows}", encoding="utf-8")
    ran = begun("import", "mass.csv")
    assert ran.code == 2
    assert len(re.findall(r"^mass\.csv:\d+:15: error csv-cell", ran.err, re.MULTILINE)) == 60
    assert "Nothing was read in." in ran.err
    assert the("mass") == []


def test_columns_are_explained_with_units(begun) -> None:
    told = " ".join(begun("columns", "drag").out.split())
    assert "drag_lowest_n Lowest drag while it flickers. In N." in told
    assert "One of: N, gf, oz." in told
    assert "heat_lane" in begun("columns").out


def test_records_are_entered_at_the_keyboard(begun, monkeypatch: pytest.MonkeyPatch) -> None:
    typed = [
        "Kestrle", "Kestrel", "blnk", "blank", "341.2", "",  # a slip in the car and in the stage
        "kestrel", "", "341,4", "",  # the stage stays
        "Kestrel", "complete", "8430", "0.1", "no",  # asked about, and not stored
        "",
    ]  # fmt: skip
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(typed) + "\n"))
    ran = begun("enter", "mass", "--by", "Bench 4")
    assert ran.code == 0
    assert "2 records noted." in ran.out
    assert "did you mean Kestrel?" in " ".join(ran.err.split())
    assert "did you mean blank?" in ran.err
    assert "Not stored." in ran.out
    assert [(record.stage, record.mass_g) for record in the("mass")] == [
        (WeighingStage.BLANK, 341.2),
        (WeighingStage.BLANK, 341.4),
    ]


def test_the_end_of_the_input_ends_the_entry(begun, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("20000\n1.05\n"))
    ran = begun("enter", "run", "Kestrel")
    assert ran.code == 0
    assert the("run") == []


def test_a_damaged_book_is_salvaged(begun, tmp_path: Path) -> None:
    begun("add", "mass", "Kestrel", "341.2", "blank")
    place = tmp_path / "class.trials"
    data = place.read_bytes()
    place.write_bytes(data[: len(data) - 4096 * 2])
    ran = begun("list")
    assert ran.code == 2
    assert "salvage class.trials NEW" in " ".join(ran.err.split())
    ran = begun("salvage", "class.trials", "new.trials")
    assert ran.code == 0, ran.err
    assert begun("list", "--book", "new.trials").code == 0


def test_the_program_runs_in_a_process_of_its_own(tmp_path: Path) -> None:
    assert run_apart("trial", "new", "Quarry Lane Sprint", folder=tmp_path).returncode == 0
    ran = run_apart("trial", "list", "--json", folder=tmp_path)
    assert ran.returncode == 0
    assert json.loads(ran.stdout)["event"]["values"]["name"] == "Quarry Lane Sprint"


def test_no_word_calls_anything_safe(begun) -> None:
    told = begun("--help").out + begun("add", "--help").out + begun("columns").out
    for kind in KINDS:
        told += begun("columns", kind).out
    assert not re.search(r"\bsafe(ly|ty)?\b", told, re.IGNORECASE)


def test_a_sheet_read_in_twice_says_so(trial, tmp_path: Path) -> None:
    trial("new", "Quarry Lane Sprint")
    (tmp_path / "car.csv").write_text("name\nKestrel\n", encoding="utf-8")
    (tmp_path / "mass.csv").write_text("car,stage,mass_g\n" + 3 * "Kestrel,complete,52.3\n", encoding="utf-8")
    files = [str(tmp_path / name) for name in ("car.csv", "mass.csv")]
    assert "mass             3 added" in trial("import", *files).out
    again = trial("import", *files)
    assert again.code == 0
    assert "added\n" not in again.out
    assert "mass             3 there already" in again.out
    words = " ".join(again.out.split())
    assert "4 rows without a number say what a record of the book says already" in words


def test_a_new_book_says_what_its_timing_shows(trial) -> None:
    assert trial("new", "Quarry Lane Sprint", "--timing", "0.01s").code == 0
    assert the("event")[0].timing_s == 0.01
    assert "timed to 0.01 s" in trial("list").out
    assert trial("correct", "event", "1", "timing=0.1", "--because", "an older watch").code == 0
    assert the("event")[0].timing_s == 0.1
    refused = trial("new", "Quarry Lane Sprint", "--book", "b.trials", "--timing", "fast")
    assert (refused.code, "fast" in refused.err) == (2, True)
    assert trial("new", "Quarry Lane Sprint", "--book", "b.trials", "--timing", "0s").code == 2
