"""How many rods or straws a set of pieces takes.

First fit decreasing: the longest piece first, each into the first rod that still has room. It never takes
more than 11/9 of the least possible and 6/9 of a rod (Johnson 1973; Dósa 2007, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["CuttingPlan", "cutting_plan"]

_DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Pieces by rod, longest first; `too_long` are those that no rod is long enough for. All mm."""

    rods: tuple[tuple[float, ...], ...]
    too_long: tuple[float, ...]

    @property
    def length_mm(self) -> float:
        """All pieces that can be cut, end to end, without what the saw takes."""
        return sum(sum(rod) for rod in self.rods)


def cutting_plan(pieces_mm: Iterable[float], rod_mm: float, saw_mm: float = 0.0) -> CuttingPlan:
    """Cut pieces from rods of one length, the saw taking `saw_mm` between two pieces.

    Raises `ValueError` for a rod without length or a saw that adds some.
    """
    if rod_mm <= 0.0 or saw_mm < 0.0:
        raise ValueError(f"a rod of {rod_mm} mm cannot be cut with a saw of {saw_mm} mm")
    ordered = sorted(pieces_mm, reverse=True)
    fitting = [piece for piece in ordered if piece <= rod_mm + _DUST_MM]
    # n pieces need n - 1 cuts between them: a rod that is one cut longer, a cut with every piece.
    room = _Rooms(len(fitting), rod_mm + saw_mm)
    rods: list[list[float]] = []
    for piece in fitting:
        rod = room.first_with(piece + saw_mm - _DUST_MM)
        if rod == len(rods):
            rods.append([])
        rods[rod].append(piece)
        room.take(rod, piece + saw_mm)
    return CuttingPlan(tuple(tuple(rod) for rod in rods), tuple(ordered[: len(ordered) - len(fitting)]))


class _Rooms:
    """What is left of each rod, kept as a tree of greatest rooms: the first that fits in log n steps."""

    def __init__(self, count: int, full: float) -> None:
        self._leaves = 1
        while self._leaves < max(1, count):
            self._leaves *= 2
        self._most = [full] * (2 * self._leaves)

    def first_with(self, room: float) -> int:
        """The first rod with that much room left. There is one: no piece is longer than a rod."""
        at = 1
        while at < self._leaves:
            at *= 2
            if self._most[at] < room:
                at += 1
        return at - self._leaves

    def take(self, rod: int, room: float) -> None:
        """Take a piece and its cut off a rod."""
        at = rod + self._leaves
        self._most[at] -= room
        while at > 1:
            at //= 2
            self._most[at] = max(self._most[2 * at], self._most[2 * at + 1])
