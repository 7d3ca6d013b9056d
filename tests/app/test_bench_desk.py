"""The document: one text, one history for all who change it, and what it comes to."""

from __future__ import annotations

import pytest

from bodyshop.app.bench.document import DesignDocument, OverlapError, TooLongError, judge_text
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.rules.checking import RulebookCache

WREN = (samples_folder() / "wren.toml").read_text(encoding="utf-8")


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def document(text: str = "depth = 52\nheight = 25\n") -> tuple[DesignDocument, Clock]:
    clock = Clock()
    return DesignDocument(text, "wren.toml", clock=clock), clock


def test_letters_typed_in_a_row_are_one_step_and_a_pause_begins_another() -> None:
    sheet, clock = document("")
    for place, letter in enumerate("wren"):
        clock.now += 0.2
        sheet.type_in([(place, place, letter)], place)
    clock.now += 5.0
    sheet.type_in([(4, 4, "!")], 4)
    assert sheet.text == "wren!"
    sheet.undo()
    assert sheet.text == "wren"
    sheet.undo()
    assert sheet.text == ""
    assert not sheet.can_undo
    sheet.redo()
    sheet.redo()
    assert sheet.text == "wren!"
    assert not sheet.can_redo


def test_words_typed_in_two_places_are_two_steps() -> None:
    sheet, _ = document("a\nb\nc\n")
    sheet.type_in([(0, 1, "x")], 0)
    sheet.type_in([(4, 5, "y")], 1)
    sheet.undo()
    assert sheet.text == "x\nb\nc\n"


def test_the_steps_of_one_drag_are_taken_back_at_once_and_typing_in_between_stays_apart() -> None:
    sheet, _ = document()
    before = sheet.text
    sheet.type_in([(len(before), len(before), "# typed\n")], 0)
    for depth in ("52.5", "53", "53.5"):
        sheet.set_text(f"depth = {depth}\nheight = 25\n# typed\n", group="drag 1")
    sheet.set_text("depth = 53.5\nheight = 26\n# typed\n", group="drag 2")
    sheet.undo()
    assert sheet.text == "depth = 53.5\nheight = 25\n# typed\n"
    sheet.undo()
    assert sheet.text == before + "# typed\n"
    sheet.undo()
    assert sheet.text == before


def test_a_drag_that_ends_where_it_began_leaves_no_step() -> None:
    sheet, _ = document()
    sheet.set_text("depth = 55\nheight = 25\n", group="drag 1")
    sheet.set_text("depth = 52\nheight = 25\n", group="drag 1")
    assert not sheet.can_undo


def test_something_new_after_undo_forgets_what_was_undone() -> None:
    sheet, _ = document("a")
    sheet.set_text("b")
    sheet.undo()
    sheet.set_text("c")
    assert not sheet.can_redo
    assert sheet.redo() is None


def test_what_was_typed_on_an_older_text_is_carried_over_what_came_between() -> None:
    sheet, _ = document()
    sheet.set_text("# a comment of another tab\n" + sheet.text)
    sheet.type_in([(8, 10, "51")], 0)  # the figures of `depth = 52` as it stood at revision 0
    assert sheet.text == "# a comment of another tab\ndepth = 51\nheight = 25\n"


def test_what_touches_a_change_of_another_tab_is_refused_and_nothing_is_lost() -> None:
    sheet, _ = document()
    sheet.type_in([(8, 10, "51")], 0)
    with pytest.raises(OverlapError):
        sheet.type_in([(9, 10, "7")], 0)
    assert sheet.text == "depth = 51\nheight = 25\n"
    assert sheet.revision == 1


@pytest.mark.parametrize("base", [-1, 7])
def test_a_revision_that_never_was_is_refused(base: int) -> None:
    sheet, _ = document()
    with pytest.raises(OverlapError):
        sheet.type_in([(0, 0, "x")], base)


def test_a_revision_of_long_ago_is_refused_and_the_history_stays_bounded() -> None:
    sheet, _ = document("0")
    for number in range(1, 1400):
        sheet.set_text(str(number))
    with pytest.raises(OverlapError):
        sheet.type_in([(0, 0, "x")], 0)
    assert sheet.text_at(1398) == "1398"
    steps = 0
    while sheet.undo() is not None:
        steps += 1
    assert steps == 500


def test_a_text_too_long_to_be_a_design_is_refused() -> None:
    sheet, _ = document()
    with pytest.raises(TooLongError):
        sheet.type_in([(0, 0, "#" * 1_000_001)], 0)
    assert sheet.revision == 0


def test_lines_end_in_line_feeds_whatever_comes_in() -> None:
    sheet, _ = document("a\r\nb\r\n")
    assert sheet.text == "a\nb\n"
    sheet.type_in([(4, 4, "c\r\n")], 0)
    assert sheet.text == "a\nb\nc\n"


def test_the_last_car_that_could_be_read_is_kept_while_the_text_is_at_fault() -> None:
    sheet = DesignDocument(WREN, "wren.toml")
    assert sheet.state.fresh
    sheet.set_text(WREN.replace('"basswood"', '"baswood"'))
    state = sheet.state
    assert not state.fresh
    assert state.checked is not None
    assert state.checked.opened.design.name == "Wren"
    assert [problem.nearest for problem in state.problems] == ["basswood"]
    sheet.undo()
    assert sheet.state.fresh
    assert not sheet.state.problems


def test_a_verdict_that_comes_late_does_not_replace_a_later_one() -> None:
    sheet = DesignDocument(WREN, "wren.toml")
    old = judge_text(WREN, "wren.toml", RulebookCache())
    sheet.set_text(WREN.replace("depth = 52", "depth = 40"))
    assert sheet.state.fresh
    assert not sheet.take(old, 0)
    checked = sheet.state.checked
    assert checked is not None
    assert [verdict.rule.clause for verdict in checked.judgement.failed] == ["C2"]
