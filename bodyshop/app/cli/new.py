"""`bodyshop new`: a commented design to start from."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import plain_name
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.car.design.starters import DEFAULT_STARTER, starter_text, starters
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.files.safe_writing import write_file
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import LengthUnit

__all__ = ["configure", "run"]

_UNITS: Final = {"mm": LengthUnit.MM, "in": LengthUnit.IN}


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument("name", metavar="NAME", type=_name, help="what the car is called, such as Wren")
    kinds = starters()
    parser.add_argument(
        "--style",
        metavar="STYLE",
        type=one_of(kinds, "style"),
        default=DEFAULT_STARTER,
        help=f"the kind of car: {', '.join(kinds)} (default: {DEFAULT_STARTER})",
    )

    parser.add_argument(
        "--units",
        metavar="UNIT",
        type=one_of(_UNITS, "unit"),
        default="mm",
        help="mm or in (default: mm)",
    )


def _name(text: str) -> str:
    return plain_name(text, "car")


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Write the file, unless one of that name is there."""
    path = Path(f"{safe_stem(options.name.removesuffix('.toml')).lower()}.toml")
    name = options.name.removesuffix(".toml")
    if os.path.lexists(path):
        raise WriteRefusedError(str(path), "there is such a file already; choose another name")
    write_file(path, starter_text(options.style, capital(name), _UNITS[options.units]).encode("utf-8"))
    console.write(f"{path} is ready. Open it in an editor, change what you like, then:\n")
    console.write(f"  bodyshop check {path}\n")
    return Exit.PASSES
