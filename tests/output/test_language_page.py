"""The reference of the rulebook language: on a terminal, and as a page that is today's."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.text.columns import width_of
from bodyshop.output.terminal.rulebook_language import PAGE_FILE, language_page, language_text
from bodyshop.rules.rulebook.language import CHANGE, TABLES

ROOT = Path(__file__).resolve().parents[2]


def test_the_page_is_that_of_today() -> None:
    shipped = (rules_folder() / PAGE_FILE).read_text(encoding="utf-8")
    assert shipped == language_page(), "run python -m bodyshop.output.terminal.rulebook_language"


def test_the_readme_links_the_page() -> None:
    assert f"(rules/{PAGE_FILE})" in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name or "top")
def test_every_key_is_told_with_meaning_and_example(table) -> None:
    text, page = language_text(width=10_000), language_page()
    for key in table.keys:
        if table is CHANGE and key.changeable:
            continue
        assert key.meaning in text
        assert key.meaning in page
        for line in key.example.splitlines():
            assert f"        {line}\n" in text
            assert f"`{line}`" in page


def test_rows_of_the_page_have_four_columns() -> None:
    rows = [line for line in language_page().splitlines() if line.startswith("|")]
    assert len(rows) > 100
    assert {line.count("|") for line in rows} == {5}


def test_it_keeps_to_the_width() -> None:
    lines = language_text(width=60).splitlines()
    examples = [line for table in TABLES for key in table.keys for line in key.example.splitlines()]
    assert all(width_of(line) <= 60 for line in lines if line.strip() not in examples)


def test_one_key_is_told_wherever_it_stands() -> None:
    text = language_text(about="near")
    assert "[reading]" in text
    assert "[[rule]]" in text
    assert "mass_resolution" not in text
    assert "most_points" not in text
    assert "most_points" in language_text(about="rule")


@pytest.mark.parametrize(("about", "near"), [("pionts", "points"), ("scroe", "score"), ("\x1b[2J" * 40, "")])
def test_an_unknown_key_is_told_in_one_sentence(about: str, near: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        language_text(about=about)
    (problem,) = caught.value.problems
    assert problem.nearest == near
    assert problem.message.isprintable()
    assert len(problem.message) < 120
