"""Times and results of race day in words."""

from __future__ import annotations

from typing import Final

from bodyshop.records.book.model import RunEnd
from bodyshop.records.raceday.model import LaneResult

__all__ = ["IN_BRACKETS", "result_words", "seconds"]


IN_BRACKETS: Final = "A place in brackets does not count until an official decides whether the car may race."


def seconds(time_s: float | None, decimals: int = 3) -> str:
    """A time as it is read out; a dash for none."""
    return "–" if time_s is None else f"{time_s:.{decimals}f}"


def result_words(result: LaneResult, decimals: int = 3) -> str:
    """A result as it is read out."""
    if result.time_s is not None:
        return f"{seconds(result.time_s, decimals)} s"
    return {RunEnd.VOID: "void, run again"}.get(result.end, result.end.value)
