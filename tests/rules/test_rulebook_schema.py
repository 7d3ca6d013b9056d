"""The JSON Schema of rulebooks: legal, and in step with the loader.

Outside check: the `jsonschema` package validates, against draft 2020-12 of json-schema.org.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.rules.rulebook import read_rulebook
from bodyshop.rules.rulebook.json_schema import rulebook_schema
from bodyshop.rules.rulebook.language import LanguageKey, LanguageTable
from bodyshop.rules.rulebook.starter import new_rulebook_text
from tests.rules.books import write_book
from tests.rules.test_language import NAMES, SHOWN, book_text

VALIDATOR = jsonschema.Draft202012Validator(rulebook_schema())
SHIPPED = sorted(rules_folder().glob("*.toml"))
SHEETS = sorted((Path(__file__).parent / "sheets").glob("*.toml"))
START = new_rulebook_text("Ours")
BROUGHT = START.replace(
    "# A part that is not in stock",
    '[[stock]]\nshelf = "wheels"\nid = "ours"\nlike = "wheel-34"\ndiameter = 31\nsource = "ours"\n\n# A part',
)


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(rulebook_schema())


@pytest.mark.parametrize("book", [*SHIPPED, *SHEETS], ids=lambda file: file.stem)
def test_rulebooks_satisfy_it(book: Path) -> None:
    VALIDATOR.validate(tomllib.loads(book.read_text(encoding="utf-8")))


@pytest.mark.parametrize(("table", "key"), SHOWN, ids=NAMES)
def test_every_example_satisfies_it(table: LanguageTable, key: LanguageKey) -> None:
    VALIDATOR.validate(tomllib.loads(book_text(table, key, key.example)))


def test_the_sheet_to_start_from_satisfies_it() -> None:
    VALIDATOR.validate(tomllib.loads(START))
    VALIDATOR.validate(tomllib.loads(BROUGHT))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format = 1", "format = 2"),
        ("format = 1", ""),
        ('name = "Ours"', 'name = ""'),
        ('units = "mm"', ""),
        ('near = "0.5 mm"', 'naer = "0.5 mm"'),
        ('washer = "washer-3"', "washer = 3"),
        ("washers = 1", "washers = -1"),
        ("full = 100", 'full = "many"'),
        ('clause = "1" ', 'klause = "1" '),
        ('fails = "disqualify"', 'fails = "disqualfy"'),
        ('fails = "disqualify"', ""),
        ('measure = "car.mass"', 'measure = "car.mass"\nitem = "The mass."'),
        ('measure = "car.mass"', ""),
        ('checked_by = "eyes"', 'checked_by = "nose"'),
        ("diameter = 31", "thickness = 31"),
        ('shelf = "wheels"', 'shelf = "whels"'),
        ('source = "ours"', ""),
    ],
)
def test_slips_do_not_satisfy_it_nor_the_loader(tmp_path: Path, old: str, new: str) -> None:
    assert old in BROUGHT
    text = BROUGHT.replace(old, new, 1)
    assert not VALIDATOR.is_valid(tomllib.loads(text))
    with pytest.raises(ProblemsError):
        read_rulebook(write_book(tmp_path, text))
