"""Cells of a table: no program that opens it runs one, whatever it parts cells at; and texts come back."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.foundation.text.csv_text import csv_bytes, guarded, unguarded

FORMULA = tuple("=+-@＝＋－＠")
NASTY = st.text(st.sampled_from("=+-@＝;|\t\n\r,'\" ab1\u2028"), max_size=12)
MARKS = (",", ";", "\t", "|")


def formulas(data: bytes, mark: str) -> list[str]:
    """Cells that a program takes for formulas. Reader: Python's csv module; how a cell that begins with a
    sign is taken: OWASP, "CSV Injection", which names = + - @, tab and carriage return.
    """
    rows = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=mark)
    return [cell for row in rows for cell in row if cell.lstrip().startswith(FORMULA)]


@pytest.mark.parametrize("mark", MARKS)
@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        ";=1+1",
        "a;=1+1",
        "a; =1+1",
        'a;"=1+1',
        "a\t=1+1",
        "a|@SUM(A1)",
        "a\n=1+1",
        "a\r\n-1",
        "a;;=1",
        "'=1",
    ],
)
def test_no_cell_is_a_formula_with_any_mark(text: str, mark: str) -> None:
    for row in (["1", guarded(text), "2"], [guarded(text)], ["1", guarded(text)]):
        assert formulas(csv_bytes([row]), mark) == []
    assert unguarded(guarded(text)) == text


def test_the_reader_sees_the_formula_in_a_cell_that_is_not_guarded() -> None:
    data = csv_bytes([["1", "a;=1+1", "2"]])
    assert formulas(data, ";") == ["=1+1,2"]
    assert formulas(data, ",") == []


@settings(max_examples=400)
@given(NASTY, st.sampled_from(MARKS))
def test_no_text_makes_a_formula(text: str, mark: str) -> None:
    assert formulas(csv_bytes([["1", guarded(text), "2"]]), mark) == []


@settings(max_examples=400)
@given(NASTY)
def test_every_text_comes_back_and_every_text_may_be_read_as_it_stands(text: str) -> None:
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize(
    "text", ["Kestrel", "a - b", "2=1; 5=2", "it's", "'tis", "x, -1", "Bench 4; the left one", ""]
)
def test_a_text_that_harms_nobody_stays_as_it_is(text: str) -> None:
    assert guarded(text) == text
