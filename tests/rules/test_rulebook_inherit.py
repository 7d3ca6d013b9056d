"""One book over another: what is changed, why, and in which division."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook import Limits, Rulebook, find_rulebook, read_rulebook
from tests.rules.books import HEAD, book_of, rule_text, write_book

CHILD = """
format = 1
name = "Quarry Lane Sprint, second year"
inherits = "quarry-lane"

[reading]
near = "1 mm"

[kit]
wood = "balsa"

[[change]]
clause = "B1"
max = 280
because = "The new blanks are shorter."

[[change]]
clause = "C1"
exact = 19.5
tolerance = 0.2
because = "The cartridges are all from one box."

[[change]]
clause = "C16"
drop = true
because = "Nobody took the advice."

[[rule]]
clause = "Z1"
measure = "rear_wheel.gap"
min = "1 3/4 in"
fails = "advice"
reason = "Wheels close together let the car fall over."
"""

DIVISIONS = (
    HEAD.replace('units = "mm"', 'units = "mm"\ndivisions = ["beginner", "open"]')
    + rule_text("min = 200\nmax = 305")
    + rule_text("max = 75", "X2", "car.height")
    + rule_text('count = 2\ndivision = "beginner"', "X3", "eyes.count")
    + rule_text('min = 1\ndivision = ["open"]', "X4", "eyes.count")
    + """
[[change]]
clause = "X1"
division = "open"
min = 150
because = "Open cars may be shorter."

[[change]]
clause = "X2"
division = ["open", "beginner"]
max = 70
because = "The gate of the divisions is lower."
"""
)


def limits_of(book: Rulebook, clause: str) -> Limits | None:
    (rule,) = [rule for rule in book.rules if rule.clause == clause]
    return rule.limits


@pytest.fixture
def child(tmp_path: Path) -> Rulebook:
    return book_of(tmp_path, CHILD)


@pytest.fixture(scope="module")
def parent() -> Rulebook:
    return read_rulebook(find_rulebook("quarry-lane"))


def test_one_limit_is_changed_and_the_other_stays(child: Rulebook) -> None:
    assert limits_of(child, "B1") == Limits(low=200.0, high=280.0)


def test_another_sort_of_limit_takes_the_place_of_the_first(child: Rulebook) -> None:
    assert limits_of(child, "C1") == Limits(low=19.3, high=19.7, exact=19.5, tolerance=0.2)


def test_all_else_is_the_parents(child: Rulebook, parent: Rulebook) -> None:
    changed = {"B1", "C1", "C16", "Z1"}
    for rule in parent.rules:
        if rule.clause not in changed:
            assert limits_of(child, rule.clause) == rule.limits
    assert [r.clause for r in child.rules] == [r.clause for r in parent.rules if r.clause != "C16"] + ["Z1"]
    assert child.unit is LengthUnit.MM
    assert child.kit.blank == parent.kit.blank
    assert child.track_mm == parent.track_mm == 20_000.0


def test_tables_are_laid_over_each_other_key_by_key(child: Rulebook, parent: Rulebook) -> None:
    assert child.kit.wood == "balsa"
    assert child.reads.near[QuantityKind.LENGTH] == 1.0
    assert child.reads.resolution == parent.reads.resolution


def test_the_book_tells_what_it_changed_and_why(child: Rulebook) -> None:
    assert child.parents == ("quarry-lane",)
    assert [(c.clause, c.keys, c.dropped, c.because) for c in child.changes] == [
        ("B1", ("max",), False, "The new blanks are shorter."),
        ("C1", ("exact", "tolerance"), False, "The cartridges are all from one box."),
        ("C16", (), True, "Nobody took the advice."),
    ]
    assert [c.before.limits for c in child.changes if c.before] == [
        Limits(low=200.0, high=305.0),
        Limits(low=19.0, high=20.0),
        Limits(low=4.0),
    ]
    assert child.changes[0].spot.span.line == 12
    assert child.changes[0].spot.file == child.source.name


def test_a_rule_knows_in_which_file_each_key_stands(child: Rulebook) -> None:
    (rule,) = [rule for rule in child.rules if rule.clause == "B1"]
    assert rule.spots["max"].file == child.source.name
    assert rule.spots["max"].span.line == 14
    assert Path(rule.spots["min"].file).name == "quarry-lane.toml"


def test_lengths_are_in_the_unit_of_their_own_file(tmp_path: Path) -> None:
    write_book(tmp_path, HEAD + rule_text("min = 200\nmax = 305"), "mm.toml")
    text = (
        'format = 1\nname = "Inch child"\nunits = "in"\ninherits = "mm.toml"\n'
        '[[change]]\nclause = "X1"\nmax = 12\nbecause = "Round inches."\n'
    )
    assert limits_of(book_of(tmp_path, text), "X1") == Limits(low=200.0, high=304.8)


def test_a_grandchild(tmp_path: Path) -> None:
    write_book(tmp_path, HEAD + rule_text("min = 200\nmax = 305"), "one.toml")
    change = '[[change]]\nclause = "X1"\n{}\nbecause = "Because."\n'
    two = 'format = 1\nname = "Two"\ninherits = "one"\n' + change.format("min = 210")
    write_book(tmp_path, two, "two.toml")
    three = 'format = 1\nname = "Three"\ninherits = "two"\n' + change.format("max = 290")
    book = book_of(tmp_path, three)
    assert limits_of(book, "X1") == Limits(low=210.0, high=290.0)
    assert book.parents == ("two", "one")
    assert [change.keys for change in book.changes] == [("min",), ("max",)]


def test_the_fingerprint_is_of_all_the_files(tmp_path: Path) -> None:
    write_book(tmp_path, HEAD + rule_text("max = 305"), "one.toml")
    text = 'format = 1\nname = "Two"\ninherits = "one"\n'
    first = book_of(tmp_path, text).fingerprint
    assert book_of(tmp_path, text).fingerprint == first
    write_book(tmp_path, HEAD + rule_text("max = 304"), "one.toml")
    assert book_of(tmp_path, text).fingerprint != first


def test_line_ends_do_not_change_the_fingerprint(tmp_path: Path) -> None:
    text = HEAD + rule_text("max = 305")
    first = book_of(tmp_path, text).fingerprint
    path = tmp_path / "windows.toml"
    path.write_bytes(text.replace("\n", "\r\n").encode())
    assert read_rulebook(path).fingerprint == first


@pytest.mark.parametrize(
    ("division", "clauses", "least", "height"),
    [
        ("", ["X1", "X2"], 200.0, 75.0),
        ("beginner", ["X1", "X2", "X3"], 200.0, 70.0),
        ("open", ["X1", "X2", "X4"], 150.0, 70.0),
    ],
)
def test_a_division_switches_limits(
    tmp_path: Path, division: str, clauses: list[str], least: float, height: float
) -> None:
    book = book_of(tmp_path, DIVISIONS, division)
    assert book.divisions == ("beginner", "open")
    assert book.division == division
    assert [rule.clause for rule in book.rules] == clauses
    assert limits_of(book, "X1") == Limits(low=least, high=305.0)
    assert limits_of(book, "X2") == Limits(high=height)


def test_a_division_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError) as caught:
        book_of(tmp_path, DIVISIONS, "opne")
    (problem,) = caught.value.problems
    assert (problem.code, problem.nearest) == ("rulebook-division", "open")
    assert problem.span is not None
    assert problem.span.line == 4


def test_a_score_is_read(tmp_path: Path) -> None:
    book = book_of(tmp_path, HEAD + "[score]\nfull = 100\nleast = 60\n\n" + rule_text("max = 305"))
    assert book.score is not None
    assert (book.score.full, book.score.least) == (100.0, 60.0)


def test_a_long_book_is_read_once_over(tmp_path: Path) -> None:
    count = 3000
    text = HEAD + "".join(rule_text("max = 305", f"X{number}") for number in range(count))
    assert len(book_of(tmp_path, text).rules) == count
