"""A car from the side on its wheels, as a picture and not to saw by."""

from __future__ import annotations

from dataclasses import replace

from bodyshop.assembly import Car
from bodyshop.drawing.items import Circle, Item
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import circle, disc, moved
from bodyshop.drawing.tracing import trace

__all__ = ["side_picture"]


def side_picture(car: Car) -> tuple[tuple[Item, ...], tuple[float, float]]:
    """The car's items from (0, 0), nose to the left, and its width and height, mm."""
    x0, _, z0, x1, _, z1 = car.body.bounds
    items: list[Item] = [
        replace(
            trace([ring.curves for ring in car.body.profile.rings], Layer.OUTLINE, Pen.VISIBLE),
            fill_grey=0.9,
        )
    ]
    for axle in car.design.axles:
        centre, radius = (axle.x_mm, axle.height_mm), axle.wheel.radius_mm
        items += _wheel(centre, radius, axle.axle.diameter_mm / 2)
        x0, x1 = min(x0, centre[0] - radius), max(x1, centre[0] + radius)
        z0, z1 = min(z0, centre[1] - radius), max(z1, centre[1] + radius)
    return (moved(items, -x0, -z0),), (x1 - x0, z1 - z0)


def _wheel(centre: tuple[float, float], radius_mm: float, axle_mm: float) -> list[Circle]:
    return [
        disc(centre, radius_mm, Layer.OUTLINE, 1.0),
        circle(centre, radius_mm, Layer.OUTLINE, Pen.VISIBLE),
        circle(centre, 0.62 * radius_mm, Layer.OUTLINE, Pen.NARROW),
        disc(centre, axle_mm, Layer.OUTLINE, 0.0),
    ]
