"""Small commands: what can be named and measured, the schemas, and a design to start from."""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import DESIGN, JSON, Argument, design_file, operand, option, plain_name
from bodyshop.app.cli.console import Console, answer
from bodyshop.app.cli.parser import one_of
from bodyshop.car.design.starters import DEFAULT_STARTER, starter_text, starters
from bodyshop.car.measures import catalogue
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.files.safe_writing import write_file
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.foundation.text.columns import wrap
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.output.terminal.tables import SHELVES, catalogue_table, measure_table, stock_table

if TYPE_CHECKING:
    from bodyshop.output.json.check import MeasureDocument
    from bodyshop.rules.checking import Checked

__all__ = ["guide", "measure", "measures", "new", "rulebooks", "schema", "stock"]

_UNITS: Final = {"mm": LengthUnit.MM, "in": LengthUnit.IN}


@action(operand("topic", "TOPIC", "the page to read (default: list them)", nargs="?"))
def guide(options: argparse.Namespace, console: Console) -> None:
    """Print a page of the guide, or the list of pages."""
    from bodyshop.output.guide.pages import guide_list, guide_text

    width = console.width
    console.write(guide_text(options.topic, width, console.ink) if options.topic else guide_list(width))


@action(DESIGN, JSON)
def measure(options: argparse.Namespace, console: Console) -> None:
    """Print everything that can be measured on a design."""
    from bodyshop.rules.checking import check_car, open_car

    checked = check_car(open_car(design_file(options.design, console)))
    if not options.json:
        console.warn(checked.opened.warnings)
    answer(console, options, lambda: _measured(checked), partial(measure_table, checked))


def _measured(checked: Checked) -> MeasureDocument:
    from bodyshop.output.json.check import measured_data

    return measured_data(checked)


@action()
def measures(_: argparse.Namespace, console: Console) -> None:
    """Print the catalogue that rules name their measures from."""
    console.write(catalogue_table(catalogue(), width=console.width, ink=console.ink))


@action()
def rulebooks(_: argparse.Namespace, console: Console) -> None:
    """Print name, size and note of each rulebook that comes with the program."""
    from bodyshop.rules.checking import DEFAULT_RULEBOOK
    from bodyshop.rules.rulebook import find_rulebook, read_rulebook, shipped_rulebooks

    lines: list[str] = []
    for name in shipped_rulebooks():
        book = read_rulebook(find_rulebook(name))
        default = ", the default" if name == DEFAULT_RULEBOOK else ""
        size = f"{number_words(len(book.rules), 'rule')} in {book.unit.symbol}{default}"
        lines.append(console.ink.strong(name) + f"  {book.name}: {size}")
        lines += wrap(book.note, console.width, "    ") if book.note else []
    console.write("\n".join(lines) + "\n")


@action(
    operand("shelves", "SHELF", f"only these: {', '.join(SHELVES)}", one_of(SHELVES, "shelf"), nargs="*"),
    option("--rulebook", "NAME", "list what this event brings as well: the name of a rulebook, or its file"),
)
def stock(options: argparse.Namespace, console: Console) -> None:
    """Print the shelves asked for, or all; with a rulebook also what its event brings."""
    from bodyshop.car.stock.hardware import NOTHING

    brought, unit = NOTHING, MassUnit.G
    if options.rulebook:
        from bodyshop.rules.rulebook import find_rulebook, read_rulebook

        book = read_rulebook(find_rulebook(options.rulebook))
        brought, unit = book.kit.brought, book.mass_unit
    shelves = options.shelves or SHELVES
    console.write(stock_table(shelves, brought, unit=unit, width=console.width, ink=console.ink))


def _schemas() -> dict[str, Callable[[], Mapping[str, object]]]:
    """What makes each schema, from the keys of a file or the records of a table or a document."""
    from bodyshop.car.design.json_schema import design_schema
    from bodyshop.car.stock.blades import Blade
    from bodyshop.car.stock.blanks import BlankRow
    from bodyshop.car.stock.cautions import Caution
    from bodyshop.car.stock.finish import WARES
    from bodyshop.car.stock.hardware import HARDWARE_TABLES
    from bodyshop.car.stock.woods import WOOD_TABLES
    from bodyshop.foundation.toml.json_schema import file_schema
    from bodyshop.output.json.document import FORMATS, document_of, schema_of
    from bodyshop.rules.rulebook.json_schema import rulebook_schema

    tables: dict[str, Mapping[str, type]] = {
        "woods": WOOD_TABLES,
        "blanks": {"blank": BlankRow},
        "blades": {"blade": Blade},
        "finishes": WARES,
        "hardware": HARDWARE_TABLES,
        "cautions": {"caution": Caution},
    }
    return {
        "design": design_schema,
        "rulebook": rulebook_schema,
        **{name: partial(file_schema, f"bodyshop table of {name}", tables[name]) for name in tables},
        **{name: partial(schema_of, document_of(name)) for name in FORMATS},
    }


def _what() -> Argument:
    from bodyshop.output.json.document import FORMATS

    names = list(_schemas())
    stock_tables = names[2 : len(names) - len(FORMATS)]
    return operand(
        "what",
        "WHAT",
        "design or rulebook (the files one writes; the default is design), a table of stock "
        f"({', '.join(stock_tables)}), or what a command prints with --json, by the format that it names: "
        f"{', '.join(FORMATS)}",
        one_of(names, "schema"),
        nargs="?",
        default="design",
    )


@action(_what)
def schema(options: argparse.Namespace, console: Console) -> None:
    """Print a JSON Schema."""
    console.write(json.dumps(_schemas()[options.what](), indent=2, ensure_ascii=False) + "\n")


def _name(text: str) -> str:
    return plain_name(text, "car")


@action(
    operand("name", "NAME", "what the car is called, such as Wren", _name),
    option(
        "--style",
        "STYLE",
        f"the kind of car: {', '.join(starters())} (default: {DEFAULT_STARTER})",
        one_of(starters(), "style"),
        default=DEFAULT_STARTER,
    ),
    option("--units", "UNIT", "mm or in (default: mm)", one_of(_UNITS, "unit"), default="mm"),
)
def new(options: argparse.Namespace, console: Console) -> None:
    """Write a commented design to start from, unless a file of its name is there."""
    name = options.name.removesuffix(".toml")
    path = Path(f"{safe_stem(name).lower()}.toml")
    if os.path.lexists(path):
        raise WriteRefusedError(str(path), "there is such a file already; choose another name")
    write_file(path, starter_text(options.style, capital(name), _UNITS[options.units]).encode("utf-8"))
    console.write(f"{path} is ready. Open it in an editor, change what you like, then:\n")
    console.write(f"  bodyshop check {path}\n")
