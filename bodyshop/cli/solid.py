"""`bodyshop solid`: the body for 3D programs and machines."""

from __future__ import annotations

import argparse
import math
from typing import Final

from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.options import add_design, add_out, add_rulebook
from bodyshop.cli.papers import folder_for, opened_design, tell_written
from bodyshop.cli.parser import Parser
from bodyshop.cli.progress import Progress
from bodyshop.make import Part, file_stem, solid_files, write_parts

__all__ = ["add_chord", "configure", "run", "solid_notes"]

_FINEST_MM: Final = 0.001
_COARSEST_MM: Final = 5.0


def add_chord(parser: Parser) -> None:
    """--chord MM."""
    parser.add_argument(
        "--chord",
        metavar="MM",
        type=_chord,
        default=None,
        help="how far the STL's flat faces may be from the true shape, in mm (default: 0.05)",
    )


def _chord(text: str) -> float:
    try:
        chord = float(text.strip().removesuffix("mm"))
    except ValueError:
        chord = math.nan
    if not _FINEST_MM <= chord <= _COARSEST_MM:
        raise argparse.ArgumentTypeError(
            f'"{text}" is not a distance from {_FINEST_MM:g} to {_COARSEST_MM:g} mm, such as 0.05'
        )
    return chord


def solid_notes(chord_mm: float | None) -> dict[str, str]:
    """What the files of the solid are, by their endings."""
    from bodyshop.solid import CHORD_MM

    return {
        ".stl": f"in mm, within {CHORD_MM if chord_mm is None else chord_mm:g} mm of the true shape",
        ".step": "in mm, the true curves",
    }


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    add_chord(parser)
    add_out(parser)
    add_rulebook(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Build and write the solid."""
    opened = opened_design(options, console)
    stem = file_stem(opened.design)
    folder = folder_for(options, opened, [f"{stem}.stl", f"{stem}.step"])
    with Progress(console, 1) as progress:
        progress.step("building the solid")
        files = solid_files(opened, chord_mm=options.chord, progress=progress.within)
        done = write_parts(folder, stem, {Part.SOLID}, files)
    tell_written(console, folder, done, solid_notes(options.chord))
    return Exit.PASSES
