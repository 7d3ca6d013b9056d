"""Sheets, printers and folders as a person gives them: what is drawn, what is said, what is refused."""

from __future__ import annotations

import io
import os
import shutil
import stat
import sys
from pathlib import Path

import pypdf
import pytest

from bodyshop.foundation.files.manifest import MANIFEST
from tests.app.running import run_here

TEMPLATES = ("templates", "samples/wren.toml")


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with copies of two samples."""
    (tmp_path / "samples").mkdir()
    for name in ("wren", "dipper"):
        shutil.copy(root / "samples" / f"{name}.toml", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def words(text: str) -> str:
    return " ".join(text.split())


def pages(file: Path) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages)


@pytest.mark.parametrize(
    ("paper", "sides"), [("500x900", {500.0, 900.0}), ("24in x 30in", {609.6, 762.0}), ("a2", {420.0, 594.0})]
)
def test_a_size_of_ones_own(here: Path, capsys, paper: str, sides: set[float]) -> None:
    assert run_here(capsys, *TEMPLATES, "--format", "pdf", "--sheet", paper).code == 0
    for page in pages(here / "templates_out" / "wren" / "wren-templates.pdf"):
        found = [float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height)]
        assert sorted(found) == pytest.approx(sorted(sides), abs=0.01)


@pytest.mark.parametrize(
    ("roll", "width"), [("roll:610", 610.0), ("roll:24 in", 609.6), ("roll:297x900", 297)]
)
def test_a_roll_is_cut_to_what_is_needed(here: Path, capsys, roll: str, width: float) -> None:
    assert run_here(capsys, *TEMPLATES, "--format", "pdf", "--sheet", roll).code == 0
    (page,) = pages(here / "templates_out" / "wren" / "wren-templates.pdf")
    found = [float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height)]
    assert min(abs(side - width) for side in found) < 0.01
    length = sum(found) - width
    assert 200 <= length <= 900
    assert length == pytest.approx(round(length), abs=0.01)  # a whole millimetre


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--sheet", "a5"), 'there is no sheet "a5"'),
        (("--sheet", "legel"), "did you mean legal?"),
        (("--sheet", "100x100"), "a side of the sheet is 100 mm"),
        (("--sheet", "5000x300"), "a side of the sheet is 5000 mm: no sheet is so large"),
        (("--sheet", "roll"), "a roll needs its width"),
        (("--sheet", "roll:24"), "did you mean 24 in?"),
        (("--sheet", "roll:610x20"), "the most that is cut off the roll is 20 mm"),
        (("--sheet", "nanx300"), "there is no sheet"),
        (("--calibrate", "0", "5"), "bar X is said to measure 0 mm"),
        (("--calibrate", "100", "5"), "bar Y is said to measure 5 mm, which no printer makes of it"),
        (("--calibrate", "-99", "100"), "bar X is said to measure -99 mm"),
        (("--calibrate", "nan", "100"), '"nan" is not what bar X measures'),
        (("--calibrate", "94", "100"), "most likely fitted to the page"),
        (("--calibrate", "100", "102.6"), "2.6 % off"),
        (("--calibrate", "4in", "4in"), ""),
        (("--calibrate", "99"), "--calibrate"),
        (("--sheet", "1900x1900", "--calibrate", "99", "99"), "out of its margin"),
    ],
)
def test_what_no_sheet_or_printer_is(here: Path, capsys, options: tuple[str, ...], told: str) -> None:
    ran = run_here(capsys, *TEMPLATES, *options)
    if told:
        assert ran.code == 2
        assert told in words(ran.err)
        assert not (here / "templates_out").exists()
    else:
        assert ran.code == 0
    assert "Traceback" not in ran.err


def test_true_bars_correct_nothing(here: Path, capsys) -> None:
    made = {}
    for name, options in (
        ("plain", ()),
        ("true", ("--calibrate", "100", "100 mm")),
        ("off", ("--calibrate", "99.5", "100")),
    ):
        assert run_here(capsys, *TEMPLATES, "--format", "pdf,svg", "--out", name, *options).code == 0
        made[name] = {file.name: file.read_bytes() for file in (here / name).iterdir()}
    assert made["plain"] == made["true"]
    assert all(made["off"][name] != data for name, data in made["plain"].items())
    note = "CORRECTED for one printer, which prints 100 mm as 99.5 across the paper (bar X)"
    for name, data in made["off"].items():
        if name.endswith(".svg"):
            assert note in data.decode("utf-8")
    for page in pages(here / "off" / "wren-templates.pdf"):
        assert note in words(page.extract_text())


def test_bars_of_an_inch_design_are_read_in_inches(here: Path, capsys) -> None:
    assert run_here(capsys, "templates", "samples/dipper.toml", "--calibrate", "3.98", "4 1/64").code == 0
    for page in pages(here / "templates_out" / "dipper" / "dipper-templates.pdf"):
        assert "prints 4 in as 3.98 across" in words(page.extract_text())
        assert "and 4.0156 along it" in words(page.extract_text())


def test_papers_of_another_format_stay_while_the_design_is_the_same(here: Path, capsys) -> None:
    folder = here / "templates_out" / "wren"
    run_here(capsys, *TEMPLATES)
    before = (folder / "wren-templates.pdf").read_bytes()
    ran = run_here(capsys, *TEMPLATES, "--format", "svg")
    assert "Left as made before, from the same design: wren-templates.pdf" in words(ran.out)
    assert (folder / "wren-templates.pdf").read_bytes() == before

    text = Path("samples/wren.toml").read_text(encoding="utf-8")
    assert "\ndepth = 52\n" in text
    Path("samples/wren.toml").write_text(text.replace("\ndepth = 52\n", "\ndepth = 53\n"), encoding="utf-8")
    ran = run_here(capsys, *TEMPLATES, "--format", "svg")
    assert "Taken away, as the design has changed since: wren-templates.pdf" in words(ran.out)
    assert not (folder / "wren-templates.pdf").exists()


def test_another_car_with_the_same_file_name_is_refused(here: Path, capsys) -> None:
    (here / "other").mkdir()
    text = Path("samples/wren.toml").read_text(encoding="utf-8")
    other = text.replace('bench = "', 'bench = "Other ', 1)
    assert other != text
    (here / "other" / "wren.toml").write_text(other, encoding="utf-8")
    assert run_here(capsys, *TEMPLATES).code == 0
    before = {file.name: file.read_bytes() for file in (here / "templates_out" / "wren").iterdir()}
    for command in ("templates", "buildsheet"):
        ran = run_here(capsys, command, "other/wren.toml")
        assert ran.code == 2
        assert "here are the papers of Wren" in words(ran.err)
        assert "choose another folder with --out" in words(ran.err)
    assert {file.name: file.read_bytes() for file in (here / "templates_out" / "wren").iterdir()} == before
    assert run_here(capsys, "templates", "other/wren.toml", "--out", "mine").code == 0


@pytest.mark.parametrize(
    "name",
    [
        "W" * 60,
        "\u05e2\u05e4\u05e8\u05d5\u05e0\u05d9 Wren",
        "\U0001f426 Wren",
        "\u06a9\u0648\u0686\u06a9",
    ],
)
def test_odd_names_make_papers(here: Path, capsys, name: str) -> None:
    _renamed(name)
    assert run_here(capsys, *TEMPLATES, "--format", "pdf").code == 0
    assert pages(here / "templates_out" / "wren" / "wren-templates.pdf")


def test_a_name_of_300_letters_is_refused(here: Path, capsys) -> None:
    _renamed("W" * 300)
    ran = run_here(capsys, *TEMPLATES)
    assert ran.code == 2
    assert "name is 300 letters long; expected at most 60" in words(ran.err)
    assert not (here / "templates_out").exists()


def _renamed(name: str) -> None:
    text = Path("samples/wren.toml").read_text(encoding="utf-8")
    assert 'name = "Wren"' in text
    Path("samples/wren.toml").write_text(text.replace('name = "Wren"', f'name = "{name}"'), encoding="utf-8")


def test_an_outline_of_20000_points_is_told(here: Path, capsys) -> None:
    points = ", ".join(f"[{280 * k / 20000:.4f}, {10 + (k % 7) / 10}]" for k in range(20000))
    text = Path("samples/wren.toml").read_text(encoding="utf-8")
    start = text.index("points", text.index("[plan]"))
    end = text.index("]\n]", start) + 3 if "]\n]" in text[start:] else text.index("\n\n", start)
    Path("samples/wren.toml").write_text(
        text[:start] + f"points = [{points}]\n" + text[end:], encoding="utf-8"
    )
    ran = run_here(capsys, *TEMPLATES)
    assert ran.code == 2
    assert "points" in ran.err
    assert len(ran.err) < 4000
    assert not (here / "templates_out").exists()


@pytest.mark.skipif(sys.platform == "win32" or not hasattr(os, "geteuid"), reason="permission bits")
def test_a_folder_that_cannot_be_written_gets_nothing(here: Path, capsys, monkeypatch) -> None:
    if os.geteuid() == 0:
        # The superuser may write anywhere: the refusal is brought about where files are opened.
        def refuse(*_: object, **__: object) -> int:
            raise PermissionError(13, "Permission denied", str(here / "locked" / "x"))

        (here / "locked").mkdir()
        monkeypatch.setattr("bodyshop.foundation.files.safe_writing.os.open", refuse)
    else:
        (here / "locked").mkdir()
        (here / "locked").chmod(stat.S_IRUSR | stat.S_IXUSR)
    ran = run_here(capsys, *TEMPLATES, "--out", "locked")
    monkeypatch.undo()
    assert ran.code == 2
    assert "locked" in ran.err
    assert "it may not be written" in words(ran.err)
    assert list((here / "locked").iterdir()) == []


def test_a_full_disk_leaves_the_old_set(here: Path, capsys, monkeypatch) -> None:
    assert run_here(capsys, *TEMPLATES, "--format", "pdf,svg").code == 0
    folder = here / "templates_out" / "wren"
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    real, calls = os.fsync, iter(range(100))

    def full(descriptor: int) -> None:
        if next(calls) == 2:
            raise OSError(28, "No space left on device")
        real(descriptor)

    monkeypatch.setattr("bodyshop.foundation.files.safe_writing.os.fsync", full)
    ran = run_here(capsys, *TEMPLATES, "--format", "pdf,svg", "--owner", "Larkfield School")
    monkeypatch.undo()
    assert ran.code == 2
    assert "the disk is full" in words(ran.err)
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before


def test_a_place_that_cannot_be_made_is_named_once(here: Path, capsys, monkeypatch) -> None:
    def refuse(self: Path, *_: object, **__: object) -> None:
        raise FileNotFoundError(2, "No such file or directory", str(self))

    monkeypatch.setattr(Path, "mkdir", refuse)
    ran = run_here(capsys, *TEMPLATES, "--out", "q")
    monkeypatch.undo()
    assert "q cannot be written: the system says: no such file or directory" in words(ran.err)
    assert "q/q" not in ran.err


def test_a_class_table_that_was_edited_is_kept(here: Path, capsys) -> None:
    for _ in range(2):
        assert run_here(capsys, "class", "samples", "--csv", "c.csv", "--html", "c.html").code == 0
    with Path("c.csv").open("ab") as table:
        table.write(b"my note\r\n")
    edited = Path("c.csv").read_bytes()
    ran = run_here(capsys, "class", "samples", "--csv", "c.csv")
    assert ran.code == 2
    assert "this file was changed since we wrote it" in words(ran.err)
    assert Path("c.csv").read_bytes() == edited
    assert sorted(file.name for file in here.iterdir()) == [MANIFEST, "c.csv", "c.html", "samples"]
