"""Paths as data, in mm: moves, lines, arcs and cubics; and upright rectangles."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.geometry.affine import Point

__all__ = ["ArcTo", "CubicTo", "LineTo", "MoveTo", "Rect", "Segment"]


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
