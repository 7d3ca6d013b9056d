"""`bodyshop schema`: JSON Schemas for editors and other programs."""

from __future__ import annotations

import argparse
import json

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.car.design.json_schema import SCHEMA_FILE
from bodyshop.output.json.document import FORMATS, document_of, schema_of
from bodyshop.rules.rulebook.json_schema import RULEBOOK_SCHEMA

__all__ = ["configure", "run"]

_FILES = {"design": SCHEMA_FILE, "rulebook": RULEBOOK_SCHEMA}


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "what",
        metavar="WHAT",
        nargs="?",
        type=one_of((*_FILES, *FORMATS), "schema"),
        default="design",
        help="design or rulebook (the files one writes; the default is design), or what a command prints "
        f"with --json, by the format that it names: {', '.join(FORMATS)}",
    )


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the schema as it is shipped, or as it is made from the records of a document."""
    file = _FILES.get(options.what)
    if file is not None:
        console.write(file.read_text(encoding="utf-8"))
    else:
        schema = schema_of(document_of(options.what))
        console.write(json.dumps(schema, indent=2) + "\n")
    return Exit.PASSES
