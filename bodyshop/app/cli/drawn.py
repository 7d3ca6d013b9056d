"""What may be chosen about templates on the command line: blade, line for the saw, plans, gauges."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.rules.checking import LoadedCar

if TYPE_CHECKING:
    from bodyshop.output.papers.templates import TemplateOptions

__all__ = ["add_choices", "choices_of"]


def add_choices(parser: Parser) -> None:
    """--blade, --offset, --plan, --gauges and --stations."""
    from bodyshop.car.stock.blades import blades
    from bodyshop.output.papers.templates.options import PLANS

    names = list(blades())
    parser.add_argument(
        "--blade",
        metavar="NAME",
        type=one_of(names, "blade"),
        default=None,
        help="the blade in the saw, to draw relief cuts where an inside curve is tighter than it can follow: "
        f"{', '.join(names)}",
    )
    parser.add_argument(
        "--offset",
        metavar="LENGTH",
        default=None,
        help="draw a narrow line for the saw this far outside the outline, such as 1 or 1/32in; a plain "
        "number is in the design's unit (default: no line)",
    )
    parser.add_argument(
        "--plan",
        metavar="FACE",
        type=one_of(PLANS, "plan"),
        default=None,
        help="the face that the plan is laid on: top (of a wedge the sloping one), underside or both "
        "(default: top, both for a wedge)",
    )
    parser.add_argument(
        "--gauges",
        action="store_true",
        help="draw card gauges of half the cross-section, to hold against the body while sanding, at the "
        "numbered stations",
    )
    parser.add_argument(
        "--stations",
        metavar="LIST",
        default=None,
        help="draw the gauges at these distances from the nose end of the blank instead, such as 50,120,200",
    )


def choices_of(options: argparse.Namespace, opened: LoadedCar) -> TemplateOptions:
    """What was chosen, for one design.

    Raises:
        ProblemsError: an offset or a station is no length, or cannot be.
    """
    from bodyshop.car.stock.blades import blades
    from bodyshop.drawing.layout.dimensions import Figures
    from bodyshop.output.papers.templates import TemplateOptions
    from bodyshop.output.papers.templates.gauges import gauge_stations
    from bodyshop.output.papers.templates.options import faces_named, read_offset, read_stations

    design = opened.design
    gauges: tuple[float, ...] = ()
    if options.gauges or options.stations is not None:
        wanted = () if options.stations is None else read_stations(options.stations, design.unit)
        gauges = gauge_stations(opened.car, wanted, Figures(design.unit))
    return TemplateOptions(
        blade=blades()[options.blade] if options.blade else None,
        faces=faces_named(options.plan, design.blank) if options.plan else (),
        offset_mm=0.0 if options.offset is None else read_offset(options.offset, design.unit),
        gauges=gauges,
    )
