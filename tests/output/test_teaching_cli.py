"""`bodyshop check --html` and `--pdf`."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path

import pytest

from bodyshop.app.cli import main


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with copies of the samples."""
    shutil.copytree(root / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_both_files_beside_the_terminal_report(here: Path, capsys) -> None:
    code = main(
        ["check", "samples/lapwing.toml", "--html", "l.html", "--pdf", "l.pdf", "--date", "2031-05-14"]
    )
    told = capsys.readouterr()
    assert code == 1
    assert told.err == ""
    assert told.out.startswith("Lapwing does not pass yet")
    assert told.out.endswith("Wrote l.html and l.pdf\n")
    page = (here / "l.html").read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert "2031-05-14" in page
    assert (here / "l.pdf").read_bytes().startswith(b"%PDF-")


def test_without_a_date_it_is_today(here: Path, capsys) -> None:
    before = datetime.now().astimezone().date().isoformat()
    assert main(["check", "samples/kestrel.toml", "--html", "k.html"]) == 0
    after = datetime.now().astimezone().date().isoformat()
    page = (here / "k.html").read_text(encoding="utf-8")
    assert before in page or after in page


def test_json_stays_json(here: Path, capsys) -> None:
    assert main(["check", "samples/kestrel.toml", "--json", "--html", "k.html"]) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)
    assert told.err == "Wrote k.html\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["samples/kestrel.toml", "samples/wren.toml", "--html", "k.html"], "one design at a time, not 2"),
        (["samples/kestrel.toml", "--html", "k", "--pdf", "k"], "name the same file, k"),
        (
            ["samples/kestrel.toml", "--html", "samples/kestrel.toml"],
            "is the name of a design or rulebook",
        ),
        (["samples/kestrel.toml", "--pdf", ""], "no file is named"),
        (["samples/kestrel.toml", "--pdf", "k.pdf", "--date", "14.5.31"], '"14.5.31" is not a date'),
    ],
)
def test_slips_are_told_and_nothing_is_written(here: Path, capsys, words: list[str], message: str) -> None:
    kept = (here / "samples" / "kestrel.toml").read_bytes()
    assert main(["check", *words]) == 2
    assert message in " ".join(capsys.readouterr().err.split())
    assert sorted(path.name for path in here.iterdir()) == ["samples"]
    assert (here / "samples" / "kestrel.toml").read_bytes() == kept


def test_a_link_to_the_design_is_not_written_over(here: Path, capsys) -> None:
    design = here / "samples" / "kestrel.toml"
    kept = design.read_bytes()
    try:
        (here / "report.html").symlink_to(design)
    except OSError:
        pytest.skip("links cannot be made here")
    assert main(["check", str(design), "--html", "report.html"]) == 2
    assert "would write over what it is about" in " ".join(capsys.readouterr().err.split())
    assert design.read_bytes() == kept


def test_a_folder_that_is_not_there(here: Path, capsys) -> None:
    assert main(["check", "samples/kestrel.toml", "--pdf", "nowhere/k.pdf"]) == 2
    assert "nowhere/k.pdf cannot be written" in capsys.readouterr().err.replace("\\", "/")
