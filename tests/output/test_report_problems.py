"""Problems on a terminal: the line and what to look at in it, however the line is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.problems import Problem, Severity, Span
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import width_of
from bodyshop.output.terminal.problems import FileLines, problems_report


def told(line: str, start: int, end: int, *, width: int = 80, end_line: int = 7) -> list[str]:
    """The shown line and its carets, for characters `start` to `end` of a line, from 0."""
    problem = Problem("odd", "this is odd", "car.toml", Span(7, start + 1, end_line, end + 1))
    report = problems_report([problem], width=width, line_of=lambda _file, _line: line)
    return report.splitlines()[1:]


def marked(line: str, start: int, end: int, **how: int) -> str:
    """What stands over the carets, by columns of one letter's width."""
    shown, carets = told(line, start, end, **how)
    first = width_of(carets[: carets.index("^")])
    found, at = "", 0
    for char in shown:
        if first <= at < first + carets.count("^"):
            found += char
        at += width_of(char)
    return found


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ('wall = "3 inchs"', '"3 inchs"'),
        ("\twall = 3", "3"),
        ("\t\tx\t=\t3", "3"),
        ('name = "車輪", wall = 3', "3"),
        ('name = "車輪"', '"車輪"'),
        ("é = ½ # ok", "½"),
        ("e\u0301 = 3", "3"),
        ("a" * 300 + " = 77", "77"),
        ("x = 1" + " " * 500, "1"),
    ],
)
@pytest.mark.parametrize("width", [60, 80, 100])
def test_carets_stand_under_the_part(line: str, part: str, width: int) -> None:
    start = line.index(part)
    assert marked(line, start, start + len(part), width=width) == part
    assert max(width_of(each) for each in told(line, start, start + len(part), width=width)) <= width


def test_a_problem_as_one_reads_it() -> None:
    problem = Problem(
        "length-unit",
        '"3 inchs" is not a length',
        "samples/wren.toml",
        Span(14, 8, 14, 17),
        found="3 inchs",
        expected="mm, cm or in",
        nearest="in",
    )
    report = problems_report([problem], width=100, line_of=lambda _file, _line: 'wall = "3 inchs"')
    assert report == (
        'samples/wren.toml:14:8: error length-unit: "3 inchs" is not a length; '
        "expected mm, cm or in; did you\n"
        "    mean in?\n"
        '   14 | wall = "3 inchs"\n'
        "      |        ^^^^^^^^^\n"
    )


def test_a_span_of_several_lines_is_marked_to_the_end_of_its_first() -> None:
    assert marked("points = [[0, 0],", 9, 2, end_line=9) == "[[0, 0],"


def test_a_span_behind_the_line_still_has_a_caret() -> None:
    shown, carets = told("x =", 3, 4)
    assert carets.count("^") == 1
    assert shown.endswith("| x =")


def test_a_place_without_a_line_shows_none() -> None:
    assert problems_report([Problem("file-missing", "there is no such file", "robin.toml")]) == (
        "robin.toml: error file-missing: there is no such file\n"
    )


def test_a_related_place_is_shown() -> None:
    problem = Problem(
        "toml-repeated",
        "x stands here twice",
        "car.toml",
        Span(2, 1, 2, 2),
        related=(("first here", Span(1, 1, 1, 2)),),
    )
    report = problems_report([problem], line_of=lambda _file, line: f"x = {line}")
    assert report.splitlines()[3:] == ["    first here (line 1):", "    1 | x = 1", "      | ^"]


def test_warnings_are_called_warnings_and_colour_is_an_extra() -> None:
    problem = Problem("odd", "this is odd", "car.toml", severity=Severity.WARNING)
    assert "warning odd:" in problems_report([problem])
    painted = problems_report([problem], ink=TextStyle(on=True))
    assert "\x1b[33mwarning odd:\x1b[0m" in painted


def test_many_problems_are_counted() -> None:
    problems = [Problem("odd", f"number {number}", "car.toml") for number in range(25)]
    report = problems_report(problems, most=20)
    assert "number 19" in report
    assert "number 20" not in report
    assert "... and 5 more problems" in report
    assert "... and 1 more problem;" in problems_report(problems[:21], most=20)
    assert problems_report([]) == ""


def test_nothing_that_steers_a_terminal_gets_through() -> None:
    problem = Problem("odd", "a\x1b[2Jb", "c\x07ar.toml", Span(1, 1, 1, 2), found="\x1b")
    report = problems_report([problem], line_of=lambda _file, _line: "x = '\x1b]0;title\x07' \u202e")
    assert report.replace("\n", "").isprintable()


def test_lines_of_a_file(tmp_path: Path) -> None:
    file = tmp_path / "car.toml"
    file.write_bytes("\ufeffformat = 1\r\nname = 'a\u2028b'\nlast".encode() + b"\xff")
    lines = FileLines()
    assert [lines(str(file), number) for number in range(5)] == [
        None,
        "format = 1",
        "name = 'a\u2028b'",
        "last\ufffd",
        None,
    ]
    assert lines(str(tmp_path), 1) is None
    assert lines(str(tmp_path / "none.toml"), 1) is None
    assert lines("a\0b", 1) is None
