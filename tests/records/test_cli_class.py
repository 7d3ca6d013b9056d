from __future__ import annotations

import csv
import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from bodyshop.app.cli.classes import Watch
from bodyshop.app.cli.console import Console
from bodyshop.app.cli.targets import write_own
from bodyshop.foundation.files.manifest import MANIFEST
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.output.html.classroom import GENERATOR
from tests.app.running import run_here
from tests.records.classes import mixed, put, square


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def good(here: Path) -> Path:
    """A class of two cars that pass."""
    put(here, "good/wren.toml", square())
    put(here, "good/robin.toml", square("Robin", tail=41.5))
    return here / "good"


def test_exit_codes(here: Path, good: Path, capsys) -> None:
    assert run_here(capsys, "class", "good").code == 0
    put(good, "wide.toml", square("Wagtail", half=23))
    assert run_here(capsys, "class", "good").code == 1
    put(good, "empty.toml", "")
    ran = run_here(capsys, "class", "good")
    assert ran.code == 2
    assert ran.err == ""
    assert ran.out.startswith("4 designs in good: 2 pass, 1 fail, 1 cannot be read.\n")
    assert "good/empty.toml: the file is empty" in ran.out.replace("\\", "/")


def test_the_help_tells_the_exit_codes(here: Path, capsys) -> None:
    text = " ".join(run_here(capsys, "class", "--help").out.split())
    assert (
        "Exit code 0 says that all pass, 1 that a car breaks a rule, 2 that something could not be read"
        in text
    )


def test_a_class_of_nobody(here: Path, capsys) -> None:
    (here / "empty").mkdir()
    put(here, "rules/ours.toml", 'format = 1\nname = "Ours"\ninherits = "quarry-lane"\n')
    ran = run_here(capsys, "class", "empty")
    assert (ran.code, ran.out) == (2, "")
    assert "error class-empty: there is no design in this folder" in ran.err
    ran = run_here(capsys, "class", "rules")
    assert (ran.code, ran.out) == (2, "")
    assert "no design in this folder, only a rulebook" in ran.err


@pytest.mark.parametrize("name", ["", " ", "nowhere", "good/wren.toml", "a\0b"])
def test_what_is_no_folder(good: Path, capsys, name: str) -> None:
    ran = run_here(capsys, "class", name)
    assert (ran.code, ran.out) == (2, "")
    assert "error file-" in ran.err
    assert "Traceback" not in ran.err


def test_the_samples_come_along(here: Path, capsys) -> None:
    ran = run_here(capsys, "class", "samples")
    assert ran.code == 1
    assert ran.err.startswith('No folder "samples" here')
    assert "Kestrel" in ran.out


def test_json_alone_on_the_output(good: Path, capsys) -> None:
    ran = run_here(capsys, "class", "good", "--json", "--csv", "class.csv")
    data = json.loads(ran.out)
    assert (data["format"], data["version"], data["exit_code"], ran.code) == ("class", 1, 0, 0)
    assert ran.err == "Written: class.csv\n"


def test_everything_into_a_folder(good: Path, capsys) -> None:
    ran = run_here(capsys, "class", "good", "--out", "out/class")
    assert ran.code == 0
    folder = good.parent / "out" / "class"
    assert {file.name for file in folder.iterdir()} == {"class.csv", "class.html", "class.json", MANIFEST}
    table = (folder / "class.csv").read_text(encoding="utf-8-sig")
    assert len(list(csv.reader(table.splitlines()))) == 3
    assert json.loads((folder / "class.json").read_text(encoding="utf-8"))["counts"]["pass"] == 2
    assert GENERATOR in (folder / "class.html").read_text(encoding="utf-8")
    before = (folder / "class.csv").read_bytes()
    assert run_here(capsys, "class", "good", "--out", "out/class").code == 0
    assert (folder / "class.csv").read_bytes() == before


def test_other_files_of_ours_in_the_folder_stay(good: Path, capsys) -> None:
    assert run_here(capsys, "templates", "good/wren.toml", "--format", "svg", "--out", "out").code == 0
    papers = {file.name: file.read_bytes() for file in Path("out").iterdir() if file.suffix == ".svg"}
    assert papers
    assert run_here(capsys, "class", "good", "--out", "out").code == 0
    assert {name: (Path("out") / name).read_bytes() for name in papers} == papers
    assert run_here(capsys, "templates", "good/wren.toml", "--format", "svg", "--out", "out").code == 0
    assert Path("out/class.csv").exists()


@pytest.mark.parametrize("option", ["--csv", "--html"])
def test_nobody_elses_file_is_written_over(good: Path, capsys, option: str) -> None:
    design = good / "wren.toml"
    before = design.read_bytes()
    ran = run_here(capsys, "class", "good", option, "good/wren.toml")
    assert (ran.code, ran.out) == (2, "")
    assert "something that we did not write has this name" in " ".join(ran.err.split())
    assert design.read_bytes() == before


def test_files_of_ours_are_written_over(good: Path, capsys) -> None:
    words = ("class", "good", "--csv", "c.csv", "--html", "c.html")
    assert run_here(capsys, *words).code == 0
    first = Path("c.csv").read_bytes()
    put(good, "third.toml", square("Finch", tail=41))
    assert run_here(capsys, *words).code == 0
    assert Path("c.csv").read_bytes() != first
    # A table saved by another program keeps its heading, in other order it is somebody's work.
    Path("c.csv").write_text("bench,car\n4,Wren\n", encoding="utf-8")
    assert run_here(capsys, *words).code == 2
    assert Path("c.csv").read_text(encoding="utf-8") == "bench,car\n4,Wren\n"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--csv", "nowhere/c.csv"), "there is no folder to write it into"),
        (("--csv", "good"), "this is a folder, not a file"),
        (("--html", "good"), "this is a folder, not a file"),
        (("--out", "good/wren.toml"), "this is a file, not a folder"),
        (("--csv", "c.csv", "--html", "./c.csv"), "the table and the page cannot be one file"),
        (("--csv", ""), "no file is named"),
        (("--csv", "a\0b"), "no file is named"),
        (("--csv", "n" * 300 + ".csv"), "cannot be written"),
        (("--jobs", "0"), '"0" is not a number of jobs; say 1 to 60'),
        (("--jobs", "two"), '"two" is not a number of jobs'),
        (("--jobs", "-1"), "--jobs"),
        (("--runs", "1e3"), '"1e3" is not a number of runs'),
        (("--spare", "101"), '"101" is not a number of spares; say 0 to 100'),
        (("--rulebook", "quary-lane"), "did you mean quarry-lane?"),
        (("--division", "open"), 'there is no division "open"'),
    ],
)
def test_what_cannot_be_is_told_before_the_work(
    good: Path, capsys, monkeypatch, words: tuple[str, ...], told: str
) -> None:
    ran = run_here(capsys, "class", "good", *words)
    assert ran.code == 2
    assert told in " ".join((ran.err + ran.out).split())
    assert "Traceback" not in ran.err
    assert sorted(file.name for file in good.parent.iterdir()) == ["good"]


def test_a_place_that_turns_out_to_be_closed_costs_one_file(good: Path, capsys, monkeypatch) -> None:

    def refuse(path: Path, data: bytes) -> None:
        if path.name == "c.csv":
            raise WriteRefusedError(str(path), "the disk is full")
        write_own(path, data)

    monkeypatch.setattr("bodyshop.app.cli.classroom.write_own", refuse)
    ran = run_here(capsys, "class", "good", "--csv", "c.csv", "--html", "c.html")
    assert ran.code == 2
    assert "2 designs in good" in ran.out
    assert "Written: c.html" in ran.out
    assert ran.err == "c.csv cannot be written: the disk is full\n"
    assert Path("c.html").exists()


def test_runs_and_spares_as_asked(good: Path, capsys) -> None:
    ran = run_here(capsys, "class", "good", "--json", "--runs", "5", "--spare", "0")
    stock = json.loads(ran.out)["stock"]
    cartridges = next(each for each in stock["lines"] if each["supply"] == "cartridges")
    assert (cartridges["need"], cartridges["get"]) == (10, 10)
    assert (stock["cartridges_per_car"], stock["spare_share"]) == (5, 0)


def test_rulebook_and_division_as_asked(good: Path, capsys) -> None:
    ran = run_here(
        capsys, "class", "good", "--json", "--rulebook", "quarry-lane-league", "--division", "open"
    )
    (book,) = json.loads(ran.out)["rulebooks"]
    assert book["division"] == "open"
    assert Path(book["file"]).stem == "quarry-lane-league"


def test_a_folder_that_may_not_be_read_is_listed(good: Path, capsys) -> None:
    if sys.platform == "win32" or os.geteuid() == 0:
        pytest.skip("this user may read everything")
    locked = good / "locked"
    locked.mkdir(mode=0)
    try:
        ran = run_here(capsys, "class", "good")
    finally:
        locked.chmod(0o700)
    assert ran.code == 2
    assert "the folder may not be read" in ran.out


def test_strange_files_are_listed_and_stop_nothing(here: Path, capsys) -> None:
    mixed(here / "class")
    for name in ("with space.toml", "שלום.toml", "🐦.toml", "-dash.toml", "=sum.toml"):
        shutil.copy(here / "class" / "wren.toml", here / "class" / name)
    if sys.platform != "win32":
        shutil.copy(here / "class" / "wren.toml", here / "class" / "two\nlines.toml")
        with open(os.path.join(os.fsencode(here / "class"), b"half-\xff.toml"), "wb") as half:  # noqa: PTH123, PTH118
            half.write(square("Half").encode("utf-8"))
        os.mkfifo(here / "class" / "pipe.toml")
        (here / "class" / "gone.toml").symlink_to(here / "nowhere.toml")
    ran = run_here(capsys, "class", "class", "--out", "out")
    assert ran.code == 2
    assert ran.err == ""
    assert max(map(len, ran.out.splitlines())) <= 80
    data = json.loads(Path("out/class.json").read_text(encoding="utf-8"))
    assert data["counts"]["unread"] == (7 if sys.platform == "win32" else 9)
    assert data["counts"]["pass"] == (7 if sys.platform == "win32" else 9)
    page = Path("out/class.html").read_bytes()
    page.decode("utf-8")


# ---------------------------------------------------------------- progress


def test_progress_has_a_count_and_the_time_left(monkeypatch: pytest.MonkeyPatch) -> None:
    from io import StringIO

    clock = [100.0]
    monkeypatch.setattr("bodyshop.app.cli.classes.time.monotonic", lambda: clock[0])
    shown = StringIO()
    console = Console(StringIO(), shown, err_is_terminal=True)
    with Watch(console) as watch:
        clock[0] += 0.5
        watch.done(100, 1000)
        assert shown.getvalue() == ""
        clock[0] += 1.0
        watch.done(200, 1000)
        # 100 took a second: the other 800 take eight.
        assert "200 of 1000, about 8 s left" in shown.getvalue()
        clock[0] += 500.0
        watch.done(300, 1000)
        assert "300 of 1000, about 29 min left" in shown.getvalue()
        watch.done(1000, 1000)
        assert shown.getvalue().rstrip().endswith("1000 of 1000")
    assert shown.getvalue().endswith("\r")


def test_quick_work_shows_no_bar(good: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from io import StringIO

    monkeypatch.setattr("bodyshop.app.cli.classes.time.monotonic", lambda: 5.0)
    shown = StringIO()
    with Watch(Console(StringIO(), shown, err_is_terminal=True)) as watch:
        watch.done(1, 2)
        watch.done(2, 2)
    assert shown.getvalue() == ""
