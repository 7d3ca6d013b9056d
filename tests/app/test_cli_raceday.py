from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, Event
from tests.app.running import Ran, run_here


@pytest.fixture(autouse=True)
def hall(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    with Book.create("class.trials", Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2)) as book:
        for number, bird in enumerate(("Kestrel", "Heron", "Wren"), 1):
            book.add(CarRecord(bird, f"Bench {number}"))
    return tmp_path


@pytest.fixture
def race(capsys: pytest.CaptureFixture[str]):
    def run(*words: str) -> Ran:
        return run_here(capsys, "raceday", *words)

    return run


def test_a_day_from_the_keyboard(race, monkeypatch: pytest.MonkeyPatch) -> None:
    assert race("enter").code == 0
    drawn = race("draw", "--rounds", "1", "--seed", "7")
    assert drawn.code == 0
    assert "--seed 7 draws the same again" in drawn.out
    monkeypatch.setattr("sys.stdin", io.StringIO("quick\n1,05\n\n1.20\n"))
    typed = race("times")
    assert typed.code == 0
    assert '"quick" is no time' in typed.out
    assert "noted: 1.050 s" in typed.out
    assert "1 heat still to be run" in typed.out
    # What was noted before the input ended is in the book.
    day = json.loads(race("standings", "--json").out)
    assert sorted(time for row in day["standings"] for time in row["times_s"]) == [1.05, 1.2]
    assert [lane["car"] for heat in day["heats"] for lane in heat["lanes"]].count(None) == 1


def test_a_time_that_can_hardly_be_is_asked_about(race, monkeypatch: pytest.MonkeyPatch) -> None:
    race("enter")
    race("draw", "--rounds", "2", "--seed", "7")
    # Three at their first run, then slips: one typed anew, one confirmed.
    monkeypatch.setattr("sys.stdin", io.StringIO("1.40\n1.41\n1.42\n13.9\nno\n1.39\n0.45\nyes\nq\n"))
    typed = " ".join(race("times").out.split())
    assert "? 13.9 s is far from the car's own time: 1.4" in typed
    assert "Is it so? yes or no: not noted" in typed
    assert typed.count("Is it so?") == 2
    assert "noted: 0.450 s" in typed
    day = json.loads(race("heats", "--json", "--all").out)
    lanes = [lane for heat in day["heats"] for lane in heat["lanes"] if lane["time_s"]]
    assert sorted(lane["time_s"] for lane in lanes) == [0.45, 1.39, 1.4, 1.41, 1.42]
    assert [lane["time_s"] for lane in lanes if lane["doubt"]] == [0.45]
    assert "? check: 20 m in 0.45 s is 44.4 m/s" in race("heats", "--all").out
    # One result by itself.
    last = day["heats"][-1]
    lane = next(each for each in last["lanes"] if each["car"] and each["time_s"] is None)
    words = (str(last["number"]), str(lane["lane"]))
    refused = race("note", *words, "19.1")
    assert refused.code == 2
    said = " ".join(refused.err.split())
    assert "This result is not stored. If it is so, say it once more with --confirm" in said
    assert race("note", *words, "19.1", "--confirm").code == 0
    assert "19.100 s stands although it was asked about" in " ".join(race("standings").out.split())


def test_an_official_decides_over_cars_that_have_not_passed(race) -> None:
    for step in (("enter",), ("draw", "--rounds", "1", "--seed", "1")):
        ran = race(*step)
        said = " ".join(ran.err.split())
        assert "Not inspected: Kestrel, Heron, Wren." in said, step
        assert "An official decides if they may race: raceday allow CAR --because" in said
    assert "Not inspected" in race("standings").out
    assert race("allow").code == 2
    assert "Allowed to race: Wren: looked at" in race("allow", "wren", "--because", "looked at").out
    assert "Not inspected: Kestrel, Heron." in race("standings").out
    assert race("allow", "--because", "inspected on paper").code == 0
    assert "Not inspected" not in race("standings").out.split("may race")[0]
    assert "allowed already" in race("allow", "--because", "again").out
    data = json.loads(race("standings", "--json").out)
    assert [each["allowed"] for each in data["admissions"]] == ["inspected on paper"] * 2 + ["looked at"]
    assert data["provisional"] == ["Heats still to be run: 1, 2."]
    assert "provisional. Heats still to be run: 1, 2." in " ".join(race("papers", "--out", "p").err.split())


def test_corrections_rulings_and_papers(race, hall: Path) -> None:
    race("enter")
    race("draw", "--seed", "1", "--rounds", "1")
    assert race("note", "1", "1", "1.402").code == 0
    refused = race("note", "1", "1", "1.042")
    assert refused.code == 2
    assert "a correction says why" in refused.err
    assert "--because" in refused.err
    assert '"1,5" is not a whole number' in race("note", "1,5", "1", "1.042").err
    assert race("note", "1", "1", "1.042", "--because", "misread").code == 0
    assert race("rerun", "1", "--because", "false start").code == 0
    assert race("out", "wren", "--because", "lost a wheel").code == 0
    shown = race("standings").out
    assert "misread" in shown
    assert "Wren is out" in shown
    assert race("papers", "--out", "papers").code == 0
    assert (hall / "papers" / "final.pdf").read_bytes().startswith(b"%PDF")
    assert race("back", "Wren", "--because", "a wheel from the box").code == 0


def test_eliminations_to_the_end(race) -> None:
    race("enter")
    race("allow", "--because", "inspected by hand")
    first = race("eliminate", "--by-chance", "--seed", "2")
    assert "Through without a run" in first.out
    told, heat = first, 0
    while "The final is run" not in told.out and heat < 5:
        heat += 1
        for lane, time in (("1", "1.10"), ("2", "1.20")):
            assert race("note", str(heat), lane, time).code == 0
        told = race("eliminate")
    assert "The final is run" in told.out
    assert told.out.count("\n") == 5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("draw",), "no car is entered"),
        (("heats", "--book", "nowhere.trials"), "nowhere.trials"),
        (("note", "9", "1", "1.0"), "there is no heat 9"),
        (("note", "x", "1", "1.0"), '"x" is not a whole number'),
        (("note", "1", "1", "soon"), '"soon" is no time'),
        (("out", "Kestle", "--because", "late"), "did you mean Kestrel"),
        (("out", "Kestrel"), "--because"),
        (("draw", "--seed", "-3"), "number of a draw"),
        (("draw", "--counts", "bets"), "did you mean best"),
        (("eliminate", "--lanes", "12"), "2 to 8"),
        (("standigs",), "did you mean standings"),
        ((), "VERB"),
    ],
)
def test_wrong_words_are_told(race, words, said) -> None:
    ran = race(*words)
    assert ran.code == 2
    assert said in " ".join(ran.err.split())
    assert "Traceback" not in ran.err


def test_help_of_the_command_and_of_a_verb(race) -> None:
    assert "eliminate" in race("--help").out
    assert "--because" in race("note", "--help").out


def test_heats_before_and_after(race) -> None:
    assert race("heats").out == "No heats.\n"
    race("enter")
    race("draw", "--seed", "1", "--rounds", "1")
    assert "Heat 2" in race("heats").out
    assert json.loads(race("heats", "--json").out)["format"] == "raceday"


@pytest.mark.parametrize("width", ["60", "62", "70", "100"])
def test_what_was_noted_is_shown_on_a_narrow_page_too(
    race, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, width: str
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    race("enter")
    race("draw", "--rounds", "3", "--seed", "2")
    for heat in range(1, 7):
        race("note", str(heat), "1", f"1.{100 + heat}")
    ran = run_here(capsys, "trial", "show", "Kestrel")
    assert ran.code == 0
    assert max(len(line) for line in ran.out.splitlines()) <= int(width)
    assert "mean lies in" in " ".join(ran.out.split())


def test_a_mass_below_nothing_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run_here(capsys, "trial", "add", "mass", "Kestrel", "-5g", "complete")
    assert ran.code == 2
    assert '"-5g" begins with a minus' in ran.err
