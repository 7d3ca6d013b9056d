"""Wrong input of every kind: one clear message with the place, exit 2, nothing written, no traceback."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from tests.app.running import run_here

WREN = (Path(__file__).resolve().parents[2] / "samples" / "wren.toml").read_text(encoding="utf-8")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with one good design."""
    (tmp_path / "wren.toml").write_text(WREN, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def listing(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def one_line(text: str) -> str:
    return " ".join(text.split())


# ---------------------------------------------------------------- the command line itself

COMMAND_LINES = {
    "no command": ([], "usage: bodyshop COMMAND"),
    "misspelt command": (["chekc", "wren.toml"], 'there is no command "chekc"; did you mean check?'),
    "unknown command": (["xyzzy"], "the commands are check, "),
    "a path for a command": (["wren.toml"], 'there is no command "wren.toml"'),
    "nothing to check": (["check"], "bodyshop check: please name DESIGN"),
    "nothing to measure": (["measure"], "please name DESIGN"),
    "misspelt option": (["check", "wren.toml", "--rulebok", "x"], "did you mean --rulebook?"),
    "misspelt option with a value": (["check", "wren.toml", "--rulbook=x"], "did you mean --rulebook?"),
    "shortened option": (["check", "wren.toml", "--rule", "x"], '"--rule" means nothing here'),
    "option without its value": (["check", "wren.toml", "--rulebook"], "--rulebook: expected one argument"),
    "two designs to measure": (["measure", "wren.toml", "wren.toml"], '"wren.toml" means nothing here'),
    "unknown sheet": (["templates", "wren.toml", "--sheet", "a5"], 'there is no sheet "a5"'),
    "misspelt sheet": (["templates", "wren.toml", "--sheet", "leter"], "did you mean letter?"),
    "unknown format": (["templates", "wren.toml", "--format", "dwf"], 'not drawn as "dwf"'),
    "offset of zero": (["templates", "wren.toml", "--offset", "0"], "leave the offset out"),
    "offset below zero": (["templates", "wren.toml", "--offset=-1"], "inside the outline"),
    "offset beyond reason": (["templates", "wren.toml", "--offset", "1 in"], "from 0.2 to 10 mm"),
    "offset that is no length": (["templates", "wren.toml", "--offset", "wide"], '"wide" is no offset'),
    "unknown blade": (["templates", "wren.toml", "--blade", "bandsaw-1-5"], "did you mean bandsaw-1-"),
    "unknown plan": (["templates", "wren.toml", "--plan", "side"], 'there is no plan "side"'),
    "station off the body": (["templates", "wren.toml", "--stations", "50,900"], "no body at station 900"),
    "station that is no length": (["templates", "wren.toml", "--stations", "50,tail"], "tail"),
    "no station": (["templates", "wren.toml", "--stations", ","], "no station is named"),
    "too many stations": (
        ["templates", "wren.toml", "--stations", ",".join(str(k) for k in range(60, 100))],
        "at most 24",
    ),
    "no format": (["templates", "wren.toml", "--format", ","], "no format is named"),
    "chord of zero": (["solid", "wren.toml", "--chord", "0"], "from 0.001 to 5 mm"),
    "chord below zero": (["solid", "wren.toml", "--chord=-1"], "from 0.001 to 5 mm"),
    "chord that is no number": (["solid", "wren.toml", "--chord", "fine"], '"fine" is not a distance'),
    "chord that is not a number at all": (
        ["solid", "wren.toml", "--chord", "nan"],
        '"nan" is not a distance',
    ),
    "endless chord": (["solid", "wren.toml", "--chord", "1e999"], '"1e999" is not a distance'),
    "no folder named": (["make", "wren.toml", "--out", ""], "no folder is named"),
    "a folder with a nul": (["make", "wren.toml", "--out", "a\0b"], "no folder is named"),
    "no such date": (["templates", "wren.toml", "--date", "2031-02-30"], "is not a date"),
    "an owner that rings the bell": (["make", "wren.toml", "--owner", "\a"], "that can be printed"),
    "no name": (["new", " "], "the car needs a name"),
    "a path for a name": (["new", "../wren"], "is a path"),
    "a Windows path for a name": (["new", "C:\\cars\\wren"], "is a path"),
    "a name with a line end": (["new", "Wren\nTwo"], "that can be printed"),
    "a long name": (["new", "W" * 61], "at most 60 letters"),
    "misspelt style": (["new", "robin", "--style", "straigt"], "did you mean straight?"),
    "unknown shelf": (["stock", "engines"], 'there is no shelf "engines"'),
    "misspelt shelf": (["stock", "wood"], "did you mean woods?"),
    "unknown schema": (["schema", "car"], 'there is no schema "car"'),
    "an argument for a list": (["measures", "bore"], '"bore" means nothing here'),
}


@pytest.mark.parametrize("case", COMMAND_LINES)
def test_a_command_line_that_makes_no_sense(here: Path, capsys, case: str) -> None:
    words, expected = COMMAND_LINES[case]
    before = listing(here)
    ran = run_here(capsys, *words)
    assert ran.code == 2
    assert expected in one_line(ran.err)
    assert "Traceback" not in ran.err
    assert ran.out == ""
    assert listing(here) == before


# ---------------------------------------------------------------- designs that cannot be read

NOT_FILES = {
    "missing": ("robin.toml", "there is no such file"),
    "nearly a name": ("wrem.toml", "did you mean wren.toml?"),
    "nearly a sample": ("kestrell", "did you mean kestrel?"),
    "missing folder": ("cars/robin.toml", "there is no folder cars"),
    "file for a folder": ("wren.toml/robin.toml", "there is no folder wren.toml"),
    "nothing": ("", "no design is named"),
    "a nul": ("a\0b.toml", "there is no such file"),
    "very long": ("x" * 5000 + ".toml", "file"),
    "escape code": ("\x1b[31mred.toml", "there is no such file"),
}


@pytest.mark.parametrize("case", NOT_FILES)
@pytest.mark.parametrize("command", ["check", "measure", "make"])
def test_a_file_that_is_not_there(here: Path, capsys, case: str, command: str) -> None:
    name, expected = NOT_FILES[case]
    before = listing(here)
    ran = run_here(capsys, command, name)
    assert ran.code == 2
    assert expected in one_line(ran.err)
    assert "\x1b" not in ran.err
    assert listing(here) == before


CONTENTS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "blank": (b"\n \n", "the file is empty"),
    "binary": (bytes(range(256)) * 4, "error file-"),
    "pictures": (b"\x89PNG\r\n\x1a\n\0\0\0", "error file-"),
    "UTF-16": ("format = 1".encode("utf-16"), "saved as UTF-16"),
    "Latin-1": ('name = "Grünspecht"'.encode("latin-1"), "bad.toml:1:11: error file-encoding"),
    "not TOML": (b"format = 1\nname = Wren\n", "bad.toml:2:8: error toml-"),
    "unclosed": (b'format = 1\nname = "Wren\n', "bad.toml:2:"),
    "repeated key": (b"format = 1\nformat = 1\n", "bad.toml:2:1: error toml-"),
    "later format": (b"format = 99\n", "format-newer"),
    "wrong type": (WREN.replace('"Wren"', "5").encode(), "error wrong-type"),
    "nan": (WREN.replace("depth = 52", "depth = nan").encode(), "nan is not a length"),
    "endless": (WREN.replace("depth = 52", "depth = inf").encode(), "inf is not a length"),
    "1e308": (WREN.replace("depth = 52", "depth = 1e308").encode(), "bad.toml:"),
    "unknown key": (WREN.replace("depth = 52", "deepth = 52").encode(), "did you mean depth?"),
    "unknown wood": (WREN.replace('"basswood"', '"baswood"').encode(), "did you mean basswood?"),
    "unknown rulebook": (WREN.replace('"quarry-lane"', '"quary-lane"').encode(), "did you mean quarry-lane?"),
    "crossing outline": (WREN.replace("[260, 42]", "[10, 42]").encode(), "bad.toml:"),
    "hole outside the wood": (WREN.replace("height = 7", "height = 70").encode(), "error axle-hole-outside"),
    "axle through the bore": (WREN.replace("height = 8", "height = 24").encode(), "runs into the bore"),
    "large": (b"# " + b"x" * 1_100_000, "the file is too large"),
    "deep": (b"a = " + b"[" * 5000, "go too deep"),
    "many points": (
        WREN.replace(
            "points = [[0, 12], [40, 18.5], [260, 18.5]]", f"points = [{'[0,1],' * 100_000}]"
        ).encode(),
        "bad.toml",
    ),
}


@pytest.mark.parametrize("case", CONTENTS)
def test_a_file_that_cannot_be_understood(here: Path, capsys, case: str) -> None:
    data, expected = CONTENTS[case]
    (here / "bad.toml").write_bytes(data)
    before = listing(here)
    ran = run_here(capsys, "make", "bad.toml")
    assert ran.code == 2
    assert ran.out == ""
    assert "bad.toml" in ran.err
    assert expected in one_line(ran.err)
    assert "Sorry" not in ran.err
    assert listing(here) == before


def test_several_problems_are_told_at_once_with_their_lines(here: Path, capsys) -> None:
    text = (
        WREN.replace("depth = 52", 'depth = "5 2 mm"')
        .replace("x = 50", "y = 50")
        .replace('"basswood"', '"oka"')
    )
    (here / "bad.toml").write_text(text, encoding="utf-8")
    ran = run_here(capsys, "check", "bad.toml")
    assert ran.code == 2
    for line, mark in (('wood = "oka"', "^^^^^"), ('depth = "5 2 mm"', "^"), ("y = 50", "^")):
        number = text.splitlines().index(line) + 1
        assert f"bad.toml:{number}:" in ran.err
        shown = ran.err.splitlines()
        at = next(i for i, each in enumerate(shown) if each.endswith(f"| {line}"))
        assert shown[at + 1].strip(" |").startswith(mark)


def test_a_flood_of_problems_is_counted(here: Path, capsys) -> None:
    text = WREN + "".join(f"\n[nonsense{number}]\n" for number in range(60))
    (here / "bad.toml").write_text(text, encoding="utf-8")
    ran = run_here(capsys, "check", "bad.toml")
    assert ran.code == 2
    assert ran.err.count(": error ") == 20
    assert "... and 40 more problems" in ran.err


def test_a_folder(here: Path, capsys) -> None:
    (here / "cars").mkdir()
    ran = run_here(capsys, "check", "cars")
    assert ran.code == 2
    assert "this is a folder; expected a TOML file" in one_line(ran.err)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are not on every system")
def test_a_pipe(here: Path, capsys) -> None:
    os.mkfifo(here / "pipe.toml")
    ran = run_here(capsys, "check", "pipe.toml")
    assert ran.code == 2
    assert "not an ordinary file" in one_line(ran.err)


@pytest.mark.parametrize(
    ("rulebook", "expected"),
    [
        ("quary-lane", "did you mean quarry-lane?"),
        ("nothing-like-it", "expected quarry-lane, "),
        ("rules/none.toml", 'there is no rulebook "rules/none.toml"'),
        ("wren.toml", "error not-a-rulebook"),
        (".", "error"),
        ("\x1b]0;title\a", "there is no rulebook"),
    ],
)
def test_a_rulebook_that_cannot_be_had(here: Path, capsys, rulebook: str, expected: str) -> None:
    ran = run_here(capsys, "check", "wren.toml", "--rulebook", rulebook)
    assert ran.code == 2
    assert expected in one_line(ran.err)
    assert "\x1b" not in ran.err
    assert "Sorry" not in ran.err


def test_design_and_rulebook_are_both_told(here: Path, capsys) -> None:
    text = WREN.replace('"quarry-lane"', '"quary-lane"').replace('"basswood"', '"oka"')
    (here / "bad.toml").write_text(text, encoding="utf-8")
    ran = run_here(capsys, "check", "bad.toml")
    assert "rulebook-missing" in ran.err
    assert "unknown-stock" in ran.err


# ---------------------------------------------------------------- places that cannot be written


def test_a_foreign_file_in_the_folder(here: Path, capsys) -> None:
    folder = here / "templates_out" / "wren"
    folder.mkdir(parents=True)
    (folder / "wren-templates.pdf").write_bytes(b"mine")
    before = listing(here)
    ran = run_here(capsys, "make", "wren.toml")
    assert ran.code == 2
    assert "something that we did not write has this name" in one_line(ran.err)
    assert listing(here) == before


def test_other_peoples_files_in_the_folder_stay(here: Path, capsys) -> None:
    folder = here / "templates_out" / "wren"
    folder.mkdir(parents=True)
    (folder / "notes.txt").write_bytes(b"mine")
    assert run_here(capsys, "templates", "wren.toml", "--format", "svg").code == 0
    assert (folder / "notes.txt").read_bytes() == b"mine"


def test_a_file_for_a_folder(here: Path, capsys) -> None:
    (here / "templates_out").write_bytes(b"mine")
    before = listing(here)
    ran = run_here(capsys, "make", "wren.toml")
    assert ran.code == 2
    assert "templates_out is a file, not a folder" in one_line(ran.err)
    assert listing(here) == before


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="nothing is read-only for this user")
def test_a_read_only_folder(here: Path, capsys) -> None:
    (here / "out").mkdir(mode=0o500)
    ran = run_here(capsys, "templates", "wren.toml", "--out", "out")
    assert ran.code == 2
    assert "it may not be written" in one_line(ran.err)


def test_a_link_to_nowhere(here: Path, capsys) -> None:
    try:
        (here / "out").symlink_to(here / "away" / "from" / "here")
    except OSError:
        pytest.skip("links cannot be made here")
    ran = run_here(capsys, "templates", "wren.toml", "--out", "out", "--format", "svg")
    assert ran.code in (0, 2)
    assert "Sorry" not in ran.err


def test_a_changed_paper_is_not_overwritten(here: Path, capsys) -> None:
    assert run_here(capsys, "templates", "wren.toml", "--format", "svg").code == 0
    paper = next((here / "templates_out" / "wren").glob("*.svg"))
    paper.write_text("scribbled on", encoding="utf-8")
    (here / "wren.toml").write_text(WREN.replace("[260, 42]", "[260, 41]"), encoding="utf-8")
    ran = run_here(capsys, "templates", "wren.toml", "--format", "svg")
    assert ran.code == 2
    assert "this file was changed since we wrote it" in one_line(ran.err)
    assert paper.read_text(encoding="utf-8") == "scribbled on"


def test_new_overwrites_nothing(here: Path, capsys) -> None:
    before = listing(here)
    ran = run_here(capsys, "new", "Wren")
    assert ran.code == 2
    assert "there is such a file already" in one_line(ran.err)
    assert listing(here) == before


def test_a_design_with_a_path_in_its_name_stays_in_its_folder(here: Path, capsys) -> None:
    text = WREN.replace('"Wren"', '"../../etc/Wren <1>"')
    (here / "odd.toml").write_text(text, encoding="utf-8")
    ran = run_here(capsys, "templates", "odd.toml", "--format", "svg")
    assert ran.code == 0
    assert {path.parent for path in here.rglob("*.svg")} == {here / "templates_out" / "odd"}


def test_a_file_with_an_odd_name_gets_a_plain_folder(here: Path, capsys) -> None:
    shutil.copy(here / "wren.toml", here / "con .toml")
    ran = run_here(capsys, "templates", "con .toml", "--format", "svg")
    assert ran.code == 0
    assert [path.name for path in (here / "templates_out").iterdir()] == ["con-car"]
