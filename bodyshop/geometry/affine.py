"""Moving, turning, mirroring and stretching points of a drawing, exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Affine", "Point"]

Point = tuple[float, float]
"""A point on a sheet, mm: x to the right, y up, from the bottom left corner."""


@dataclass(frozen=True, slots=True)
class Affine:
    """(x, y) goes to (a x + c y + e, b x + d y + f)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @staticmethod
    def move(dx: float, dy: float) -> Affine:
        """Shift by (dx, dy) mm."""
        return Affine(e=dx, f=dy)

    @staticmethod
    def turn(angle_rad: float, about: Point = (0.0, 0.0)) -> Affine:
        """Turn left by `angle_rad` about a point. Quarter turns are exact."""
        quarter = angle_rad / (math.pi / 2)
        if abs(quarter - round(quarter)) < 1e-12:
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
        else:
            cos, sin = math.cos(angle_rad), math.sin(angle_rad)
        turned = Affine(cos, sin, -sin, cos)
        return Affine.move(-about[0], -about[1]).then(turned).then(Affine.move(*about))

    @staticmethod
    def mirror_x(at_x: float = 0.0) -> Affine:
        """Mirror in the upright line x = at_x."""
        return Affine(a=-1.0, e=2 * at_x)

    @staticmethod
    def mirror_y(at_y: float = 0.0) -> Affine:
        """Mirror in the level line y = at_y."""
        return Affine(d=-1.0, f=2 * at_y)

    @staticmethod
    def stretch(sx: float, sy: float) -> Affine:
        """Stretch along x and y about the origin."""
        return Affine(a=sx, d=sy)

    def then(self, after: Affine) -> Affine:
        """This map followed by `after`."""
        return Affine(
            after.a * self.a + after.c * self.b,
            after.b * self.a + after.d * self.b,
            after.a * self.c + after.c * self.d,
            after.b * self.c + after.d * self.d,
            after.a * self.e + after.c * self.f + after.e,
            after.b * self.e + after.d * self.f + after.f,
        )

    def point(self, p: Point) -> Point:
        """Where a point goes."""
        return (self.a * p[0] + self.c * p[1] + self.e, self.b * p[0] + self.d * p[1] + self.f)

    def vector(self, v: Point) -> Point:
        """Where a direction goes: the map without its shift."""
        return (self.a * v[0] + self.c * v[1], self.b * v[0] + self.d * v[1])

    @property
    def mirrors(self) -> bool:
        """Whether left becomes right."""
        return self.a * self.d - self.b * self.c < 0
