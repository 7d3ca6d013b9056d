"""A sheet of strokes, fills and text in mm that knows no file format.

The origin is the bottom left corner, x to the right, y up. Arcs stay arcs and cubics stay cubics, so that
each writer says them in its own format's best words. Items are plain data; `bodyshop.drawing.sheet.replay`
turns a sheet into a flat run of strokes, fills and text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, MoveTo, Rect, Segment

__all__ = ["Anchor", "Circle", "Clip", "Group", "Hatch", "Item", "Path", "Sheet", "Text", "Weight"]

# Ends of segments nearer than this (mm) meet.
_MEETS_MM = 1e-6


class Anchor(Enum):
    """Which point of a line of text sits at its position."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Weight(Enum):
    """How heavy the lettering is."""

    REGULAR = "regular"
    BOLD = "bold"


@dataclass(frozen=True, slots=True)
class Path:
    """Lines, arcs and cubics in one or more stretches, each begun by a `MoveTo`.

    `closed` closes every stretch. `pen` None: not stroked. `fill_grey` None: not filled; else 0 is black
    and 1 white, and stretches inside others are holes (even-odd).

    Raises:
        ValueError: the path does not begin with a move, or an arc does not start where the pen is.
    """

    segments: tuple[Segment, ...]
    layer: Layer
    pen: Pen | None
    closed: bool = False
    fill_grey: float | None = None

    def __post_init__(self) -> None:
        """Refuse a path that jumps."""
        if not self.segments or not isinstance(self.segments[0], MoveTo):
            raise ValueError("a path begins with a move")
        here = self.segments[0].end
        for segment in self.segments:
            if isinstance(segment, ArcTo):
                begin = segment.begin
                if math.hypot(begin[0] - here[0], begin[1] - here[1]) > _MEETS_MM:
                    raise ValueError(f"an arc starts at {begin}, the pen is at {here}")
            here = segment.end


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius_mm: float
    layer: Layer
    pen: Pen | None
    fill_grey: float | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text.

    `at` lies on the baseline, at the start, middle or end of the line; `height_mm` is the height of a
    capital letter; `rotation_rad` turns left. `clear` puts white paper behind it, a little larger than
    the words. Text is moved and turned with its group but never mirrored or stretched.
    """

    text: str
    at: Point
    height_mm: float
    anchor: Anchor = Anchor.START
    rotation_rad: float = 0.0
    weight: Weight = Weight.REGULAR
    layer: Layer = Layer.TEXT
    clear: bool = False


@dataclass(frozen=True, slots=True)
class Hatch:
    """Parallel strokes inside rings (even-odd), on lines a multiple of `spacing_mm` from the origin.

    Rings are closed by themselves: the first point is not repeated.
    """

    rings: tuple[tuple[Point, ...], ...]
    spacing_mm: float
    angle_rad: float
    layer: Layer = Layer.HATCH
    pen: Pen = Pen.HATCH


@dataclass(frozen=True, slots=True)
class Clip:
    """Items, of which only what lies inside `window` shows."""

    window: Rect
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Items moved, turned, mirrored or stretched together. Line widths and text keep their size."""

    affine: Affine
    items: tuple[Item, ...]


Item = Path | Circle | Text | Hatch | Clip | Group


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet, or a drawing still to be put on sheets: its size in mm and what is on it.

    `name` tells sheets apart in files and messages: "sheet 2 of 3". `feeds_along_x` says that the long
    side of the paper, or the length of a roll, lies along x; `is_cut_off` that it comes from a roll.
    """

    width_mm: float
    height_mm: float
    items: Sequence[Item]
    name: str = ""
    feeds_along_x: bool = False
    is_cut_off: bool = False
