"""`bodyshop buildsheet`, as it is run."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from tests.app.running import run_apart, run_here


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_it_writes_one_pdf_and_says_how_the_car_stands(capsys, tmp_path: Path) -> None:
    ran = run_here(
        capsys, "buildsheet", "wren", "--out", "papers", "--date", "2031-05-14", "--owner", "Larkfield"
    )
    assert ran.code == 0
    assert "Wren passes" in ran.out
    assert "wren-buildsheet.pdf" in ran.out
    text = pypdf.PdfReader(tmp_path / "papers" / "wren-buildsheet.pdf").pages[0].extract_text()
    assert "2031-05-14" in text
    assert "Larkfield" in text


def test_a_failing_car_gets_its_paper_and_exit_code_1(capsys, tmp_path: Path) -> None:
    ran = run_here(capsys, "buildsheet", "lapwing", "--sheet", "letter")
    assert ran.code == 1
    pages = pypdf.PdfReader(tmp_path / "templates_out" / "lapwing" / "lapwing-buildsheet.pdf").pages
    assert all("FAILS 18 rules" in page.extract_text() for page in pages)
    assert float(pages[0].mediabox.width) == pytest.approx(612.0, abs=0.01)


def test_another_rulebook(capsys, tmp_path: Path) -> None:
    run_here(capsys, "buildsheet", "wren", "--rulebook", "quarry-lane-2", "--out", "papers")
    text = pypdf.PdfReader(tmp_path / "papers" / "wren-buildsheet.pdf").pages[0].extract_text()
    assert "Quarry Lane Sprint" in text


def test_what_cannot_be_done_is_said(capsys, tmp_path: Path) -> None:
    assert run_here(capsys, "buildsheet", "nothing-here").code == 2
    assert run_here(capsys, "buildsheet", "wren", "--sheet", "a9").code == 2
    (tmp_path / "papers").mkdir()
    (tmp_path / "papers" / "wren-buildsheet.pdf").write_text("mine", encoding="utf-8")
    ran = run_here(capsys, "buildsheet", "wren", "--out", "papers")
    assert ran.code == 2
    assert "wren-buildsheet.pdf" in "".join(ran.err.split())
    assert (tmp_path / "papers" / "wren-buildsheet.pdf").read_text(encoding="utf-8") == "mine"


def test_the_same_bytes_whatever_the_hash_seed(tmp_path: Path) -> None:
    found = []
    for seed in ("1", "2"):
        ran = run_apart(
            "buildsheet", "kestrel", "--out", seed, folder=tmp_path, environment={"PYTHONHASHSEED": seed}
        )
        assert ran.returncode == 0
        found.append((tmp_path / seed / "kestrel-buildsheet.pdf").read_bytes())
    assert found[0] == found[1]
    assert len(pypdf.PdfReader(io.BytesIO(found[0])).pages) == 4


def test_make_leaves_it_alone(capsys, tmp_path: Path) -> None:
    """It stays in the folder when the templates are made beside it."""
    run_here(capsys, "buildsheet", "wren")
    run_here(capsys, "templates", "wren", "--format", "pdf")
    assert (tmp_path / "templates_out" / "wren" / "wren-buildsheet.pdf").is_file()
