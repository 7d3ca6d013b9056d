"""Every word of the command line that becomes a path or a number, with what no file and no number can be.

A word may be refused in a sentence (exit code 2) or be of use after all; it never makes the program stumble.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.app.running import run_here
from tests.records.trial_books import kestrel_book

NAMES = {
    "300 letters": "n" * 300,
    "a folder of 300 letters": "n" * 300 + "/wren.toml",
    "5000 letters": "n" * 5000,
    "a nul": "a\0b",
    "half a character": "a\ud800b",
    "a line end": "a\nb",
    "steering signs": "\x1b[2Ja",
    "below a file": "wren.toml/inside",
    "stars": "*" * 300,
    "empty": "",
    "a dot": ".",
}
PLACES = {
    "check": ("check", "{}"),
    "check json": ("check", "{}", "--json"),
    "check rulebook": ("check", "wren.toml", "--rulebook", "{}"),
    "check html": ("check", "wren.toml", "--html", "{}"),
    "check pdf": ("check", "wren.toml", "--pdf", "{}"),
    "measure": ("measure", "{}"),
    "fix": ("fix", "{}"),
    "templates": ("templates", "{}"),
    "templates out": ("templates", "wren.toml", "--format", "svg", "--out", "{}"),
    "buildsheet": ("buildsheet", "{}"),
    "solid": ("solid", "{}"),
    "make": ("make", "{}"),
    "new": ("new", "{}"),
    "class": ("class", "{}"),
    "class csv": ("class", ".", "--csv", "{}"),
    "class html": ("class", ".", "--html", "{}"),
    "class out": ("class", ".", "--out", "{}"),
    "classpapers": ("classpapers", "{}"),
    "race predict": ("race", "predict", "{}"),
    "race thrust": ("race", "predict", "wren.toml", "--thrust", "{}"),
    "race book": ("race", "predict", "wren.toml", "--book", "{}"),
    "race car": ("race", "predict", "wren.toml", "--book", "class.trials", "--car", "{}"),
    "race change pdf": ("race", "change", "wren.toml", "--set", "bore.height=24", "--svg", "{}"),
    "race drag": ("race", "drag", "{}"),
    "race freeze": ("race", "freeze", "{}"),
    "inspect": ("inspect", "{}"),
    "inspect values": ("inspect", "Kestrel", "--values", "{}"),
    "inspect book": ("inspect", "wren.toml", "--book", "{}"),
    "inspect out": ("inspect", "wren.toml", "B1=260mm", "--book", "class.trials", "--pdf", "--out", "{}"),
    "rulebook lint": ("rulebook", "lint", "{}"),
    "rulebook show": ("rulebook", "show", "{}"),
    "rulebook print": ("rulebook", "print", "quarry-lane", "--design", "{}"),
    "rulebook out": ("rulebook", "print", "quarry-lane", "--out", "{}"),
    "trial new": ("trial", "new", "A class", "--book", "{}"),
    "trial new name": ("trial", "new", "{}", "--book", "other.trials"),
    "trial new rulebook": ("trial", "new", "A class", "--book", "other.trials", "--rulebook", "{}"),
    "trial add car": ("trial", "add", "car", "{}"),
    "trial add": ("trial", "add", "mass", "{}", "blank", "300"),
    "trial photo": ("trial", "add", "airflow", "Kestrel", "where=tail", "seen=separated", "photo={}"),
    "trial show": ("trial", "show", "{}"),
    "trial show book": ("trial", "show", "Kestrel", "--book", "{}"),
    "trial export": ("trial", "export", "--out", "{}"),
    "trial export book": ("trial", "export", "--book", "{}"),
    "trial import": ("trial", "import", "{}"),
    "trial import kind": ("trial", "import", "--kind", "mass", "{}"),
    "trial import csv": ("trial", "import", "{}.csv"),
    "trial import book": ("trial", "import", "mass.csv", "--book", "{}"),
    "trial salvage": ("trial", "salvage", "{}", "new.trials"),
    "trial salvage new": ("trial", "salvage", "class.trials", "{}"),
    "raceday book": ("raceday", "heats", "--book", "{}"),
    "raceday papers": ("raceday", "papers", "--out", "{}"),
    "help": ("help", "{}"),
    "command": ("{}",),
}
NUMBERS = (
    "0",
    "-1",
    "1e-308",
    "5e-324",
    "1e308",
    "1e400",
    "nan",
    "inf",
    "-inf",
    "9" * 400,
    "9" * 4500,
    "1/0",
    "1.25e-05",
    "٣",
    "5e-324 mm",
    "1e308 in",
    "",
)
AMOUNTS = {
    "templates offset": ("templates", "wren.toml", "--format", "svg", "--offset={}"),
    "templates stations": ("templates", "wren.toml", "--format", "svg", "--gauges", "--stations={}"),
    "templates sheet": ("templates", "wren.toml", "--format", "svg", "--sheet={}x{}"),
    "templates calibrate": ("templates", "wren.toml", "--format", "svg", "--calibrate", "{}", "{}"),
    "solid chord": ("solid", "wren.toml", "--format", "nothing", "--chord={}"),
    "solid clearance": ("solid", "wren.toml", "--format", "nothing", "--jig", "--clearance={}"),
    "class runs": ("class", ".", "--jobs=1", "--runs={}"),
    "class spare": ("class", ".", "--jobs=1", "--spare={}"),
    "fix seconds": ("fix", "kestrel.toml", "--seconds={}"),
    "predict lane": ("race", "predict", "wren.toml", "--lane-length={}"),
    "predict gates": ("race", "predict", "wren.toml", "--gates={},10"),
    "predict temperature": ("race", "predict", "wren.toml", "--temperature={}"),
    "predict pressure": ("race", "predict", "wren.toml", "--pressure={}"),
    "predict humidity": ("race", "predict", "wren.toml", "--humidity={}"),
    "predict mass": ("race", "predict", "wren.toml", "--mass={}"),
    "predict drag": ("race", "predict", "wren.toml", "--drag={}"),
    "predict rolling": ("race", "predict", "wren.toml", "--rolling={}"),
    "predict line": ("race", "predict", "wren.toml", "--line={}"),
    "predict hole": ("race", "predict", "wren.toml", "--hole={}"),
    "predict charge": ("race", "predict", "wren.toml", "--charge={}"),
    "predict cartridge": ("race", "predict", "wren.toml", "--cartridge-temperature={}"),
    "predict impulse": ("race", "predict", "wren.toml", "--impulse={}"),
    "race drag speed": ("race", "drag", "wren.toml", "--speed={}"),
    "race change set": ("race", "change", "wren.toml", "--set", "bore.height={}"),
    "inspect length": ("inspect", "wren.toml", "B1={}"),
    "inspect step": ("inspect", "wren.toml", "B1=260mm@{}"),
    "inspect mass": ("inspect", "wren.toml", "car.mass={}g"),
    "inspect count": ("inspect", "wren.toml", "body.pieces={}"),
    "inspect steps": ("inspect", "wren.toml", "B1=260", "--step={}", "--balance-step={}"),
    "trial new track": ("trial", "new", "A class", "--book", "o.trials", "--track={}"),
    "trial new gates": ("trial", "new", "A class", "--book", "o.trials", "--gates={}"),
    "trial new lanes": ("trial", "new", "A class", "--book", "o.trials", "--lanes={}"),
    "trial mass": ("trial", "add", "mass", "Kestrel", "blank", "{}"),
    "trial drag": ("trial", "add", "drag", "Kestrel", "speed={}", "drag={}"),
    "trial roll": ("trial", "add", "roll", "Kestrel", "ramp-height={}", "ramp-length=580", "run-out=6600"),
    "trial run": ("trial", "add", "run", "Kestrel", "length=20m", "time={}"),
    "trial at": ("trial", "add", "mass", "Kestrel", "blank", "300", "--at={}"),
}


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a design, a table, and a book."""
    for name in ("wren", "kestrel"):
        shutil.copyfile(root / "samples" / f"{name}.toml", tmp_path / f"{name}.toml")
    (tmp_path / "mass.csv").write_text("car,stage,mass_g\nKestrel,blank,341.2\n", encoding="utf-8")
    kestrel_book(tmp_path / "class.trials")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("BODYSHOP_DEBUG", raising=False)
    return tmp_path


def holds(capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> list[str]:
    """What is wrong with a run: nothing, where it answers in words."""
    ran = run_here(capsys, *words)
    faults = []
    if "Sorry" in ran.err or "Traceback" in ran.err or "Warning" in ran.err:
        faults.append(f"{[word[:40] for word in words]}: {ran.err[-300:]}")
    if ran.code not in (0, 1, 2):
        faults.append(f"{[word[:40] for word in words]}: exit {ran.code}")
    if ran.code == 2 and not (ran.err + ran.out).strip():
        faults.append(f"{[word[:40] for word in words]}: not a word")
    return faults


@pytest.mark.parametrize("place", PLACES)
def test_a_name_that_no_file_can_have_is_told(
    here: Path, capsys: pytest.CaptureFixture[str], place: str
) -> None:
    faults: list[str] = []
    for name in NAMES.values():
        faults += holds(capsys, tuple(word.replace("{}", name) for word in PLACES[place]))
    assert faults == []


@pytest.mark.parametrize("place", AMOUNTS)
def test_a_number_beyond_any_measure_is_told(
    here: Path, capsys: pytest.CaptureFixture[str], place: str
) -> None:
    faults: list[str] = []
    for number in NUMBERS:
        faults += holds(capsys, tuple(word.replace("{}", number) for word in AMOUNTS[place]))
    assert faults == []
