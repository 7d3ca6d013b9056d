"""Doubts that a clause accepts with a reason, and a track in feet."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.rules.rulebook import read_rulebook
from bodyshop.rules.rulebook.lint import lint_rulebook, look_over
from tests.rules.books import HEAD, book_of, rule_text, write_book

ODD = rule_text("max = 305.23")
ACCEPTS = 'accept = "The sheet prints it so."\n'


def codes(path: Path) -> list[str]:
    return [finding.code for finding in lint_rulebook(path)]


def test_an_accepted_warning_is_no_finding_and_is_not_told_again(tmp_path: Path) -> None:
    path = write_book(tmp_path, HEAD + ODD)
    assert codes(path) == ["rulebook-resolution"]
    path = write_book(tmp_path, HEAD + ODD.replace("fails", ACCEPTS + "fails"))
    linted = look_over(path)
    assert linted.findings == ()
    assert [problem.code for problem in linted.accepted] == ["rulebook-resolution"]
    book = read_rulebook(path)
    assert book.warnings == ()
    assert book.rules[0].accept == "The sheet prints it so."


def test_only_the_clause_that_accepts_is_clean(tmp_path: Path) -> None:
    other = rule_text("max = 40.23", "X2", "body.width")
    text = HEAD + ODD.replace("fails", ACCEPTS + "fails") + other
    path = write_book(tmp_path, text)
    (finding,) = lint_rulebook(path)
    assert finding.span is not None
    assert "40.23" in path.read_text(encoding="utf-8").splitlines()[finding.span.line - 1]


def test_an_error_is_never_accepted(tmp_path: Path) -> None:
    path = write_book(tmp_path, HEAD + rule_text(ACCEPTS + "min = 305\nmax = 200"))
    assert "rulebook-limits" in codes(path)
    with pytest.raises(ProblemsError):
        read_rulebook(path)


def test_a_reason_that_accepts_nothing_is_told(tmp_path: Path) -> None:
    path = write_book(tmp_path, HEAD + rule_text("max = 305\n" + ACCEPTS))
    (finding,) = lint_rulebook(path)
    assert finding.code == "lint-accept"


def test_a_finding_of_lint_itself_is_accepted_too(tmp_path: Path) -> None:
    wrong = rule_text("max = 3", measure="bore.wall")
    assert codes(write_book(tmp_path, HEAD + wrong)) == ["lint-wrong-side"]
    assert codes(write_book(tmp_path, HEAD + wrong.replace("fails", ACCEPTS + "fails"))) == []


def test_a_change_accepts_doubts_about_its_own_limit(tmp_path: Path) -> None:
    write_book(tmp_path, HEAD + rule_text("max = 305"), "parent.toml")
    child = (
        'format = 1\nname = "Child"\ninherits = "parent.toml"\n\n[[change]]\nclause = "X1"\nmax = 305.23\n'
        'because = "The new block is longer."\n'
    )
    path = write_book(tmp_path, child, "child.toml")
    assert codes(path) == ["rulebook-resolution"]
    assert codes(write_book(tmp_path, child + ACCEPTS, "child.toml")) == []


@pytest.mark.parametrize(
    ("track", "mm"),
    [('"40 ft"', 12192.0), ('"65 ft 7 in"', 19989.8), ('"20 m"', 20000.0), ("18000", 18000.0)],
)
def test_a_track_may_be_in_feet_or_metres(tmp_path: Path, track: str, mm: float) -> None:
    text = HEAD.replace("\n[reading]", f"track_length = {track}\n\n[reading]", 1) + rule_text("max = 305")
    assert book_of(tmp_path, text).track_mm == pytest.approx(mm)
