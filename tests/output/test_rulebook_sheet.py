"""The rulebook as a sheet to read."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import width_of
from bodyshop.output.terminal.rulebook import rulebook_text
from bodyshop.rules.rulebook import Rulebook, find_rulebook, limits_text, read_rulebook, shipped_rulebooks
from tests.rules.books import HEAD, book_of, rule_text


@cache
def book(name: str, division: str = "") -> Rulebook:
    return read_rulebook(find_rulebook(name), division=division)


def part_of(text: str, clause: str) -> str:
    """The lines of one clause, as one line."""
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith(f"  {clause} "))
    end = next(
        (n for n in range(start + 1, len(lines)) if not lines[n].startswith("     ")),
        len(lines),
    )
    return " ".join(" ".join(lines[start:end]).split())


@pytest.mark.parametrize("name", shipped_rulebooks())
@pytest.mark.parametrize("width", [60, 80, 100])
def test_every_clause_is_there_and_no_line_is_too_wide(name: str, width: int) -> None:
    text = rulebook_text(book(name), width=width)
    assert max(width_of(line) for line in text.splitlines()) <= width
    words = " ".join(text.split())
    for rule in book(name).rules:
        told = part_of(text, rule.clause)
        assert rule.reason in told
        assert rule.instruction in told
        assert limits_text(rule.limits, rule.kind, rule.unit) in told
    assert book(name).fingerprint in words
    assert book(name).note in words
    assert text.endswith("\n")


def test_a_clause_in_full() -> None:
    assert part_of(rulebook_text(book("quarry-lane")), "C1") == (
        "C1 Cartridge hole diameter 19 to 20 mm The cartridge has to slide in and out by hand. Too tight, it "
        "jams; too loose, it wastes its push. Measured on the bare body, from one side of the "
        "hole to the other. "
        "If not: disqualify. Checked with a gauge. How: Plug gauge: the go end must slide in to the "
        "bottom; the no-go end must not go in. Paint in the hole counts."
    )


def test_what_is_changed_says_where_from_what_and_why() -> None:
    text = rulebook_text(book("quarry-lane-2"))
    assert "quarry-lane-2.toml" in text
    assert "over quarry-lane" in text
    assert part_of(text, "B6").endswith(
        "Changed by quarry-lane-2 (before: at least 3 mm): Last year three noses broke on the stop."
    )
    assert "Changed" not in part_of(text, "B5")


def test_a_division_shows_its_own_changes() -> None:
    beginner = rulebook_text(book("quarry-lane-league", "beginner"))
    assert "Changed by quarry-lane-league for beginner (before: 35 to 42 mm, disqualify):" in part_of(
        beginner, "B3"
    )
    assert "Other divisions: open." in beginner
    assert "Left out\n  I4, All four wheels touch the flat plate at once: With a first car" in beginner
    open_ = rulebook_text(book("quarry-lane-league", "open"))
    assert "New in quarry-lane-league." in part_of(open_, "L1")
    assert "Left out" not in open_


def test_a_book_of_its_own_says_nothing_of_others() -> None:
    text = rulebook_text(book("quarry-lane"))
    assert "Changed" not in text
    assert "New in" not in text
    assert "stands as it is in" not in text


def test_the_track_is_told_as_people_say_it() -> None:
    assert "The track is 20 m long." in rulebook_text(book("quarry-lane"))
    assert "The track is 65 ft long." in rulebook_text(book("quarry-lane-inch"))


def test_sources_and_items_with_limits(tmp_path: Path) -> None:
    text = HEAD + rule_text('max = 305\nsource = "this year\'s sheet, page 2"')
    text += (
        '[[rule]]\nclause = "X2"\nitem = "Stickers are thin."\nkind = "length"\nmax = 0.5\n'
        'fails = "show only"\nreason = "Because."\n'
    )
    shown = rulebook_text(book_of(tmp_path, text))
    assert "Figure from: this year's sheet, page 2" in part_of(shown, "X1")
    assert part_of(shown, "X2").startswith("X2 Stickers are thin. at most 0.5 mm")
    assert "Checked by eye." in part_of(shown, "X2")


def test_long_labels_and_titles_stay_within_the_page(tmp_path: Path) -> None:
    text = HEAD + rule_text(f'max = 305\ntitle = "{"long " * 60}"', "a label of thirty characters!")
    text += rule_text(f'max = 305\ntitle = "{"x" * 300}"', "2")
    shown = rulebook_text(book_of(tmp_path, text), width=60)
    assert max(width_of(line) for line in shown.splitlines()) <= 60
    assert shown.count("at most 305 mm") == 2


def test_colour_changes_no_word() -> None:
    plain = rulebook_text(book("quarry-lane"))
    coloured = rulebook_text(book("quarry-lane"), ink=TextStyle(on=True))
    assert "\x1b[1m" in coloured
    assert coloured.replace("\x1b[1m", "").replace("\x1b[0m", "") == plain
