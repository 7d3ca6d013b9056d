"""What a person may choose about templates, from the words it is asked for in."""

from __future__ import annotations

from typing import Final

from bodyshop.car.stock.blanks import Blank
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length
from bodyshop.output.papers.templates.faces import BlankFace, faces_for, faces_offered
from bodyshop.output.papers.templates.saw_lines import MOST_MM

__all__ = ["PLANS", "faces_named", "read_offset", "read_stations"]

PLANS: Final = ("top", "underside", "both")
"""What `faces_named` understands."""

_LEAST_MM: Final = 0.2
_SHOWN: Final = 40


def read_offset(text: str, unit: LengthUnit) -> float:
    """How far outside the outline the line for the saw runs, mm; a plain number is in `unit`.

    Raises:
        ProblemsError: it is no length from 0.2 to 10 mm.
    """
    expected = f"a length from {_LEAST_MM:g} to {MOST_MM:g} mm, such as 1 mm or 1/32 in"
    try:
        length = parse_length(text.strip(), unit)
    except QuantityError as error:
        raise ProblemsError(
            [Problem("offset", f'"{text[:_SHOWN]}" is no offset for the saw: {error}', expected=expected)]
        ) from None
    if not _LEAST_MM <= length <= MOST_MM:
        if length == 0.0:
            why = "the saw line would lie on the outline itself; leave the offset out for no line"
        elif length < 0.0:
            why = "the saw would run inside the outline, through the car"
        elif length < _LEAST_MM:
            why = "the saw line could not be told from the outline"
        else:
            why = "that is more wood than anyone leaves for sanding"
        raise ProblemsError([Problem("offset", why, found=text[:_SHOWN], expected=expected)])
    return length


def read_stations(text: str, unit: LengthUnit) -> tuple[float, ...]:
    """Stations, mm from the nose end of the blank, from lengths with commas between; plain ones in `unit`.

    Raises:
        ProblemsError: one is no length.
    """
    problems: list[Problem] = []
    found: list[float] = []
    for word in text.replace(";", ",").split(","):
        if not word.strip():
            continue
        try:
            found.append(parse_length(word.strip(), unit))
        except QuantityError as error:
            told = f'"{word.strip()[:_SHOWN]}" is no station: {error}'
            problems.append(Problem("station", told, expected="lengths such as 50,120,200"))
    if not found and not problems:
        problems.append(Problem("station", "no station is named", expected="lengths such as 50,120,200"))
    if problems:
        raise ProblemsError(problems)
    return tuple(found)


def faces_named(name: str, blank: Blank) -> tuple[BlankFace, ...]:
    """The faces that plans are for: `top` (of a wedge the sloping one), `underside`, `both`; else the usual.

    `name` is one of `PLANS` or empty.
    """
    top, underside = faces_offered(blank)
    named = {"top": (top,), "underside": (underside,), "both": (top, underside)}
    return named.get(name, faces_for(blank))
