"""A limit between two marks of the resolution is doubted where a reading may be rounded over it."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.rules.rulebook import limits_text
from bodyshop.rules.rulebook.certainty import placed
from bodyshop.rules.rulebook.lint import lint_rulebook
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text, write_book


@pytest.mark.parametrize(
    ("limit", "doubted"),
    [
        ('min = "3/4 in"', False),  # 19.05 mm: 19.049 reads 19.0 and fails
        ("min = 19.08", True),  # 19.06 reads 19.1 and would pass
        ("min = 19.03", False),
        ('max = "3/4 in"', False),  # 19.05 mm: 19.051 reads 19.1 and fails
        ("max = 19.03", True),  # 19.04 reads 19.0 and would pass
        ("max = 19.08", False),
    ],
)
def test_only_a_limit_that_rounding_can_pass_is_doubted(tmp_path: Path, limit: str, doubted: bool) -> None:
    book = book_of(tmp_path, HEAD + rule_text(limit, measure="bore.diameter"))
    assert ("rulebook-resolution" in {each.code for each in book.warnings}) is doubted


def test_a_car_is_judged_at_three_quarters_of_an_inch_itself(tmp_path: Path) -> None:
    # 0.75 * 25.4 = 19.05 exactly: NIST Special Publication 811, appendix B.
    book = book_of(tmp_path, HEAD + rule_text('min = "3/4 in"', measure="bore.diameter"))
    assert book.rules[0].limits is not None
    placings = {value: placed(value, book.rules[0].limits, 0.1)[1] for value in (19.049, 19.05, 19.051)}
    assert placings[19.049] < 0.0 <= min(placings[19.05], placings[19.051])


@pytest.mark.parametrize("size", ['"1/8"', "0.125", '"1/8 in"'])
def test_an_eighth_of_an_inch_is_no_slip_for_three_inches(tmp_path: Path, size: str) -> None:
    book = book_of(tmp_path, INCH_HEAD + rule_text(f"max = {size}", measure="body.width"))
    (doubt,) = book.warnings
    assert doubt.code == "rulebook-implausible"
    assert doubt.message.startswith("1/8 in is hard to believe")
    assert doubt.nearest == ""
    assert doubt.expected == "0.31 in to 7.9 in"


def test_an_eighth_of_an_inch_of_wall_is_believed(tmp_path: Path) -> None:
    text = INCH_HEAD + rule_text('min = "1/8"', measure="bore.wall")
    assert lint_rulebook(write_book(tmp_path, text)) == ()


@pytest.mark.parametrize(
    ("head", "limits", "words"),
    [
        (HEAD, 'min = "1/4 in"\nmax = 8', "6.35 to 8 mm"),
        (HEAD, 'min = "1/4 in"\nmax = "5/16 in"', "1/4 to 5/16 in"),
        (HEAD, 'exact = "3/4 in"\ntolerance = "0.1 mm"', "19.05 mm ± 0.1 mm"),
        (HEAD, 'one_of = ["1/4 in", 8]', "6.35 mm or 8 mm"),
        (INCH_HEAD, 'min = "1/4"\nmax = "7.9375 mm"', "1/4 to 5/16 in"),
    ],
)
def test_limits_in_two_units_show_in_the_unit_of_the_book(
    tmp_path: Path, head: str, limits: str, words: str
) -> None:
    rule = book_of(tmp_path, head + rule_text(limits, measure="front_wheel.width")).rules[0]
    assert limits_text(rule.limits, rule.kind, rule.shown_unit) == words


def test_a_min_above_a_max_of_another_unit_is_told_in_one(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError, match=r"max is 8 mm, below the min of 12\.7 mm"):
        book_of(tmp_path, HEAD + rule_text('min = "1/2 in"\nmax = 8', measure="front_wheel.width"))
