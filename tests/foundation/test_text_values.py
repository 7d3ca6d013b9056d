"""Values in words, for every message that shows what a file said."""

from __future__ import annotations

import pytest

from bodyshop.foundation.text.values import first_few, is_number, kind_of_value, quoted, shortened, shown


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "true"),
        (52, "52"),
        (0.1, "0.1"),
        (10**40, "a number of more than 40 digits"),
        pytest.param(10**5000, "a number of more than 40 digits", id="endless"),
        ([1], "a list"),
        ({}, "a table"),
        ("wren", '"wren"'),
        ("a\tb", '"a\\tb"'),
        ("n" * 61, '"' + "n" * 56 + '..."'),
    ],
)
def test_quoted(value: object, words: str) -> None:
    assert quoted(value) == words
    assert shown(value) == words.strip('"')


def test_a_truth_value_is_no_number() -> None:
    assert is_number(1)
    assert is_number(0.5)
    assert not is_number(True)
    assert kind_of_value(True) == "true"


def test_only_what_is_too_long_is_cut() -> None:
    assert shortened("x" * 40) == "x" * 40
    assert shortened("x" * 41) == "x" * 36 + "..."
    assert first_few(["a", "b"], 2) == "a, b"
    assert first_few(["a", "b", "c"], 2) == "a, b and 1 more"
