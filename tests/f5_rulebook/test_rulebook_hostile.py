"""Broken rulebooks, each with what must be said of it and where.

In a file of `tests/hostile/rulebooks` a comment with a caret tells the problem of the line above it, at the
column of the caret (`#<` is column 1): the code, then pieces of the sentence. `#! FILE:LINE:COLUMN` tells
one in another file. Nothing else may be said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from bodyshop.problems import Problem, ProblemsError, Severity
from bodyshop.rulebook import read_rulebook

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "hostile" / "rulebooks"
FILES = sorted(FOLDER.glob("*.toml"))

CARET = re.compile(r"#( *)([\^<]) (.*)")
ELSEWHERE = re.compile(r"#! (\S+):(\d+):(\d+) (.*)")


@dataclass(frozen=True)
class Expected:
    file: str
    line: int
    column: int
    code: str
    pieces: tuple[str, ...]


def expected_of(path: Path) -> list[Expected]:
    found = []
    line = 0
    for number, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        caret, elsewhere = CARET.fullmatch(text), ELSEWHERE.fullmatch(text)
        if caret:
            column = 1 if caret[2] == "<" else len(caret[1]) + 2
            code, *pieces = caret[3].split(" | ")
            found.append(Expected(path.name, line, column, code, tuple(pieces)))
        elif elsewhere:
            code, *pieces = elsewhere[4].split(" | ")
            place = (elsewhere[1], int(elsewhere[2]), int(elsewhere[3]))
            found.append(Expected(*place, code, tuple(pieces)))
        else:
            line = number
    return found


def problems_of(path: Path) -> tuple[Problem, ...]:
    try:
        return read_rulebook(path).warnings
    except ProblemsError as error:
        return error.problems


def place_of(problem: Problem) -> tuple[str, int, int, str]:
    assert problem.span is not None
    return Path(problem.file).name, problem.span.line, problem.span.column, problem.code


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_problem_is_told_at_its_place(path: Path) -> None:
    expected = expected_of(path)
    assert expected
    problems = problems_of(path)
    assert sorted(place_of(p) for p in problems) == sorted(
        (e.file, e.line, e.column, e.code) for e in expected
    )
    for one in expected:
        sentences = [
            p.sentence for p in problems if place_of(p) == (one.file, one.line, one.column, one.code)
        ]
        assert any(all(piece in sentence for piece in one.pieces) for sentence in sentences), sentences


def test_there_are_enough_of_them() -> None:
    assert len(FILES) >= 100


def test_warnings_let_the_book_through_and_nothing_else_does() -> None:
    warned = {path.stem for path in FILES if all(p.severity is Severity.WARNING for p in problems_of(path))}
    assert warned == {"implausible-inches", "implausible-mm", "implausible-mass", "between-two-marks"}


def test_every_code_has_a_file() -> None:
    source = "\n".join(
        file.read_text(encoding="utf-8") for file in (ROOT / "bodyshop" / "rulebook").glob("*.py")
    )
    codes = set(re.findall(r'"(rulebook-[a-z-]+)"', source))
    assert len(codes) > 20
    shown = {one.code for path in FILES for one in expected_of(path)}
    assert codes - shown == set()


def test_messages_are_clauses_without_a_full_stop() -> None:
    for path in FILES:
        for problem in problems_of(path):
            assert not problem.message.endswith("."), problem.message
            assert len(problem.message) < 200


def test_min_above_max_shows_both_places() -> None:
    (problem,) = problems_of(FOLDER / "min-above-max.toml")
    ((label, place),) = problem.related
    assert problem.span is not None
    assert (problem.span.line, place.line) == (12, 11)
    assert "305" in label


def test_a_limit_inherited_is_shown_in_its_own_file() -> None:
    (problem,) = problems_of(FOLDER / "change-below-inherited-min.toml")
    ((label, _place),) = problem.related
    assert Path(problem.file).name == "change-below-inherited-min.toml"
    assert "quarry-lane.toml" in label


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "file-empty"),
        (b"\xff\xfef\x00o\x00", "file-encoding"),
        (b'format = 1\nname = "\xe9"\n', "file-encoding"),
        (b"\x00\x01\x02\x03", "file-binary"),
        (b"format = 1\nformat = 1\n", "toml-repeated"),
        (b"x = " + b"[" * 200, "toml-nesting"),
    ],
)
def test_what_is_no_text_or_no_toml(tmp_path: Path, data: bytes, code: str) -> None:
    path = tmp_path / "book.toml"
    path.write_bytes(data)
    (problem,) = problems_of(path)
    assert problem.code == code
    assert problem.file == str(path)


def test_a_folder_and_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert [p.code for p in problems_of(tmp_path)] == ["file-folder"]
    assert [p.code for p in problems_of(tmp_path / "none.toml")] == ["file-missing"]


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    text = (FOLDER / "min-above-max.toml").read_text(encoding="utf-8")
    path = tmp_path / "book.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    (problem,) = problems_of(path)
    assert problem.span is not None
    assert (problem.span.line, problem.span.column) == (12, 7)
