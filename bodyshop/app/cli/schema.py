"""`bodyshop schema`: JSON Schemas for editors and other programs."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.car.design.json_schema import SCHEMA_FILE
from bodyshop.output.json.check import CHECK_SCHEMA, MEASURE_SCHEMA
from bodyshop.output.json.classroom import CLASS_SCHEMA
from bodyshop.output.json.schemas import (
    BOOK_CHECK_SCHEMA,
    CHANGE_SCHEMA,
    COMPARE_SCHEMA,
    DRAG_SCHEMA,
    FIT_SCHEMA,
    FREEZE_SCHEMA,
    INSPECT_SCHEMA,
    LIST_SCHEMA,
    MEANING_SCHEMA,
    PREDICT_SCHEMA,
    SHOW_SCHEMA,
)
from bodyshop.rules.rulebook.json_schema import RULEBOOK_SCHEMA

__all__ = ["configure", "run"]

_SCHEMAS = {
    "design": SCHEMA_FILE,
    "rulebook": RULEBOOK_SCHEMA,
    "check": CHECK_SCHEMA,
    "measure": MEASURE_SCHEMA,
    "class": CLASS_SCHEMA,
    "inspect": INSPECT_SCHEMA,
    "trial-check": BOOK_CHECK_SCHEMA,
    "trial-list": LIST_SCHEMA,
    "trial-show": SHOW_SCHEMA,
    "race-predict": PREDICT_SCHEMA,
    "race-change": CHANGE_SCHEMA,
    "race-drag": DRAG_SCHEMA,
    "race-freeze": FREEZE_SCHEMA,
    "race-compare": COMPARE_SCHEMA,
    "race-fit": FIT_SCHEMA,
    "trial-meaning": MEANING_SCHEMA,
}


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "what",
        metavar="WHAT",
        nargs="?",
        type=one_of(_SCHEMAS, "schema"),
        default="design",
        help="design or rulebook (the files one writes; the default is design), "
        "check, measure, class, inspect, "
        "trial-check, trial-list, trial-show, race-predict, "
        "race-change, race-drag, race-freeze, race-compare, race-fit or trial-meaning (what these print "
        "with --json)",
    )


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the schema as it is shipped."""
    console.write(_SCHEMAS[options.what].read_text(encoding="utf-8"))
    return Exit.PASSES
