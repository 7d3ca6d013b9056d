"""Sheets of paper as data, and the sizes a person types: `a4`, `500x900`, `20x30in`, `roll:24in`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Final

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, by_id, read_rows
from bodyshop.foundation.units import LengthUnit, QuantityError, format_number, parse_length

__all__ = [
    "FREE_FORMS",
    "LEAST_SIDE_MM",
    "MOST_SIDE_MM",
    "SheetRow",
    "SheetSide",
    "SheetSize",
    "read_sheet_sizes",
    "sheet_size",
    "sheet_sizes",
    "usual_sheet",
]


FREE_FORMS: Final = "500x900, 20x30in, roll:610 or roll:24in"
"""How sizes that are in no table are written."""

LEAST_SIDE_MM: Final = 200.0
"""On less than this no title block fits."""
MOST_SIDE_MM: Final = 2000.0
"""Longer than this it is no sheet, and nothing that is cut off a roll can be handled."""


class SheetSide(Enum):
    """A side of a sheet as it lies."""

    WIDTH = "width"
    HEIGHT = "height"

    @property
    def other(self) -> SheetSide:
        """The side across."""
        return SheetSide.HEIGHT if self is SheetSide.WIDTH else SheetSide.WIDTH


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet of paper: `id` as typed by a user, `name` as printed, sides in mm.

    `inches` holds the sides as the standard prints them where it prints inches. On a roll one side is
    `free`: it is cut to what a drawing needs, and the size given is the most.
    """

    id: str
    name: str
    width_mm: float
    height_mm: float
    inches: tuple[float, float] | None
    source: str
    confidence: Confidence
    free: SheetSide | None = None

    @property
    def turned(self) -> SheetSize:
        """The same sheet on its side."""
        inches = None if self.inches is None else (self.inches[1], self.inches[0])
        free = None if self.free is None else self.free.other
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm, inches=inches, free=free)

    @property
    def long_side(self) -> SheetSide:
        """The side that runs with the paper through a printer fed by its short side, or off a roll."""
        if self.free is not None:
            return self.free
        return SheetSide.WIDTH if self.width_mm > self.height_mm else SheetSide.HEIGHT

    def cut(self, length_mm: float) -> SheetSize:
        """A roll's sheet with so much of its free side."""
        if self.free is SheetSide.WIDTH:
            return replace(self, width_mm=min(length_mm, self.width_mm))
        if self.free is SheetSide.HEIGHT:
            return replace(self, height_mm=min(length_mm, self.height_mm))
        return self


def read_sheet_sizes(file: Path) -> Mapping[str, SheetSize]:
    """The sizes in `file` by id, in its order.

    Raises:
        ProblemsError: the file is not a good table of sheets.
    """
    return by_id([row.size for row in read_rows(file, "sheet", SheetRow)])


@lru_cache(maxsize=1)
def sheet_sizes() -> Mapping[str, SheetSize]:
    """The sizes that come with the program, by id.

    Raises:
        ProblemsError: the table was damaged.
    """
    return read_sheet_sizes(Path(__file__).with_name("paper.toml"))


def usual_sheet(unit: LengthUnit) -> SheetSize:
    """The paper that most printers hold where lengths are written in this unit."""
    return sheet_sizes()["letter" if unit is LengthUnit.IN else "a4"]


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row of the table; a size that a standard prints in inches has both."""

    id: str
    name: str
    width_mm: Annotated[float, TomlKey(low=LEAST_SIDE_MM, high=MOST_SIDE_MM)]
    height_mm: Annotated[float, TomlKey(low=LEAST_SIDE_MM, high=MOST_SIDE_MM)]
    source: str
    confidence: Confidence
    width_in: Annotated[float | None, TomlKey(low=4.0, high=100.0)] = None
    height_in: Annotated[float | None, TomlKey(low=4.0, high=100.0)] = None

    @property
    def size(self) -> SheetSize:
        """The sheet."""
        inches = None if self.width_in is None or self.height_in is None else (self.width_in, self.height_in)
        return SheetSize(
            self.id, self.name, self.width_mm, self.height_mm, inches, source=self.source,
            confidence=self.confidence,
        )  # fmt: skip


_ROLL: Final = "roll"
_TIMES: Final = re.compile(r"\s*[x×*]\s*")
_UNIT: Final = re.compile(r"(mm|cm|in|inch|inches|\"|″)\s*$")
_LONGEST: Final = 60
_SOURCE: Final = "given by the user"


def sheet_size(text: str) -> SheetSize:
    """The sheet that a text means: a size of the table, two sides, or the width of a roll.

    Two sides are parted by an x; `roll:` comes before a roll's width, and behind it may stand the most
    that is to be cut off it, `roll:610x1200` (without it 2 m). Lengths may carry a unit, which goes for
    all of them where only the last has one; without one they are mm.

    Raises:
        ProblemsError: there is no such sheet, or it is too small or too large.
    """
    word = text.strip().casefold()
    known = sheet_sizes()
    if word in known:
        return known[word]
    if len(word) > _LONGEST:
        raise ProblemsError([_unknown(text[:_LONGEST] + "…")])
    head, colon, rest = word.partition(":")
    if head.strip() == _ROLL and not colon:
        raise ProblemsError(
            [Problem("sheet-roll", "a roll needs its width", expected="roll:610 or roll:24in")]
        )
    if colon and head.strip() == _ROLL:
        return _roll(text, rest)
    sides = _TIMES.split(word)
    if colon or len(sides) != 2 or not all(side[:1].isdigit() for side in sides):
        raise ProblemsError([_unknown(text)])
    width, height = _lengths(text, sides)
    unit = _unit_of(word)
    for side in (width, height):
        _in_reach(side, unit, "a side of the sheet")
    width, height = min(width, height), max(width, height)
    printed = f"{format_number(width, unit)} × {format_number(height, unit)} {unit.symbol}"
    inches = (width / unit.mm, height / unit.mm) if unit is LengthUnit.IN else None
    return SheetSize(word, printed, width, height, inches, _SOURCE, Confidence.READ)


def _roll(text: str, sizes: str) -> SheetSize:
    given = _TIMES.split(sizes.strip())
    if len(given) > 2 or not all(given):
        raise ProblemsError(
            [Problem("sheet-roll", f'"{text}" is no size of a roll', expected="roll:610 or roll:24in")]
        )
    width, *rest = _lengths(text, given)
    most = rest[0] if rest else MOST_SIDE_MM
    unit = _unit_of(sizes)
    _in_reach(width, unit, "the width of the roll")
    _in_reach(most, unit, "the most that is cut off the roll")
    name = f"a roll {format_number(width, unit)} {unit.symbol} wide"
    word = f"{_ROLL}:{sizes.strip()}"
    return SheetSize(word, name, width, most, None, _SOURCE, Confidence.READ, free=SheetSide.HEIGHT)


def _lengths(text: str, given: list[str]) -> list[float]:
    last = _UNIT.search(given[-1].strip())
    found: list[float] = []
    for each in given:
        word = each.strip()
        if last is not None and not _UNIT.search(word):
            word += f" {last.group(1)}"
        try:
            found.append(parse_length(word, LengthUnit.MM))
        except QuantityError as error:
            told = f'"{text}" is no size of paper: {error}'
            raise ProblemsError([Problem("sheet-size", told, expected=FREE_FORMS)]) from None
    return found


def _unit_of(text: str) -> LengthUnit:
    found = _UNIT.search(text.strip())
    if found is None or found.group(1) == "mm":
        return LengthUnit.MM
    return LengthUnit.CM if found.group(1) == "cm" else LengthUnit.IN


def _in_reach(length_mm: float, unit: LengthUnit, what: str) -> None:
    if LEAST_SIDE_MM <= length_mm <= MOST_SIDE_MM:
        return
    least, most = (format_number(limit, unit) for limit in (LEAST_SIDE_MM, MOST_SIDE_MM))
    small = length_mm < LEAST_SIDE_MM
    reason = "the title block and the check bars do not fit" if small else "no sheet is so large"
    message = f"{what} is {format_number(length_mm, unit)} {unit.symbol}: {reason}"
    inches = length_mm / LengthUnit.MM.mm * LengthUnit.IN.mm
    meant = unit is LengthUnit.MM and LEAST_SIDE_MM <= inches <= MOST_SIDE_MM
    raise ProblemsError(
        [
            Problem(
                "sheet-small" if small else "sheet-large",
                message,
                expected=f"{least} to {most} {unit.symbol}",
                nearest=f"{length_mm:g} in" if meant else "",
            )
        ]
    )


def _unknown(text: str) -> Problem:
    names = list(sheet_sizes())
    close = nearest(text, names)
    return Problem(
        "sheet-unknown",
        f'there is no sheet "{text}"',
        expected="" if close else f"{', '.join(names)}, or a size such as {FREE_FORMS}",
        nearest=close,
    )
