"""Names that papers cannot print letter by letter: told with their line, and the papers made all the same."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from bodyshop.foundation.files.shipped import samples_folder
from tests.app.running import run_here


@pytest.mark.parametrize("command", ["templates", "buildsheet"])
def test_letters_that_papers_lack_are_told_with_their_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    text = (samples_folder() / "wren.toml").read_text(encoding="utf-8")
    lines = text.splitlines()
    (number,) = [k for k, line in enumerate(lines, 1) if line.startswith("name = ")]
    lines[number - 1] = 'name = "🚗 שלום"'
    (tmp_path / "odd.toml").write_text("\n".join(lines), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    ran = run_here(capsys, command, "odd.toml", "--out", "made", "--owner", "学校")
    assert ran.code == 0
    told = " ".join(ran.err.split())
    assert f"odd.toml:{number}:8: warning lettering" in told
    assert "(automobile)" in told
    assert "in the owner" in told
    (file,) = (tmp_path / "made").glob("*.pdf")
    for page in pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages:
        assert "(odd)" in page.extract_text(), "known by its file"


def test_a_plain_name_is_not_spoken_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run_here(capsys, "templates", "wren", "--out", "made", "--format", "svg")
    assert "lettering" not in ran.err
