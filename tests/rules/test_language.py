"""The table of the rulebook language: every key has a meaning and an example, and the loader reads it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields
from pathlib import Path

import pytest

from bodyshop.car.stock.hardware import PART_SHELVES, hardware
from bodyshop.foundation.problems import ProblemsError
from bodyshop.rules.rulebook import read_rulebook
from bodyshop.rules.rulebook.language import (
    CHANGE,
    CHANGE_KEYS,
    COST_KEYS,
    HEAD,
    KIT,
    LIMIT_KEYS,
    READING,
    RULE,
    SCORE,
    STOCK,
    TABLES,
    LanguageKey,
    LanguageTable,
    Sort,
    stock_keys,
)
from bodyshop.rules.rulebook.limits import LIMIT_GROUPS
from bodyshop.rules.rulebook.model import Rule
from tests.rules.books import write_book

OWN_OF_CHANGE = tuple(key for key in CHANGE.keys if not key.changeable)
SHOWN = [
    (table, key) for table in TABLES for key in table.keys if table is not CHANGE or key in OWN_OF_CHANGE
]
NAMES = [f"{table.name or 'top'} {key.name}" for table, key in SHOWN]


def lines_without(lines: dict[str, str], example: str) -> str:
    """The example, and those of the lines whose keys are not in it."""
    said = tomllib.loads(example)
    return "\n".join([*(f"{key} = {value}" for key, value in lines.items() if key not in said), example])


def book_text(table: LanguageTable, key: LanguageKey, example: str) -> str:
    """A whole book with an example in it; what else its table needs stands beside it."""
    top = {"format": "1", "name": '"Book"', "units": '"mm"', "divisions": '["beginner", "open"]'}
    reading, rest = '[reading]\nresolution = "0.1 mm"\n', ""
    if table is HEAD and not example.startswith("["):
        head = lines_without(top, example)
        return f"{head}\n{reading}" + rule("max = 300")
    if table is CHANGE or key.name == "change":
        top["inherits"] = '"quarry-lane"'
    if table is HEAD:
        rest = example
    elif table is READING:
        return lines_without(top, "") + "\n[reading]\n" + lines_without({"resolution": "0"}, example) + rule()
    elif table is KIT:
        rest = f"[kit]\n{example}"
    elif table is SCORE:
        rest = "[score]\n" + lines_without({"full": "100"}, example)
    elif table is RULE:
        rest = rule(example) + rule('clause = "X2"\nmax = 299')
    elif table is CHANGE:
        rest = "[[change]]\n" + lines_without({"clause": '"B1"', "because": '"It is so."'}, example)
    elif table is STOCK:
        shelf = (key.items or ("wheels",))[0]
        like = "wheel-34" if shelf == "wheels" else next(iter(hardware().shelf(shelf)))
        item = {"shelf": f'"{shelf}"', "id": '"our-own"', "like": f'"{like}"', "source": '"our sheet"'}
        rest = "[[stock]]\n" + lines_without(item, example)
    held = reading if "[reading]" not in rest and "inherits" not in top else ""
    more = rule() if "[[rule]]" not in rest and "inherits" not in top else ""
    return f"{lines_without(top, '')}\n{held}\n{rest}\n{more}"


def rule(example: str = "max = 300") -> str:
    """A rule with an example in it."""
    said = tomllib.loads(example)
    usual = {"clause": '"X1"', "measure": '"body.length"', "fails": '"disqualify"', "reason": '"It is so."'}
    if "item" in said:
        del usual["measure"]
    if not said.keys() & set(LIMIT_KEYS) and "item" not in said:
        usual["max"] = "300"
    return "\n[[rule]]\n" + lines_without(usual, example) + "\n"


@pytest.mark.parametrize(("table", "key"), SHOWN, ids=NAMES)
def test_every_example_is_read_without_a_doubt(
    tmp_path: Path, table: LanguageTable, key: LanguageKey
) -> None:
    assert key.name in tomllib.loads(key.example)
    book = read_rulebook(write_book(tmp_path, book_text(table, key, key.example)))
    assert book.warnings == ()


@pytest.mark.parametrize(("table", "key"), SHOWN, ids=NAMES)
def test_no_key_is_known_and_not_read(tmp_path: Path, table: LanguageTable, key: LanguageKey) -> None:
    """A date is wrong for every key, so a key that takes one is not looked at."""
    if key.sort in (Sort.TABLE, Sort.TABLES):
        example = f"{key.name} = 2026-05-01"
    else:
        example = re.sub(rf"(?m)^{key.name} = .*$", f"{key.name} = 2026-05-01", key.example)
    assert "2026" in example
    with pytest.raises(ProblemsError) as caught:
        read_rulebook(write_book(tmp_path, book_text(table, key, example)))
    assert any(key.name in problem.message for problem in caught.value.problems)


@pytest.mark.parametrize(("table", "key"), SHOWN, ids=NAMES)
def test_a_key_that_is_not_in_the_table_is_unknown(
    tmp_path: Path, table: LanguageTable, key: LanguageKey
) -> None:
    if key.sort in (Sort.TABLE, Sort.TABLES):
        example = f"{key.name}_x = 1"
    else:
        example = f"{key.example}\n{key.name}_x = 1"
    with pytest.raises(ProblemsError) as caught:
        read_rulebook(write_book(tmp_path, book_text(table, key, example)))
    assert [problem.code for problem in caught.value.problems] == ["rulebook-key"]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name or "top")
def test_meanings_are_sentences_and_names_stand_once(table: LanguageTable) -> None:
    assert len(set(table.names)) == len(table.names)
    for key in table.keys:
        assert key.meaning[0].isupper(), key
        assert key.meaning.endswith("."), key
        assert ". " not in key.meaning, key
        assert bool(key.words) == (key.sort in (Sort.WORD, Sort.WORDS, Sort.UNIT)), key


def test_the_keys_of_a_part_are_the_fields_of_its_class() -> None:
    for shelf, kind in PART_SHELVES.items():
        plain = {each.name.removesuffix("_mm").removesuffix("_g") for each in fields(kind)}
        assert set(stock_keys(shelf)) == plain | {"shelf", "like"}
    assert {name for shelf in PART_SHELVES for name in stock_keys(shelf)} == set(STOCK.names)


def test_the_groups_of_limits_are_the_limits_of_the_table() -> None:
    assert tuple(key for group in LIMIT_GROUPS for key in group) == LIMIT_KEYS
    assert set(COST_KEYS) < set(CHANGE_KEYS) < set(RULE.names)
    assert set(RULE.names) - set(CHANGE_KEYS) == {"clause", "measure", "item", "kind", "division"}


def test_what_costs_something_is_under_the_heading_of_costs() -> None:
    known = {each.name for each in fields(Rule)}
    assert set(COST_KEYS) <= known
    assert {"points", "ballast", "award", "times", "fails", "per", "rounding", "most_points"} == set(
        COST_KEYS
    )
