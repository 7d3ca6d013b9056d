"""Changes of a text: applied, taken back, carried over others. Offsets as a browser counts them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.app.bench.text_edits import (
    Splice,
    between,
    combined,
    from_units,
    rebased,
    to_units,
    with_endings,
)

TEXTS = st.text(alphabet='ab \n"é😀', max_size=40)


@given(TEXTS, TEXTS)
def test_the_stretch_between_two_texts_makes_one_of_the_other_and_back(before: str, after: str) -> None:
    splice = between(before, after)
    if splice is None:
        assert before == after
        return
    assert splice.on(before) == after
    assert splice.back.on(after) == before
    # No shorter single stretch would do: its ends differ.
    if splice.old and splice.new:
        assert splice.old[0] != splice.new[0]
        assert splice.old[-1] != splice.new[-1]


def test_a_stretch_is_not_put_where_its_old_text_does_not_stand() -> None:
    with pytest.raises(ValueError, match="not what was to be replaced"):
        Splice(2, "x", "y").on("abc")


@given(TEXTS, st.data())
def test_changes_of_one_text_that_do_not_touch_come_out_the_same_in_either_order(
    text: str, data: st.DataObject
) -> None:
    cut = data.draw(st.integers(0, len(text)))
    first = _change(data, text, 0, cut)
    second = _change(data, text, cut, len(text))
    if first.end == second.start:  # they touch: which goes first is a matter of who was first
        return
    one = rebased(second, first)
    other = rebased(first, second)
    assert one is not None
    assert other is not None
    assert one.on(first.on(text)) == other.on(second.on(text))


def _change(data: st.DataObject, text: str, low: int, high: int) -> Splice:
    start = data.draw(st.integers(low, high))
    end = data.draw(st.integers(start, high))
    return Splice(start, text[start:end], data.draw(st.text("xy", max_size=3)))


def test_changes_of_the_same_letters_cannot_both_be_made() -> None:
    assert rebased(Splice(2, "cd", "x"), Splice(3, "de", "y")) is None


def test_two_insertions_at_one_place_both_stay_the_earlier_one_first() -> None:
    later = rebased(Splice(2, "", "second"), Splice(2, "", "first "))
    assert later == Splice(8, "", "second")


def test_several_carets_are_one_change() -> None:
    splice = combined("abcdef", [(4, 5, "E"), (1, 2, "B")])
    assert splice == Splice(1, "bcde", "BcdE")


@pytest.mark.parametrize("bad", [[(0, 9, "")], [(2, 1, "")], [(-1, 0, "")], [(0, 2, ""), (1, 3, "")]])
def test_stretches_outside_the_text_or_over_each_other_are_refused(bad: list[tuple[int, int, str]]) -> None:
    with pytest.raises(ValueError, match="outside the text or over each other"):
        combined("abc", bad)


@given(TEXTS)
def test_offsets_in_16_bit_units_are_those_of_utf_16(text: str) -> None:
    # RFC 2781 (UTF-16): a sign beyond U+FFFF takes two units.
    for place in range(len(text) + 1):
        units = len(text[:place].encode("utf-16-le")) // 2
        assert to_units(text, place) == units
        assert from_units(text, units) == place


def test_an_offset_inside_a_sign_or_outside_the_text_is_refused() -> None:
    with pytest.raises(ValueError, match="no place 1"):
        from_units("😀", 1)
    with pytest.raises(ValueError, match="no place 5"):
        from_units("abc", 5)
    with pytest.raises(ValueError, match="no place -1"):
        from_units("abc", -1)


@pytest.mark.parametrize(
    ("before", "text", "after"),
    [
        ("a\nb\n", "a\nc\n", "a\nc\n"),
        ("a\r\nb\r\n", "a\nc\nd\n", "a\r\nc\r\nd\r\n"),
        ("a\r\nb\nc\r\n", "a\nb\nx\nc\n", "a\r\nb\nx\r\nc\r\n"),
    ],
)
def test_lines_keep_the_ends_they_had(before: str, text: str, after: str) -> None:
    assert with_endings(before, text) == after
