"""Every table that ships: read as it is declared, refused when it is damaged, and valid by its JSON Schema.

Outside source: the jsonschema library (draft 2020-12).
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Annotated, Any

import jsonschema
import pytest

from bodyshop.car.stock.blades import Blade
from bodyshop.car.stock.blanks import BlankRow
from bodyshop.car.stock.cautions import Caution
from bodyshop.car.stock.finish import WARES
from bodyshop.car.stock.hardware import HARDWARE_TABLES
from bodyshop.car.stock.woods import WOOD_TABLES
from bodyshop.drawing.sheet.paper import SheetRow
from bodyshop.drawing.sheet.pens import PenRow
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml.declared import TomlKey, columns_of
from bodyshop.foundation.toml.json_schema import file_schema, table_schema
from bodyshop.foundation.toml.rows import (
    Disagreements,
    read_named_rows,
    read_named_tables,
    read_row,
    read_tables,
)
from bodyshop.output.papers.order_of_work import WorkStep
from bodyshop.output.words.remedies import ACTION_TABLES
from bodyshop.physics.drag import DRAG_TABLES
from bodyshop.physics.priors import PRIOR_TABLES
from bodyshop.records.book.earlier import LikelyRange
from bodyshop.records.classroom.stock_plan import SupplyFigure
from bodyshop.rules.rulebook.language.tables import LANGUAGE_TABLES
from bodyshop.rules.rulebook.lint.claims import RELATION_TABLES
from bodyshop.rules.rulebook.plausible import PlausibleRow
from bodyshop.solids.jig import JigSizes

TABLES: Mapping[str, Mapping[str, type]] = {
    "car/stock/blades.toml": {"blade": Blade},
    "car/stock/blanks.toml": {"blank": BlankRow},
    "car/stock/cautions.toml": {"caution": Caution},
    "car/stock/finish.toml": WARES,
    "car/stock/hardware.toml": HARDWARE_TABLES,
    "car/stock/woods.toml": WOOD_TABLES,
    "drawing/sheet/paper.toml": {"sheet": SheetRow},
    "drawing/sheet/pens.toml": {"pen": PenRow},
    "output/papers/buildsheet/steps.toml": {"step": WorkStep},
    "output/papers/templates/steps.toml": {"step": WorkStep},
    "physics/drag.toml": DRAG_TABLES,
    "physics/priors.toml": PRIOR_TABLES,
    "records/classroom/supplies.toml": {"figure": SupplyFigure},
    "rules/rulebook/language/language.toml": LANGUAGE_TABLES,
    "rules/rulebook/lint/relations.toml": RELATION_TABLES,
    "rules/rulebook/plausible.toml": {"believed": PlausibleRow},
}
NAMED: Mapping[str, Callable[[Path], object]] = {
    "output/words/actions.toml": lambda file: read_named_tables(file, ACTION_TABLES),
    "records/book/likely.toml": lambda file: read_named_rows(file, LikelyRange),
    "solids/jigs.toml": lambda file: read_row(file, "jig", JigSizes),
}
# What is read by a table of its own: designs that one starts from, and the beginning of a rulebook.
OTHERS = {"car/starters", "rules/rulebook/starter.toml"}


def test_every_table_that_ships_is_declared(root: Path) -> None:
    package = root / "bodyshop"
    there = {file.relative_to(package).as_posix() for file in package.rglob("*.toml")}
    other = {name for name in there if any(name.startswith(each) for each in OTHERS)}
    assert there - other == {*TABLES, *NAMED}
    assert len(other) == 7


@pytest.mark.parametrize("name", TABLES)
def test_a_table_is_read_and_valid_by_its_schema(root: Path, name: str) -> None:
    file = root / "bodyshop" / name
    read = read_tables(file, TABLES[name])
    assert all(rows for rows in read.values())
    schema = file_schema(name, TABLES[name])
    jsonschema.Draft202012Validator.check_schema(schema)
    values = tomllib.loads(file.read_text(encoding="utf-8"))
    jsonschema.validate(values, schema)
    # The counter-case: each key of the first row, misspelt, fails both.
    first = next(iter(TABLES[name]))
    row = values[first][0]
    for key in list(row):
        spoilt = {**values, first: [{**{k: v for k, v in row.items() if k != key}, f"{key}x": row[key]}]}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoilt, schema)


@pytest.mark.parametrize("name", [*TABLES, *NAMED])
def test_an_unknown_key_is_told_at_its_line_with_the_nearest_name(
    root: Path, tmp_path: Path, name: str
) -> None:
    lines = (root / "bodyshop" / name).read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("[") and not line.startswith("[deeds"))
    while " = " not in lines[at] or lines[at].lstrip().startswith("#"):
        at += 1
    key = lines[at].split(" = ")[0]
    if name == "output/words/actions.toml":
        at, key = next((i, "less") for i, line in enumerate(lines) if "less = " in line)
        lines[at] = lines[at].replace("less = ", "lesss = ")
    else:
        lines.insert(at, f"{key}x = 1")
    damaged = tmp_path / Path(name).name
    damaged.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(ProblemsError) as caught:
        NAMED[name](damaged) if name in NAMED else read_tables(damaged, TABLES[name])
    problem = next(each for each in caught.value.problems if each.code == "stock-unknown-key")
    assert problem.span is not None
    assert problem.span.line == at + 1
    assert problem.nearest == key


# ---------------------------------------------------------------- a declaration of the tests' own


class Colour(Enum):
    RED = "red"
    BLUE = "blue"


@dataclass(frozen=True, slots=True)
class Peg:
    """A peg, with every kind of key."""

    id: str
    label: str
    length_mm: Annotated[float, TomlKey(low=1.0, high=100.0, name="length_cm", factor=10.0)]
    count: Annotated[int, TomlKey(low=1, high=9)]
    colour: Colour
    shades: tuple[Colour, ...] = ()
    marks: Annotated[tuple[float, ...], TomlKey(low=0.0, high=1.0)] = ()
    words: tuple[str, ...] = ()
    painted: bool = False
    note: Annotated[str, TomlKey(empty=True)] = ""

    def disagreements(self) -> Disagreements:
        """Paint has a colour of its own."""
        if self.painted and self.colour in self.shades:
            yield "shades", "it is painted in its own colour", "another shade"


@dataclass(frozen=True, slots=True)
class Board:
    """A board that a peg is for."""

    id: str
    peg: Annotated[Peg, TomlKey(table="peg")]


GOOD = """\
[[peg]]
id = "long"
label = "long peg"
length_cm = 3
count = 2
colour = "red"
shades = ["red", "blue"]
marks = [0, 0.5]
words = ["a", ""]
painted = false
note = ""

[[board]]
id = "wide"
peg = "long"
"""


def read(tmp_path: Path, text: str) -> dict[str, tuple[Any, ...]]:
    file = tmp_path / "pegs.toml"
    file.write_text(text, encoding="utf-8")
    return read_tables(file, {"peg": Peg, "board": Board})


def test_every_kind_of_key_is_read(tmp_path: Path) -> None:
    found = read(tmp_path, GOOD)
    (peg,), (board,) = found["peg"], found["board"]
    assert peg == Peg(
        "long", "long peg", 30.0, 2, Colour.RED, (Colour.RED, Colour.BLUE), (0.0, 0.5), ("a", "")
    )  # fmt: skip
    assert board.peg is peg
    assert [column.optional for column in columns_of(Peg)] == [False] * 5 + [True] * 5


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "nearest"),
    [
        ("length_cm = 3", "length_cm = 0.5", "stock-range", 4, ""),
        ("count = 2", "count = 2.5", "stock-value", 5, ""),
        ("count = 2", "count = true", "stock-value", 5, ""),
        ("count = 2", "count = 10", "stock-range", 5, ""),
        ('colour = "red"', 'colour = "redd"', "stock-value", 6, "red"),
        ('["red", "blue"]', '["red", "red"]', "stock-value", 7, ""),
        ("[0, 0.5]", "[0, 5]", "stock-range", 8, ""),
        ("[0, 0.5]", "0", "stock-value", 8, ""),
        ('["a", ""]', '["a", 1]', "stock-value", 9, ""),
        ("painted = false", 'painted = "no"', "stock-value", 10, ""),
        ("painted = false", "painted = true", "stock-disagree", 7, ""),
        ('peg = "long"', 'peg = "lng"', "stock-value", 15, "long"),
        ('label = "long peg"\n', "", "stock-missing-key", None, ""),
    ],
)
def test_one_slip(tmp_path: Path, old: str, new: str, code: str, line: int | None, nearest: str) -> None:
    assert old in GOOD
    with pytest.raises(ProblemsError) as caught:
        read(tmp_path, GOOD.replace(old, new, 1))
    (problem,) = caught.value.problems
    assert (problem.code, problem.nearest) == (code, nearest)
    assert problem.span is not None
    assert line is None or problem.span.line == line


def test_the_schema_says_what_the_loader_refuses() -> None:
    schema = table_schema(Peg)
    good = tomllib.loads(GOOD)["peg"][0]
    jsonschema.validate(good, schema)
    for slip in (
        {"count": 2.5},
        {"colour": "rot"},
        {"shades": ["red", "red"]},
        {"length_cm": 0.5},
        {"label": " "},
    ):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**good, **slip}, schema)
    assert schema["description"] == "A peg, with every kind of key."


def test_a_type_that_no_key_can_hold_is_refused_when_it_is_declared() -> None:
    @dataclass(frozen=True, slots=True)
    class Odd:
        when: complex

    with pytest.raises(TypeError, match="no key of a TOML table"):
        columns_of(Odd)
