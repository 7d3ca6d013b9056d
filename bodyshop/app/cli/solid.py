"""`bodyshop solid`: the body for 3D programs and machines, the whole car, and jigs to drill it by."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import DESIGN, DIVISION, OUT, RULEBOOK, flag, option, within
from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.papers import checked_design, folder_for, tell_written
from bodyshop.app.cli.parser import some_of
from bodyshop.car.design import Design
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.foundation.units import format_length
from bodyshop.output.bundle import BundlePart, file_stem, jig_files, solid_files, write_parts
from bodyshop.output.bundle.file_kinds import SOLID_FORMATS
from bodyshop.output.words.verdict import headline

if TYPE_CHECKING:
    from bodyshop.solids.jig import Jig

__all__ = ["CHORD", "solid", "solid_notes"]

_ASSEMBLY: Final = "--format with step or 3mf beside --assembly"


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


CHORD: Final = option(
    "--chord",
    "MM",
    "how far the flat faces of STL and 3MF may be from the true shape, in mm (default: 0.05)",
    within("distance", 0.001, 5.0, "one from 0.001 to 5 mm, such as 0.05", "mm"),
)


@action(
    DESIGN,
    option(
        "--format",
        "LIST",
        "stl, step, 3mf, or several with commas (default: all three)",
        some_of(tuple(SOLID_FORMATS), 'the solid is not written as "{}"', "no format is named"),
        default=tuple(SOLID_FORMATS),
    ),
    CHORD,
    flag("--assembly", "write the car with wheels, axles and all else on it too, as STEP and 3MF"),
    flag(
        "--jig",
        "write drilling jigs for the square blank too, as STL, to be printed: one for each axle hole, "
        "one for the bore",
    ),
    option(
        "--clearance",
        "MM",
        "how much wider a jig's guide is than the drill, in mm (default: 0.2)",
        within("clearance", 0.0, 1.0, "one from 0 to 1 mm, such as 0.2", "mm"),
    ),
    OUT,
    RULEBOOK,
    DIVISION,
)
def solid(options: argparse.Namespace, console: Console) -> Exit:
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
        console.write("\n".join(_jig_words(jigs, opened.design, console.width)) + "\n")
    return exit_of(checked)


_INDENT: Final = "    "


def _jig_words(jigs: Sequence[Jig], design: Design, width: int) -> list[str]:
    """Lines to print, each no wider than `width`."""
    lines = [line for jig in jigs for line in wrap(_jig_line(jig, design), width, "", _INDENT)]
    for sentence in _advice(jigs, design):
        lines += wrap(sentence, width, "", _INDENT)
    for caution in cautions_for(Operation.WORKSHOP, Operation.DRILL_PRESS):
        lines += wrap(caution.sentence, width, "Caution: ", _INDENT)
    return lines


def _jig_line(jig: Jig, design: Design) -> str:
    def show(length_mm: float) -> str:
        return format_length(length_mm, design.unit)

    x, y, z = jig.at
    notches = number_words(jig.notches, "notch") if jig.notches == 1 else f"{jig.notches} notches"
    seat = f"The {jig.name} jig ({notches}) takes the blank by its underside and stops at the {jig.seat}"
    guide = f"its guide is {jig.guide_mm:.2f} mm wide for a drill of {show(jig.drill_mm)}"
    if jig.depth_mm is None or jig.set_mm is None:
        off = x if jig.seat == "nose" else design.blank.length_mm - x
        place = (
            f"{show(off)} from the {jig.seat} and {show(z)} up, in both walls: drill from one side through"
        )
    else:
        side = "" if abs(y) < 1e-9 else f", {show(abs(y))} to the {'right' if y > 0 else 'left'}"
        place = (
            f"{show(z)} up{side} on the tail face; drill {show(jig.depth_mm)} deep into the blank, which is "
            f"{show(jig.set_mm)} from the face of the jig"
        )
    size = " x ".join(f"{length:.0f}" for length in jig.size_mm)
    return f"{seat}; {guide}, {place}. It measures {size} mm."


def _advice(jigs: Sequence[Jig], design: Design) -> Iterator[str]:
    blank = design.blank
    length, wide = (format_length(v, design.unit) for v in (blank.length_mm, blank.width_mm))
    yield (
        f"They are made for a blank {length} long and {wide} wide. Measure yours: by as much as it is "
        "longer or shorter the axles come further apart or nearer. Mark underside, nose and tail on it first."
    )
    if blank.bore is not None:
        yield "The blank comes drilled for the cartridge: no jig is made for its bore."
    long = [jig.name for jig in jigs if not jig.fits_bed]
    if long:
        from bodyshop.solids.jig import jig_sizes

        yield f"Longer than {jig_sizes().bed:g} mm, which many printers' beds are not: {', '.join(long)}."
    yield (
        "Print them floor down, the bore jig with its plate down. Drill a scrap block first and measure "
        "the hole: a printed guide comes out a little narrow, and wears."
    )
