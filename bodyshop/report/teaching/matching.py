"""Who gets which seat: the assignment of least total cost, by the Hungarian method.

Kuhn 1955 and Munkres 1957, in the form with potentials and one augmenting path for each row (from memory);
tests hold it against scipy's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

__all__ = ["least_matching"]


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
