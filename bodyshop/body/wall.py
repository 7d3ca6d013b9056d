"""What a wall is: a least distance with its place, and which wood round the bore it is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from bodyshop.place import Point3

__all__ = ["OWN_SIDE", "SIDES", "Wall", "WallSide"]


class WallSide(Enum):
    """Which wood a wall is: beside, over, under, at a rounded corner, ahead of the blind end, to a window."""

    TOP = "top"
    BOTTOM = "bottom"
    RIGHT = "right"
    LEFT = "left"
    CORNER = "corner"
    BLIND_END = "blind end"
    WINDOW = "window"


@dataclass(frozen=True, slots=True)
class Wall:
    """A least distance (mm; negative where there is no wood) and its ends: on the hole, on the other."""

    value_mm: float
    at_hole: Point3
    at_other: Point3


SIDES = tuple(WallSide)
TOP, BOTTOM, RIGHT, LEFT, CORNER, BLIND_END, WINDOW = range(len(SIDES))
OWN_SIDE = np.array([TOP, BOTTOM, RIGHT, LEFT, CORNER, CORNER, CORNER, CORNER])
