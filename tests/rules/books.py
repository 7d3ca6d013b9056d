"""Small rulebooks for the tests of this floor, and what a broken one says must be told of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bodyshop.foundation.problems import Problem
from bodyshop.rules.rulebook import Rulebook, read_rulebook

__all__ = [
    "HEAD",
    "INCH_HEAD",
    "Expected",
    "assert_told",
    "book_of",
    "expected_of",
    "rule_text",
    "write_book",
]

HEAD = 'format = 1\nname = "Test"\nunits = "mm"\n\n[reading]\nresolution = "0.1 mm"\nnear = 0\n\n'
INCH_HEAD = 'format = 1\nname = "Test"\nunits = "in"\n\n[reading]\nresolution = "1/64 in"\nnear = 0\n\n'


def rule_text(body: str, clause: str = "X1", measure: str = "body.length", fails: str = "disqualify") -> str:
    """A rule with everything it needs beside `body`."""
    return (
        f'[[rule]]\nclause = "{clause}"\nmeasure = "{measure}"\n{body}\n'
        f'fails = "{fails}"\nreason = "Because."\n\n'
    )


def write_book(folder: Path, text: str, name: str = "book.toml") -> Path:
    """The text as a file."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def book_of(folder: Path, text: str, division: str = "") -> Rulebook:
    """The rulebook that a text says, read from a file."""
    return read_rulebook(write_book(folder, text), division=division)


CARET = re.compile(r"#( *)([\^<]) (.*)")
ELSEWHERE = re.compile(r"#! (\S+):(\d+):(\d+) (.*)")


@dataclass(frozen=True)
class Expected:
    """A problem that must be told: its place, its code and pieces of its sentence."""

    file: str
    line: int
    column: int
    code: str
    pieces: tuple[str, ...]


def expected_of(path: Path) -> list[Expected]:
    """What a file of `tests/hostile/rulebooks` says must be told of it.

    A comment with a caret tells the problem of the line above it, at the column of the caret (`#<` is
    column 1): the code, then pieces of the sentence. `#! FILE:LINE:COLUMN` tells one in another file.
    """
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


def assert_told(path: Path, problems: Sequence[Problem]) -> None:
    """Exactly what the file says must be told is told, at its places."""
    expected = expected_of(path)
    assert sorted(place_of(p) for p in problems) == sorted(
        (e.file, e.line, e.column, e.code) for e in expected
    )
    for one in expected:
        place = (one.file, one.line, one.column, one.code)
        sentences = [p.sentence for p in problems if place_of(p) == place]
        assert any(all(piece in sentence for piece in one.pieces) for sentence in sentences), sentences


def place_of(problem: Problem) -> tuple[str, int, int, str]:
    assert problem.span is not None
    return Path(problem.file).name, problem.span.line, problem.span.column, problem.code
