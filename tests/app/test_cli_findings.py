"""`bodyshop trial meaning`, `race freeze`, `race compare` and `race fit`, as a person types them."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from bodyshop.output.guide.pages import page_source
from bodyshop.records.book.model import FrozenPrediction, TunnelReading
from tests.app.running import run_here
from tests.documents import valid
from tests.records.books import BEFORE, measure, new_book, run


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A class's book in the current folder, one of its cars measured."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    with new_book(tmp_path) as made:
        measure(made, "Kestrel")
    return tmp_path / "class.trials"


def test_the_meaning_of_a_car(book: Path, capsys) -> None:
    ran = run_here(capsys, "trial", "meaning", "kestrel")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.splitlines()[0] == "Kestrel, Bench 4: what its measurements mean"
    for heading in ("On the balance", "Drag", "Lift", "Rolling", "What to measure next"):
        assert f"\n{heading}\n" in ran.out
    short = run_here(capsys, "trial", "meaning", "kestrel", "--short")
    assert "How:" in ran.out
    assert "How:" not in short.out
    data = json.loads(run_here(capsys, "trial", "meaning", "kestrel", "--json").out)
    assert data["format"] == "trial-meaning"


def test_speed_and_section_are_heeded(book: Path, capsys) -> None:
    told = run_here(capsys, "trial", "meaning", "kestrel", "--speed", "17", "--tunnel-section", "900")
    words = " ".join(told.out.split())
    assert "At 17 m/s" in words
    assert "the car fills 3.0 % of the tunnel" in words


@pytest.mark.parametrize("bad", ["-3", "0", "nan", "inf", "fast", "1e99"])
def test_a_speed_that_is_none(book: Path, capsys, bad: str) -> None:
    ran = run_here(capsys, "trial", "meaning", "kestrel", f"--speed={bad}")
    assert ran.code == 2
    assert "is not a speed" in ran.err


def test_questions_are_no_failure(book: Path, capsys) -> None:
    from bodyshop.records.book.book import Book

    with Book.open(book) as opened:
        opened.add(TunnelReading("Wren", 12.0, -0.02, front_lift_n=9.0, rear_lift_n=9.0), at=BEFORE)
    ran = run_here(capsys, "trial", "meaning", "Wren")
    assert ran.code == 0
    assert "questioned above" in ran.out


def test_from_freezing_to_the_fit(book: Path, capsys) -> None:
    from bodyshop.records.book.book import Book

    early = run_here(capsys, "race", "compare")
    assert early.code == 0
    assert "nothing to compare yet" in " ".join(early.out.split())

    frozen = run_here(
        capsys, "race", "freeze", "--temperature", "20", "--pressure", "1010", "--by", "Bench 4"
    )
    assert (frozen.code, frozen.err) == (0, "")
    assert frozen.out.startswith("3 predictions frozen, fastest first")

    with Book.open(book) as opened:
        made = opened.records(FrozenPrediction)
        assert {entry.by for entry in made} == {"Bench 4"}
        for entry in made:  # the class predicts from now on, so its runs are noted later than that
            opened.add(_timed(entry.record.car, entry.record.time_s + 0.02), at=entry.at)

    compared = run_here(capsys, "race", "compare")
    assert compared.code == 0
    assert "3 of 3 cars lie inside their range" in " ".join(compared.out.split())
    data = json.loads(run_here(capsys, "race", "compare", "--json").out)
    assert [car["error_s"] for car in data["cars"]] == [0.02] * 3

    dry = run_here(capsys, "race", "fit", "--dry")
    assert "Not kept in the book" in dry.out
    kept = run_here(capsys, "race", "fit")
    assert "Kept in the book as record 1" in kept.out
    fitted = json.loads(run_here(capsys, "race", "fit", "--dry", "--json").out)
    assert fitted["impulse_factor"]["basis"] == "fitted to runs"
    assert fitted["hole_told"] is False


def _timed(car: str, seconds: float):
    from bodyshop.records.book.model import TrackRun

    return TrackRun(car, 20_000.0, time_s=seconds)


def test_what_cannot_be_done_is_told(book: Path, capsys) -> None:
    unknown = run_here(capsys, "race", "freeze", "Kestral")
    assert unknown.code == 2
    assert "did you mean Kestrel?" in " ".join(unknown.err.split())
    assert run_here(capsys, "race", "fit").code == 2
    assert "no such book" in run_here(capsys, "race", "compare", "--book", "other.trials").err
    hot = run_here(capsys, "race", "freeze", "--cartridge-temperature", "80")
    assert hot.code == 2
    assert "is not a temperature" in " ".join(hot.err.split())


def test_no_page_calls_a_run_safe(book: Path, capsys) -> None:
    from bodyshop.records.book.book import Book

    with Book.open(book) as opened:
        run(opened, "Kestrel", 1.9)
    for words in (("trial", "meaning", "kestrel"), ("race", "freeze"), ("race", "fit", "--dry")):
        assert "safe" not in run_here(capsys, *words).out.casefold()


def test_the_guide_shows_what_is_printed(book: Path, capsys) -> None:
    readme = page_source("measurements")
    start = readme.index("  Drag area in the tunnel: ")
    assert readme[start : readme.index("```", start)] in run_here(capsys, "trial", "meaning", "kestrel").out


def test_what_each_part_costs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys, root: Path) -> None:
    monkeypatch.chdir(root)
    monkeypatch.delenv("COLUMNS", raising=False)
    ran = run_here(capsys, "race", "drag", "samples/heron.toml")
    assert ran.code == 0
    assert ran.out.startswith("Heron: drag area before any test 17 cm² (")
    assert re.search(r"^  rear wheels +8\.2 +0\.34 to 0\.80 +2\.8 to 6\.5 +26 %$", ran.out, re.MULTILINE)
    assert "window edges facing the air" in ran.out
    assert "Aeronautical Engineer" in ran.out
    for columns in ("60", "80", "100"):
        monkeypatch.setenv("COLUMNS", columns)
        page = run_here(capsys, "race", "drag", "samples/heron.toml").out
        assert max(len(line) for line in page.splitlines()) <= int(columns)
    data = valid(run_here(capsys, "race", "drag", "samples/heron.toml", "--json").out)
    assert sum(part["share"] for part in data["parts"]) == pytest.approx(1.0, abs=1e-5)
    fast = json.loads(run_here(capsys, "race", "drag", "samples/heron.toml", "--json", "--speed", "25").out)
    assert fast["drag_area_cm2"]["value"] < data["drag_area_cm2"]["value"]
    assert run_here(capsys, "race", "drag", "samples/heron.toml", "--speed", "0").code == 2


@pytest.mark.parametrize("step", ["0.1g", "1g"])
def test_a_series_has_one_interval_wherever_it_is_shown(book: Path, capsys, step: str) -> None:
    for mass in ("51.8g", "52.3g", "52.9g"):
        run_here(capsys, "trial", "add", "mass", "Wren", mass, "complete", f"resolution={step}", "--confirm")
    for time in ("1.04", "1.05", "1.07"):
        run_here(capsys, "trial", "add", "run", "Wren", time, "--confirm")
    shown = json.loads(run_here(capsys, "trial", "show", "Wren", "--json").out)["repeats"]
    told = json.loads(run_here(capsys, "trial", "meaning", "Wren", "--json").out)["findings"]
    for what, finding in (("mass", "mass.complete"), ("time", "runs.time.20m")):
        (group,) = [each for each in shown if each["what"] == what]
        (meant,) = [each for each in told if each["id"] == finding]
        for held in (meant["interval"], meant["repeats"]["interval"]):
            assert [held["low"], held["high"]] == pytest.approx(group["interval"], abs=1e-6)
    # By hand: 51.8, 52.3, 52.9 g: s = 0.55076; t(0.975, 2) = 4.3027 (JCGM 100:2008, table G.2), so chance
    # is 1.3682 g either way; a step of 1 g is 1.96 / sqrt(12) = 0.5658 g: sqrt of the squares, 1.4805 g.
    mass = next(each for each in shown if each["what"] == "mass")
    assert mass["interval"][1] - mass["mean"] == pytest.approx(1.4805 if step == "1g" else 1.3694, abs=2e-4)
