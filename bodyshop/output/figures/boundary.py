"""Labels in bands above and below a drawing, each with a straight leader, at least total cost."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import Rect

__all__ = ["LabelPosition", "LeaderPoint", "apart_mm", "least_matching", "seat_labels", "seats_for", "spaced"]


def least_matching(costs: Sequence[Sequence[float]]) -> list[int]:
    """For each row the column it gets, each column at most once, so that the costs sum to the least.

    Raises:
        ValueError: there are fewer columns than rows.
    """
    rows = len(costs)
    columns = len(costs[0]) if rows else 0
    if columns < rows:
        raise ValueError(f"{rows} rows cannot share {columns} columns")
    # Column 0 is a stand-in where each row begins its search.
    row_level, column_level = [0.0] * (rows + 1), [0.0] * (columns + 1)
    owner = [0] * (columns + 1)
    for row in range(1, rows + 1):
        owner[0] = row
        before, column = _augment(costs, row_level, column_level, owner)
        while column:
            owner[column] = owner[before[column]]
            column = before[column]
    chosen = [0] * rows
    for column in range(1, columns + 1):
        if owner[column]:
            chosen[owner[column] - 1] = column - 1
    return chosen


def _augment(
    costs: Sequence[Sequence[float]], row_level: list[float], column_level: list[float], owner: list[int]
) -> tuple[list[int], int]:
    """The cheapest path from the new row to a free column: the column before each, and the free one.

    Levels are moved so that every step of the path costs nothing more.
    """
    columns = len(column_level) - 1
    best = [math.inf] * (columns + 1)
    before = [0] * (columns + 1)
    done = [False] * (columns + 1)
    column = 0
    while True:
        done[column] = True
        row = owner[column]
        step, following = math.inf, 0
        for c in range(1, columns + 1):
            if done[c]:
                continue
            reduced = costs[row - 1][c - 1] - row_level[row] - column_level[c]
            if reduced < best[c]:
                best[c], before[c] = reduced, column
            if best[c] < step:
                step, following = best[c], c
        for c in range(columns + 1):
            if done[c]:
                row_level[owner[c]] += step
                column_level[c] -= step
            else:
                best[c] -= step
        column = following
        if owner[column] == 0:
            return before, column


GAP_MM: Final = 2.0
"""Between labels of a band."""

_CLEAR_MM: Final = 0.4
"""Leaders keep at least this far apart."""
_SHARES: Final = (1.0, 0.8, 0.6, 0.4, 0.2, 0.0)
_SHALLOW_RAD: Final = math.radians(12)


@dataclass(frozen=True, slots=True)
class LeaderPoint:
    """A spot that a leader points at.

    `lean_mm` is how far to the right of it its label would best stand; `line_rad` the direction of the
    line that the spot lies on, which the leader should not run along.
    """

    at: Point
    lean_mm: float = 0.0
    line_rad: float | None = None


@dataclass(frozen=True, slots=True)
class LabelPosition:
    """Where a label stands: its box, the port on the box's inner edge, and the leader's other end."""

    box: Rect
    port: Point
    tip: Point
    above: bool


def seats_for(width_mm: float, room: Rect) -> int:
    """How many labels of a width the two bands of a drawing take."""
    return 2 * _columns(width_mm, room)


def _columns(width_mm: float, room: Rect) -> int:
    return int((room.width + GAP_MM) / (width_mm + GAP_MM) + 1e-9)


def seat_labels(
    tips: Sequence[LeaderPoint], sizes: Sequence[tuple[float, float]], room: Rect
) -> list[LabelPosition] | None:
    """A seat for each label, in their order; None where there is no room or leaders cannot be kept apart.

    `sizes` are widths and heights, mm. All tips lie inside `room`, which no label enters.
    """
    if not tips:
        return []
    widest = max(width for width, _ in sizes)
    most = _columns(widest, room)
    best: list[LabelPosition] | None = None
    for columns in range(most, 0, -1):
        if 2 * columns < len(tips) or columns < most - 3:
            break
        grid = _on_grid(tips, room, columns)
        seats, bad = _relaxed(tips, sizes, room, grid)
        if seats is not None and bad == 0:
            return seats
        best = best or seats
    return best


@dataclass(frozen=True, slots=True)
class _Port:
    x: float
    above: bool

    def at(self, room: Rect) -> Point:
        return (self.x, room.top if self.above else room.y)


def _on_grid(tips: Sequence[LeaderPoint], room: Rect, columns: int) -> list[_Port]:
    """Evenly spread ports matched to the tips at least total length."""
    pitch = room.width / columns
    ports = [_Port(room.x + (k + 0.5) * pitch, above) for above in (True, False) for k in range(columns)]
    costs = [[math.dist(tip.at, port.at(room)) for port in ports] for tip in tips]
    return [ports[k] for k in least_matching(costs)]


def _relaxed(
    tips: Sequence[LeaderPoint], sizes: Sequence[tuple[float, float]], room: Rect, grid: Sequence[_Port]
) -> tuple[list[LabelPosition] | None, int]:
    """The grid's seats drawn towards their tips, and how many leaders still run along their lines."""
    near = _near(tips, sizes, room, grid)
    best: tuple[int, list[LabelPosition]] | None = None
    for shares in _mixtures():
        # A mixture of two spacings that keep labels apart keeps them apart too.
        ports = [
            _Port(port.x + shares[port.above] * (x - port.x), port.above)
            for port, x in zip(grid, near, strict=True)
        ]
        seats = [_seat(tip, size, port, room) for tip, size, port in zip(tips, sizes, ports, strict=True)]
        bad = sum(_runs_along(tip, seat) for tip, seat in zip(tips, seats, strict=True))
        if (best is not None and bad >= best[0]) or not _all_apart(seats):
            continue
        best = (bad, seats)
        if bad == 0:
            break
    return (None, 0) if best is None else (best[1], best[0])


def _mixtures() -> Iterator[tuple[float, float]]:
    """Shares for the band below and the band above, the most drawn in first."""
    pairs = [(below, above) for below in _SHARES for above in _SHARES]
    yield from sorted(pairs, key=lambda pair: (-pair[0] - pair[1], pair))


def _near(
    tips: Sequence[LeaderPoint], sizes: Sequence[tuple[float, float]], room: Rect, grid: Sequence[_Port]
) -> list[float]:
    """Where each port would best be, with labels kept apart and in the order of the grid."""
    near = [0.0] * len(tips)
    for above in (True, False):
        order = sorted((k for k, port in enumerate(grid) if port.above is above), key=lambda k: grid[k].x)
        wanted = [tips[k].at[0] + tips[k].lean_mm for k in order]
        widths = [sizes[k][0] for k in order]
        for k, x in zip(order, spaced(wanted, widths, room.x, room.right), strict=True):
            near[k] = x
    return near


def _seat(tip: LeaderPoint, size: tuple[float, float], port: _Port, room: Rect) -> LabelPosition:
    width, height = size
    at = port.at(room)
    box = Rect(at[0] - width / 2, at[1] if port.above else at[1] - height, width, height)
    return LabelPosition(box, at, tip.at, port.above)


def _runs_along(tip: LeaderPoint, seat: LabelPosition) -> bool:
    if tip.line_rad is None:
        return False
    angle = math.atan2(seat.port[1] - tip.at[1], seat.port[0] - tip.at[0]) - tip.line_rad
    return abs(math.remainder(angle, math.pi)) < _SHALLOW_RAD


def _all_apart(seats: Sequence[LabelPosition]) -> bool:
    return all(
        apart_mm((a.port, a.tip), (b.port, b.tip)) >= _CLEAR_MM
        for k, a in enumerate(seats)
        for b in seats[:k]
    )


def spaced(wanted: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of intervals of given widths, in order, apart, between `low` and `high`, near the wanted ones.

    Least squares: pool adjacent violators, then clip to the ends (isotonic regression with bounds).
    """
    offsets, reach = [], 0.0
    for k, width in enumerate(widths):
        reach += 0.0 if k == 0 else (widths[k - 1] + width) / 2 + GAP_MM
        offsets.append(reach)
    blocks: list[tuple[float, int]] = []
    for place, offset in zip(wanted, offsets, strict=True):
        blocks.append((place - offset, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, n) = blocks[-2:]
            blocks[-2:] = [((a * m + b * n) / (m + n), m + n)]
    level = [mean for mean, count in blocks for _ in range(count)]
    if not level:
        return []
    least, most = low + widths[0] / 2, high - widths[-1] / 2 - reach
    return [max(min(value, most), least) + offset for value, offset in zip(level, offsets, strict=True)]


def apart_mm(one: tuple[Point, Point], other: tuple[Point, Point]) -> float:
    """The least distance between two straight lines from point to point; zero when they cross."""
    (a, b), (c, d) = one, other
    if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
        return 0.0
    return min(_to_line(a, other), _to_line(b, other), _to_line(c, one), _to_line(d, one))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _to_line(p: Point, line: tuple[Point, Point]) -> float:
    (x0, y0), (x1, y1) = line
    dx, dy = x1 - x0, y1 - y0
    size = dx * dx + dy * dy
    share = 0.0 if size == 0 else min(1.0, max(0.0, ((p[0] - x0) * dx + (p[1] - y0) * dy) / size))
    return math.dist(p, (x0 + share * dx, y0 + share * dy))
