"""A sheet of strokes, fills and text in mm that knows no file format.

The origin is the bottom left corner, x to the right, y up. Arcs stay arcs and cubics stay cubics, so that
each writer says them in its own format's best words. Items are plain data; `bodyshop.drawing.replay`
turns a sheet into a flat run of strokes, fills and text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.pens import Layer, Pen

__all__ = [
    "Anchor",
    "ArcTo",
    "Circle",
    "Clip",
    "CubicTo",
    "Group",
    "Hatch",
    "Item",
    "LineTo",
    "MoveTo",
    "Path",
    "Rect",
    "Segment",
    "Sheet",
    "Text",
    "Weight",
]

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
class Rect:
    """An upright rectangle: bottom left corner and size, mm."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right side's x."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """The top side's y."""
        return self.y + self.height

    @property
    def centre(self) -> Point:
        """The middle."""
        return (self.x + self.width / 2, self.y + self.height / 2)

    def inset(self, by_mm: float) -> Rect:
        """The rectangle with every side moved in."""
        return self.grown(-by_mm)

    def grown(self, by_mm: float) -> Rect:
        """The rectangle with every side moved out."""
        return Rect(self.x - by_mm, self.y - by_mm, self.width + 2 * by_mm, self.height + 2 * by_mm)

    def holds(self, other: Rect, slack_mm: float = 1e-6) -> bool:
        """Whether `other` lies inside."""
        roomy = self.grown(slack_mm)
        return (
            roomy.x <= other.x
            and roomy.y <= other.y
            and other.right <= roomy.right
            and other.top <= roomy.top
        )

    def touches(self, other: Rect) -> bool:
        """Whether the two have a point in common."""
        return self.x <= other.right and other.x <= self.right and self.y <= other.top and other.y <= self.top


@dataclass(frozen=True, slots=True)
class MoveTo:
    """Start a new stretch at `end`."""

    end: Point


@dataclass(frozen=True, slots=True)
class LineTo:
    """A straight line to `end`."""

    end: Point


@dataclass(frozen=True, slots=True)
class CubicTo:
    """A cubic Bézier curve to `end`."""

    control_1: Point
    control_2: Point
    end: Point


@dataclass(frozen=True, slots=True)
class ArcTo:
    """An arc of a circle or, after a stretch, of an ellipse.

    The point at angle t is `centre` + `half_a` cos t + `half_b` sin t, from `start_rad` over `sweep_rad`
    (positive turns from half_a to half_b). `ArcTo.circular` makes the usual one.
    """

    centre: Point
    half_a: Point
    half_b: Point
    start_rad: float
    sweep_rad: float

    @staticmethod
    def circular(centre: Point, radius_mm: float, start_rad: float, sweep_rad: float) -> ArcTo:
        """An arc of a circle; a positive sweep turns left."""
        return ArcTo(centre, (radius_mm, 0.0), (0.0, radius_mm), start_rad, sweep_rad)

    def at(self, angle_rad: float) -> Point:
        """The point at an angle."""
        cos, sin = math.cos(angle_rad), math.sin(angle_rad)
        return (
            self.centre[0] + self.half_a[0] * cos + self.half_b[0] * sin,
            self.centre[1] + self.half_a[1] * cos + self.half_b[1] * sin,
        )

    @property
    def begin(self) -> Point:
        """Where it starts."""
        return self.at(self.start_rad)

    @property
    def end(self) -> Point:
        """Where it ends."""
        return self.at(self.start_rad + self.sweep_rad)

    @property
    def radius_mm(self) -> float | None:
        """The radius, or None for an arc of an ellipse."""
        a, b = math.hypot(*self.half_a), math.hypot(*self.half_b)
        square = abs(self.half_a[0] * self.half_b[0] + self.half_a[1] * self.half_b[1]) <= 1e-9 * a * b
        return a if square and abs(a - b) <= 1e-9 * a else None


Segment = MoveTo | LineTo | CubicTo | ArcTo


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
