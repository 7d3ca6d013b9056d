"""Points put into a design's text and taken out of it, with its layout and all its comments kept.

A point is an element of a list: `[x, y]`, or an inline table with `to` and more. Points that are written as
tables of their own, under headers, are left to their writer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import cached_property
from typing import Final

from bodyshop.bench.drawing.numbers import Numbers, RefusedError
from bodyshop.lengths import LengthUnit
from bodyshop.outline import Point
from bodyshop.source import KeyPath, Source
from bodyshop.source.places import Place, find_places

__all__ = ["Layout", "number_text", "spot_text"]

Splice = tuple[int, int, str]

_HEADED: Final = "This point is written under a header of its own: change it in the text."
_GAP: Final = re.compile(r"[ \t]*")
_COMMA: Final = re.compile(r"\s*(?:#[^\n]*\n\s*)*,")


class Layout:
    """The places of a text's points, and the splices that change them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text

    @cached_property
    def _places(self) -> dict[KeyPath, Place]:
        return find_places(self.text).at

    def range(self, path: KeyPath) -> tuple[int, int]:
        """Where an element of a list stands. Raises `RefusedError` where it has a header of its own."""
        place = self._places.get(path)
        if place is None or self.text[place.value[0]] not in "[{" or place.key is not None:
            raise RefusedError(_HEADED)
        return place.value

    def put_before(self, path: KeyPath, element: str) -> Splice:
        """A new element before the one at `path`: on a line of its own where that one begins its line."""
        start, _ = self.range(path)
        line = self.text.rfind("\n", 0, start) + 1
        indent = self.text[line:start]
        own_line = not indent.strip()
        return (start, start, f"{element},\n{indent}" if own_line else f"{element}, ")

    def take_out(self, path: KeyPath) -> Splice:
        """The element away with its comma, and its line where nothing else stands on it."""
        start, end = self.range(path)
        comma = _COMMA.match(self.text, end)
        if comma is not None and "#" not in comma[0]:
            end = comma.end()
        else:  # the last one: the comma before it goes, unless a remark stands between
            before = self.text[:start].rstrip()
            if before.endswith(",") and "\n" not in self.text[len(before) : start]:
                start = len(before) - 1
        line = self.text.rfind("\n", 0, start) + 1
        stop = self.text.find("\n", end)
        stop = len(self.text) if stop < 0 else stop
        if not self.text[line:start].strip() and not self.text[end:stop].strip():
            return (line, min(stop + 1, len(self.text)), "")
        gap = _GAP.match(self.text, end)
        rest = self.text[end:stop].lstrip()
        keeps_column = rest.startswith("#") and not self.text[line:start].strip()
        return (start, end if keeps_column or gap is None else gap.end(), "")

    def with_keys(self, path: KeyPath, drop: Iterable[str], add: str) -> list[Splice]:
        """The point at `path` without some keys and with others (`round = 3`) behind what it has."""
        start, end = self.range(path)
        if self.text[start] == "[":
            return [(start, start, "{ to = "), (end, end, f", {add} }}")] if add else []
        splices: list[Splice] = []
        pairs = self._pairs(path)
        kept = [pair for pair in pairs if pair[0] not in drop]
        for index, (name, first, last) in enumerate(pairs):
            if name in drop:
                before = pairs[index - 1][2] if index else None
                # With the comma before it; the first pair with the one behind it.
                after = pairs[index + 1][1] if index + 1 < len(pairs) else last
                splices.append((first, after, "") if before is None else (before, last, ""))
        if add:
            at = pairs[-1][2]
            splices.append((at, at, f", {add}" if kept else f" {add}"))
        return splices

    def _pairs(self, path: KeyPath) -> list[tuple[str, int, int]]:
        """The pairs of an inline table: key, and where the pair starts and ends."""
        depth = len(path)
        found = [
            (str(where[-1]), place.key[0], place.value[1])
            for where, place in self._places.items()
            if len(where) == depth + 1 and where[:depth] == path and place.key is not None
        ]
        return sorted(found, key=lambda pair: pair[1])

    def spliced(self, splices: Iterable[Splice]) -> str:
        """The whole text with stretches replaced."""
        text = self.text
        for start, end, new in sorted(splices, key=lambda each: (each[0], each[1]), reverse=True):
            text = text[:start] + new + text[end:]
        return ("\ufeff" if self.source.bom else "") + text


def number_text(numbers: Numbers, mm: float, *, fine: bool = False) -> str:
    """A length as this file would write it; with `fine` in decimals even where it has a tape's marks."""
    unit = numbers.unit
    value = Fraction(mm) / Fraction(*unit.ratio)
    if unit is LengthUnit.IN and numbers.tape and not fine:
        value = Fraction(round(value * 64), 64)
        whole, rest = divmod(abs(value), 1)
        sign = "-" if value < 0 else ""
        if rest == 0:
            return f"{sign}{whole}"
        part = f"{rest.numerator}/{rest.denominator}"
        return f'"{sign}{whole} {part}"' if whole else f'"{sign}{part}"'
    places = {LengthUnit.MM: 2, LengthUnit.CM: 3, LengthUnit.IN: 4}[unit]
    text = f"{float(value):.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def spot_text(numbers: Numbers, spot: Point, *, fine: bool = False) -> str:
    """A point as a list of two lengths."""
    return f"[{number_text(numbers, spot[0], fine=fine)}, {number_text(numbers, spot[1], fine=fine)}]"
