"""Where on the car: a view, one or two points in millimetres, and a label."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["Place", "Point3", "View"]

Point3 = tuple[float, float, float]
"""x from nose to tail, y out from the centre line to the right (looking forward from the tail), z up from the
underside of the blank; mm. The three are right-handed, as a solid's file needs them."""


class View(Enum):
    """The view in which a place is best seen."""

    SIDE = "side"
    TOP = "top"
    TAIL = "tail"
    NOSE = "nose"
    UNDERSIDE = "underside"


@dataclass(frozen=True, slots=True)
class Place:
    """A spot (one point) or the two ends between which something was measured (two points).

    `label` says in a few words where that is, for a person holding the car: "left of the bore,
    18 mm ahead of the tail".
    """

    view: View
    points: tuple[Point3, ...]
    label: str
