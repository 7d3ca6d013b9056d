"""The three views of the report, and how a point of the car falls on each."""

from __future__ import annotations

from enum import Enum
from typing import Final

from bodyshop.foundation.place import Point3, View
from bodyshop.geometry.affine import Point

__all__ = ["Aspect", "aspect_of", "flat"]


class Aspect(Enum):
    """A view as drawn. Side and top have the nose to the left; the tail is seen from behind."""

    SIDE = "side"
    TOP = "top"
    TAIL = "tail"


_ASPECTS: Final = {
    View.SIDE: Aspect.SIDE,
    View.TOP: Aspect.TOP,
    View.UNDERSIDE: Aspect.TOP,
    View.TAIL: Aspect.TAIL,
    View.NOSE: Aspect.TAIL,
}


def aspect_of(view: View) -> Aspect:
    """The drawn view in which a place shows: the underside is seen through the car from above."""
    return _ASPECTS[view]


def flat(aspect: Aspect, point: Point3) -> Point:
    """Where a point of the car falls on a view, mm of the car: to the right and up."""
    x, y, z = point
    match aspect:
        case Aspect.SIDE:
            return (x, z)
        case Aspect.TOP:
            return (x, y)
        case Aspect.TAIL:
            return (y, z)
