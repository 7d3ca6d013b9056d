"""`bodyshop solid`: the body for 3D programs and machines, the whole car, and jigs to drill it by."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.jigs import jig_words
from bodyshop.app.cli.options import add_design, add_division, add_out, add_rulebook
from bodyshop.app.cli.papers import checked_design, folder_for, tell_written
from bodyshop.app.cli.parser import Parser
from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.small_words import listed
from bodyshop.output.bundle import SOLID_FORMATS, BundlePart, file_stem, jig_files, solid_files, write_parts
from bodyshop.output.words.verdict import headline

if TYPE_CHECKING:
    from bodyshop.solids.jig import Jig

__all__ = ["add_chord", "configure", "run", "solid_notes"]

_FINEST_MM: Final = 0.001
_COARSEST_MM: Final = 5.0
_MOST_CLEARANCE_MM: Final = 1.0
_ASSEMBLY: Final = "--format with step or 3mf beside --assembly"


def add_chord(parser: Parser) -> None:
    """--chord MM."""
    parser.add_argument(
        "--chord",
        metavar="MM",
        type=_chord,
        default=None,
        help="how far the flat faces of STL and 3MF may be from the true shape, in mm (default: 0.05)",
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
    from bodyshop.solids import CHORD_MM

    flat = f"within {CHORD_MM if chord_mm is None else chord_mm:g} mm of the true shape"
    return {
        "-jig-front.stl": "drilling jig for the front axle",
        "-jig-rear.stl": "drilling jig for the rear axle",
        "-jig-bore.stl": "drilling jig for the bore",
        "-assembly.3mf": "the car with all its parts, each by its name",
        "-assembly.step": "the same, the true curves",
        ".3mf": f"the body in mm, {flat}",
        ".stl": f"the body in mm, {flat}",
        ".step": "the body in mm, the true curves",
    }


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    add_design(parser)
    parser.add_argument(
        "--format",
        metavar="LIST",
        type=_formats,
        default=SOLID_FORMATS,
        help="stl, step, 3mf, or several with commas (default: all three)",
    )
    add_chord(parser)
    parser.add_argument(
        "--assembly",
        action="store_true",
        help="write the car with wheels, axles and all else on it too, as STEP and 3MF",
    )
    parser.add_argument(
        "--jig",
        action="store_true",
        help="write drilling jigs for the square blank too, as STL, to be printed: one for each axle hole, "
        "one for the bore",
    )
    parser.add_argument(
        "--clearance",
        metavar="MM",
        type=_clearance,
        default=None,
        help="how much wider a jig's guide is than the drill, in mm (default: 0.2)",
    )
    add_out(parser)
    add_rulebook(parser)
    add_division(parser)


def _formats(text: str) -> tuple[str, ...]:
    words = tuple(dict.fromkeys(word.strip().casefold() for word in text.split(",") if word.strip()))
    there = f"there are {listed(SOLID_FORMATS)}"
    for word in words:
        if word not in SOLID_FORMATS:
            close = nearest(word, SOLID_FORMATS)
            hint = f"did you mean {close}?" if close else there
            raise argparse.ArgumentTypeError(f'the solid is not written as "{word}"; {hint}')
    if not words:
        raise argparse.ArgumentTypeError(f"no format is named; {there}")
    return words


def _clearance(text: str) -> float:
    try:
        wide = float(text.strip().removesuffix("mm"))
    except ValueError:
        wide = math.nan
    if not 0 <= wide <= _MOST_CLEARANCE_MM:
        raise argparse.ArgumentTypeError(
            f'"{text}" is not a clearance from 0 to {_MOST_CLEARANCE_MM:g} mm, such as 0.2'
        )
    return wide


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Build and write the solid."""
    checked = checked_design(options, console)
    opened = checked.opened
    if options.assembly and not {"step", "3mf"} & set(options.format):
        raise ProblemsError([Problem("assembly-format", "STL cannot name parts", expected=_ASSEMBLY)])
    stem = file_stem(opened.design)
    folder = folder_for(options, opened, [f"{stem}.{ending}" for ending in options.format])
    jigs: list[Jig] = []
    with Progress(console, 2 if options.jig else 1) as progress:
        progress.step("building the solid")
        files = solid_files(
            opened,
            formats=options.format,
            assembly=options.assembly,
            chord_mm=options.chord,
            progress=progress.within,
        )
        if options.jig:
            progress.step("building the jigs")
            jig_data, jigs = jig_files(opened, options.clearance)
            files.update(jig_data)
        done = write_parts(folder, stem, {BundlePart.SOLID}, files, design=opened.design)
    console.write(headline(checked) + "\n")
    tell_written(console, folder, done, solid_notes(options.chord))
    if jigs:
        console.write("\n".join(jig_words(jigs, opened.design, console.width)) + "\n")
    return exit_of(checked)
