"""Broken rulebooks, each with what must be said of it and where.

How a file tells what must be said of it: see `expected_of`. Nothing else may be said.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.foundation.problems import Problem, ProblemsError, Severity
from bodyshop.rules.rulebook import read_rulebook
from tests.rules.books import assert_told, expected_of

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "hostile" / "rulebooks"
FILES = sorted(FOLDER.glob("*.toml"))


def problems_of(path: Path) -> tuple[Problem, ...]:
    try:
        return read_rulebook(path).warnings
    except ProblemsError as error:
        return error.problems


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_problem_is_told_at_its_place(path: Path) -> None:
    assert expected_of(path)
    assert_told(path, problems_of(path))


def test_there_are_enough_of_them() -> None:
    assert len(FILES) >= 100


def test_warnings_let_the_book_through_and_nothing_else_does() -> None:
    warned = {path.stem for path in FILES if all(p.severity is Severity.WARNING for p in problems_of(path))}
    doubted = {f"implausible-{what}" for what in ("angle", "inches", "mass", "mm")}
    assert warned == doubted | {"between-two-marks"}


def test_every_code_has_a_file() -> None:
    source = "\n".join(
        file.read_text(encoding="utf-8") for file in (ROOT / "bodyshop" / "rules" / "rulebook").glob("*.py")
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


@pytest.mark.parametrize("name", ["change-below-inherited-min", "change-above-inherited-max"])
def test_a_limit_inherited_is_told_with_its_own_file(name: str) -> None:
    # A place in another file is told in words: what is related is looked up in the problem's own file.
    (problem,) = problems_of(FOLDER / f"{name}.toml")
    assert problem.related == ()
    assert Path(problem.file).name == f"{name}.toml"
    assert "(quarry-lane.toml, line " in problem.message


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


VALUES = [
    "nan",
    "inf",
    "-inf",
    "-1",
    "0",
    "1e999",
    "1e308",
    "-0.0",
    "99999999999999999999999999999999999999999999",
    "true",
    "[]",
    "[[]]",
    "{}",
    '""',
    '" "',
    '"mm"',
    '"1/0 in"',
    '"12\'"',
    '"2-3/4"',
    '"12 mm mm"',
    '"\\u0000"',
    '"{}"',
    '"{min"',
    '"{{min}}"',
    '"{points}"',
    '"\\U0001F697"',
    "1979-05-27",
    "07:32:00",
    '"disqualify"',
    '"points per unit"',
    '"points once"',
    '"ballast"',
    '"advice"',
    '"car.mass"',
    '"eyes.count"',
    '"bore.angle"',
    '"body.volume"',
    '"B1"',
    '"X1"',
    "[1, 2]",
    '["a", "a"]',
    '[2, "3 mm"]',
    "{min = 1}",
    '"../x"',
    '"1e400 mm"',
    '"0x10"',
    '"mass"',
    '"open"',
    '"gauge"',
    '"each"',
    '"wheel"',
    '"wheels"',
    '"washers"',
    '"for the car"',
    '["points once", "no award"]',
    '["front_wheel.width", "rear_wheel.width"]',
    '["bore.wall", "bore.wall_top"]',
    '"12 mm2"',
    '"3 deg"',
    '"45 g"',
    "0.001",
    "1000000",
    "3",
]
PLACES = [
    "format",
    "name",
    "event",
    "note",
    "units",
    "divisions",
    "track_length",
    "reading.resolution",
    "reading.near",
    "reading.mass_near",
    "kit.blank",
    "kit.washers",
    "score.full",
    "score.least",
    "reading.doubt",
    "stock.shelf",
    "stock.id",
    "stock.like",
    "stock.label",
    "stock.diameter",
    "stock.mass",
    "stock.bore",
    "stock.end",
    "stock.mass_spread",
    "stock.material",
    "stock.source",
    "stock.confidence",
    "rule.together",
    "rule.times",
    "rule.ballast",
    "rule.most_points",
    "rule.award",
    "rule.doubt",
    "rule.first",
    "rule.past",
    "rule.accept",
    "rule.clause",
    "rule.measure",
    "rule.item",
    "rule.kind",
    "rule.min",
    "rule.max",
    "rule.exact",
    "rule.tolerance",
    "rule.one_of",
    "rule.count",
    "rule.resolution",
    "rule.near",
    "rule.state",
    "rule.fails",
    "rule.points",
    "rule.per",
    "rule.rounding",
    "rule.checked_by",
    "rule.reason",
    "rule.instruction",
    "rule.division",
    "rule.title",
    "change.clause",
    "change.drop",
    "change.because",
    "change.division",
    "change.max",
    "change.one_of",
]
SOUND = {
    "format": "1",
    "name": '"Test"',
    "units": '"mm"',
    "divisions": '["open"]',
    "reading.resolution": '"0.1 mm"',
    "rule.clause": '"X1"',
    "rule.measure": '"body.length"',
    "rule.max": "305",
    "rule.fails": '"disqualify"',
    "rule.reason": '"Because."',
    "change.clause": '"X1"',
    "change.division": '"open"',
    "change.max": "300",
    "change.because": '"Because."',
    "stock.shelf": '"wheels"',
    "stock.id": '"lane-wheel"',
    "stock.like": '"wheel-34"',
    "stock.source": '"the sheet"',
}


def written(values: dict[str, str]) -> str:
    lines = [f"{key} = {value}" for key, value in values.items() if "." not in key]
    for table, header in (("reading", "[reading]"), ("kit", "[kit]"), ("score", "[score]")):
        lines += [header, *of_table(values, table)]
    for table in ("rule", "change", "stock"):
        lines += [f"[[{table}]]", *of_table(values, table)]
    return "\n".join([*lines, ""])


def of_table(values: dict[str, str], table: str) -> list[str]:
    parts = [(key.split("."), value) for key, value in values.items() if "." in key]
    return [f"{key[1]} = {value}" for key, value in parts if key[0] == table]


def test_the_book_that_is_spoilt_below_is_sound(tmp_path: Path) -> None:
    path = tmp_path / "book.toml"
    path.write_text(written(SOUND), encoding="utf-8")
    assert len(read_rulebook(path).rules) == 1


@settings(max_examples=400)
@given(st.dictionaries(st.sampled_from(PLACES), st.none() | st.sampled_from(VALUES), min_size=1, max_size=4))
def test_whatever_stands_in_a_book_it_is_read_or_told(
    tmp_path_factory: pytest.TempPathFactory, spoilt: dict[str, str | None]
) -> None:
    path = tmp_path_factory.getbasetemp() / "spoilt.toml"
    values = {key: value for key, value in {**SOUND, **spoilt}.items() if value is not None}
    path.write_text(written(values), encoding="utf-8")
    for division in ("", "open"):
        try:
            book = read_rulebook(path, division=division)
        except ProblemsError as error:
            for problem in error.problems:
                assert problem.span is not None
                assert problem.sentence.isprintable()
        else:
            assert all(rule.limits is not None for rule in book.rules if rule.measure)
