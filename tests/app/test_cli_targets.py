"""Files that a person names are never written over unless they are ours; places are never cut."""

from pathlib import Path

import pytest

from bodyshop.app.cli import main
from bodyshop.foundation.problems import Problem, Span
from bodyshop.output.terminal.problems import problems_report
from bodyshop.rules.rulebook import read_rulebook


@pytest.mark.parametrize("option", ["--html", "--pdf"])
def test_a_file_that_is_not_ours_is_kept(option: str, root: Path, tmp_path: Path, capsys) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("precious", encoding="utf-8")
    assert main(["check", str(root / "samples" / "wren.toml"), option, str(notes)]) == 2
    assert notes.read_text(encoding="utf-8") == "precious"
    assert "did not write" in capsys.readouterr().err


def test_a_report_of_ours_is_written_again_but_not_as_the_other_kind(root: Path, tmp_path: Path) -> None:
    page = tmp_path / "wren.html"
    wren = str(root / "samples" / "wren.toml")
    assert main(["check", wren, "--html", str(page)]) == 0
    assert main(["check", wren, "--html", str(page)]) == 0
    before = page.read_bytes()
    assert main(["check", wren, "--pdf", str(page)]) == 2
    assert page.read_bytes() == before


def test_a_sample_is_not_mended_in_place_however_it_is_spelt(root: Path) -> None:
    lapwing = root / "samples" / "lapwing.toml"
    before = lapwing.read_bytes()
    assert main(["fix", str(root / "samples" / ".." / "samples" / "lapwing.toml"), "--write"]) == 2
    assert lapwing.read_bytes() == before


def test_a_place_longer_than_the_line_is_never_cut() -> None:
    file = "/a/" + "very-long-folder-name/" * 5 + "wren.toml"
    problem = Problem("unknown-key", "no such key", file=file, span=Span(7, 12, 7, 16))
    text = problems_report([problem], width=60, line_of=lambda _file, _line: None)
    assert text.splitlines()[0] == f"{file}:7:12:"


def test_a_change_of_the_consequence_drops_the_old_ones_points(root: Path, tmp_path: Path) -> None:
    book = tmp_path / "later.toml"
    book.write_text(
        'format = 1\nname = "Later"\nevent = "Quarry Lane Sprint"\ninherits = "quarry-lane"\n'
        '[[change]]\nclause = "B1"\nfails = "points once"\npoints = 5\n'
        'because = "Counting millimetres took too long."\n',
        encoding="utf-8",
    )
    rule = next(r for r in read_rulebook(book).rules if r.clause == "B1")
    assert (rule.fails.value, rule.points) == ("points once", 5.0)
