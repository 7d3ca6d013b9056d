"""A four-sided face as triangles: a grid of inner points, and four strips that join it to the border.

Everything is in the face's own (u, v), both from 0 to 1; triangles come out anticlockwise there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bodyshop.outline import Array
from bodyshop.solid.corners import Ints

__all__ = ["Border", "grid"]


@dataclass(frozen=True, slots=True)
class Border:
    """The points round a face: `nodes` are their numbers outside, `uv` where they are; the four sides list
    positions in `nodes`: `low` (v = 0) and `high` (v = 1) by u, `left` (u = 0) and `right` (u = 1) by v.
    """

    nodes: Ints
    uv: Array
    low: list[int]
    right: list[int]
    high: list[int]
    left: list[int]

    @classmethod
    def of(cls, uv: Array, low: Ints, right: Ints, high: Ints, left: Ints) -> Border:
        """From the sides as numbers of points, each from corner to corner."""
        nodes, place = np.unique(np.concatenate((low, right, high, left)), return_inverse=True)
        ends = np.cumsum([0, *map(len, (low, right, high, left))])
        sides = [place[a:b].tolist() for a, b in pairwise(ends)]
        return cls(nodes, uv[nodes], *sides)

    @property
    def along(self) -> int:
        """Steps of the longer one of the sides low and high."""
        return max(len(self.low), len(self.high)) - 1

    @property
    def across(self) -> int:
        """Steps of the longer one of the sides left and right."""
        return max(len(self.left), len(self.right)) - 1


def grid(border: Border, along: int, across: int) -> tuple[Array, Ints]:
    """All points in (u, v), the border's first, and the triangles.

    Inner points make `along` steps between left and right and `across` steps between low and high, spread
    as the border's own points are.
    """
    if border.across == 1 and (across == 1 or along == 1):
        return border.uv, _array(_strip(border.uv, border.low, border.high, 0))
    if border.along == 1 and (along == 1 or across == 1):
        return border.uv, _array(_strip(border.uv, border.left[::-1], border.right[::-1], 1))
    rails = max((border.low, border.high), key=len)
    ends = max((border.left, border.right), key=len)
    u, v = _steps(border.uv[rails, 0], max(along, 2)), _steps(border.uv[ends, 1], max(across, 2))
    inner_u, inner_v = np.meshgrid(u[1:-1], v[1:-1])
    uv = np.vstack((border.uv, np.stack((inner_u.ravel(), inner_v.ravel()), axis=1)))
    number = len(border.nodes) + np.arange(inner_u.size).reshape(inner_u.shape)
    a, b, c, d = number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]
    quads = np.stack([x.ravel() for x in (a, b, c, a, c, d)], axis=1).reshape(-1, 3)
    strips = (
        *_strip(uv, border.low, number[0].tolist(), 0),
        *_strip(uv, border.right, number[:, -1].tolist(), 1),
        *_strip(uv, border.high[::-1], number[-1, ::-1].tolist(), 0),
        *_strip(uv, border.left[::-1], number[::-1, 0].tolist(), 1),
    )
    return uv, np.concatenate((quads, _array(strips)))


def _array(triangles: Sequence[tuple[int, int, int]]) -> Ints:
    return np.array(triangles, dtype=np.int64).reshape(-1, 3)


def _steps(at: Array, count: int) -> Array:
    return np.asarray(np.interp(np.linspace(0, at.size - 1, count + 1), np.arange(at.size), at))


def _strip(uv: Array, outer: Sequence[int], inner: Sequence[int], axis: int) -> list[tuple[int, int, int]]:
    """Triangles between two rows of points; going along `outer`, `inner` is on the left."""
    a, b = uv[list(outer), axis].tolist(), uv[list(inner), axis].tolist()
    found = []
    i = j = 0
    while i < len(a) - 1 or j < len(b) - 1:
        # The shorter way across goes first.
        if j == len(b) - 1 or (i < len(a) - 1 and abs(a[i + 1] - b[j]) <= abs(b[j + 1] - a[i])):
            found.append((outer[i], outer[i + 1], inner[j]))
            i += 1
        else:
            found.append((outer[i], inner[j + 1], inner[j]))
            j += 1
    return found
