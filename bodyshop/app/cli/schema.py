"""`bodyshop schema`: JSON Schemas for editors and other programs."""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from typing import Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.car.design.json_schema import SCHEMA_FILE
from bodyshop.car.stock.blades import Blade
from bodyshop.car.stock.blanks import BlankRow
from bodyshop.car.stock.cautions import Caution
from bodyshop.car.stock.finish import WARES
from bodyshop.car.stock.hardware import HARDWARE_TABLES
from bodyshop.car.stock.woods import WOOD_TABLES
from bodyshop.foundation.toml.declared import file_schema
from bodyshop.output.json.document import FORMATS, document_of, schema_of
from bodyshop.rules.rulebook.json_schema import RULEBOOK_SCHEMA

__all__ = ["configure", "run"]

_FILES = {"design": SCHEMA_FILE, "rulebook": RULEBOOK_SCHEMA}
_STOCK: Final[Mapping[str, Mapping[str, type]]] = {
    "woods": WOOD_TABLES,
    "blanks": {"blank": BlankRow},
    "blades": {"blade": Blade},
    "finishes": WARES,
    "hardware": HARDWARE_TABLES,
    "cautions": {"caution": Caution},
}


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "what",
        metavar="WHAT",
        nargs="?",
        type=one_of((*_FILES, *_STOCK, *FORMATS), "schema"),
        default="design",
        help="design or rulebook (the files one writes; the default is design), a table of stock "
        f"({', '.join(_STOCK)}), or what a command prints with --json, by the format that it names: "
        f"{', '.join(FORMATS)}",
    )


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the schema as it is shipped, or as it is made from the records of a document."""
    file = _FILES.get(options.what)
    if file is not None:
        console.write(file.read_text(encoding="utf-8"))
    else:
        tables = _STOCK.get(options.what)
        schema = (
            schema_of(document_of(options.what))
            if tables is None
            else file_schema(f"bodyshop table of {options.what}", tables)
        )
        console.write(json.dumps(schema, indent=2) + "\n")
    return Exit.PASSES
