"""What is said about drilling jigs: where each goes, what it guides, and how to use it with care."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from bodyshop.car.design import Design
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.text.columns import wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.foundation.units import format_length

if TYPE_CHECKING:
    from bodyshop.solids.jig import Jig

__all__ = ["jig_words"]

_INDENT: Final = "    "


def jig_words(jigs: Sequence[Jig], design: Design, width: int) -> list[str]:
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
