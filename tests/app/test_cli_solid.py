"""`solid`: formats, the verdict first, the whole car, jigs with their cautions, and words it refuses."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
import trimesh

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.output.bundle.files import BundlePart, part_of
from tests.app.running import run_here


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with copies of two samples."""
    for name in ("wren", "lapwing", "plover"):
        shutil.copy(root / "samples" / f"{name}.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def written(folder: Path) -> set[str]:
    return {file.name for file in folder.iterdir()} - {"bodyshop-wrote.json"}


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_verdict_comes_first_and_all_three_formats(here: Path, capsys) -> None:
    ran = run_here(capsys, "solid", "lapwing.toml", "--out", "out")
    assert ran.out.splitlines()[0].startswith("Lapwing does not pass yet")
    assert ran.code == 1
    assert written(here / "out") == {"lapwing.stl", "lapwing.step", "lapwing.3mf"}
    assert ran.out.count("within 0.05 mm of the true shape") == 2


def test_formats_can_be_chosen_and_others_go(here: Path, capsys) -> None:
    assert run_here(capsys, "solid", "wren.toml", "--format", "3mf, STL", "--out", "out").code == 0
    assert written(here / "out") == {"wren.3mf", "wren.stl"}
    ran = run_here(capsys, "solid", "wren.toml", "--format", "step", "--out", "out")
    assert written(here / "out") == {"wren.step"}
    assert "Taken away" in ran.out


def test_the_car_and_the_jigs(here: Path, capsys) -> None:
    ran = run_here(
        capsys,
        "solid",
        "wren.toml",
        "--assembly",
        "--jig",
        "--clearance",
        "0.4 mm",
        "--format",
        "3mf",
        "--out",
        "o",
    )
    assert ran.code == 0
    jigs = {f"wren-jig-{name}.stl" for name in ("front", "rear", "bore")}
    assert written(here / "o") == {"wren.3mf", "wren-assembly.3mf", *jigs}
    assert {part_of(name, "wren") for name in written(here / "o")} == {BundlePart.SOLID}
    for name in jigs:
        mesh: Any = trimesh.load(here / "o" / name)
        assert mesh.is_watertight
    words = flat(ran.out)
    # Wren: front hole of 4 mm, 50 from the nose; bore of 19.5, 52 deep, its tail 45 before the block's.
    assert "its guide is 4.40 mm wide for a drill of 4 mm, 50 mm from the nose and 7 mm up" in words
    assert "its guide is 19.90 mm wide for a drill of 19.5 mm, 25 mm up on the tail face" in words
    assert "drill 97 mm deep into the blank, which is 112 mm from the face of the jig" in words
    assert "made for a blank 305 mm long and 42 mm wide" in words
    for caution in cautions_for(Operation.DRILL_PRESS):
        assert f"Caution: {flat(caution.sentence)}" in words
    assert max(map(len, ran.out.splitlines())) <= 80


def test_a_drilled_blank_gets_no_bore_jig_and_says_so(here: Path, capsys) -> None:
    ran = run_here(capsys, "solid", "plover.toml", "--jig", "--format", "stl", "--out", "out")
    assert written(here / "out") == {"plover.stl", "plover-jig-front.stl", "plover-jig-rear.stl"}
    assert "no jig is made for its bore" in flat(ran.out)


def test_two_runs_write_the_same(here: Path, capsys) -> None:
    words = ("solid", "wren.toml", "--assembly", "--jig", "--out", "out")
    run_here(capsys, *words)
    before = {name: (here / "out" / name).read_bytes() for name in written(here / "out")}
    ran = run_here(capsys, *words)
    assert {name: (here / "out" / name).read_bytes() for name in written(here / "out")} == before
    assert ran.out.count("as it was") == len(before)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--format", "stp"], 'not written as "stp"; did you mean step?'),
        (["--format", "obj"], "there are stl, step and 3mf"),
        (["--format", ","], "no format is named"),
        (["--clearance", "2"], "is not a clearance; say one from 0 to 1 mm"),
        (["--clearance", "-0.1"], "not a clearance"),
        (["--clearance", "nan"], "not a clearance"),
        (["--assembly", "--format", "stl"], "STL cannot name parts"),
    ],
)
def test_words_that_make_no_sense(here: Path, capsys, words: list[str], told: str) -> None:
    joined = [f"{words[0]}={words[1]}", *words[2:]] if words[0] != "--assembly" else words
    ran = run_here(capsys, "solid", "wren.toml", *joined)
    assert ran.code == 2
    assert told in flat(ran.err)
    assert not (here / "templates_out").exists()


def test_a_jig_for_a_hole_outside_the_blank_leaves_nothing(here: Path, capsys) -> None:
    design = here / "wren.toml"
    # A short block: the body fits, the bore's guide would hang over its top.
    text = design.read_text(encoding="utf-8")
    design.write_text(
        text.replace('wood = "basswood"', 'wood = "basswood"\nlength = 270\nwidth = 38\nheight = 30'),
        encoding="utf-8",
    )
    ran = run_here(capsys, "solid", "wren.toml", "--jig", "--out", "out")
    assert ran.code == 2
    assert "this hole is not inside the blank" in flat(ran.err)
    assert not (here / "out").exists() or not written(here / "out")
