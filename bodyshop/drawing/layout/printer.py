"""A printer that does not print true, and sheets drawn so that it does.

What a printer makes of 100 mm is measured on the two check bars of a sheet: X lies across the feed (along
the short side of the paper, or across a roll), Y along it. A sheet is stretched by the inverse about the
middle of the paper, so that on this printer, and on no other, it comes out at full size.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from bodyshop.drawing.layout.frame import BAR_NAMES, MARGIN_MM
from bodyshop.drawing.layout.marks import BarUnit, bar_length_mm
from bodyshop.drawing.sheet.items import Group, Sheet
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length
from bodyshop.geometry.affine import Affine

__all__ = ["MOST_OFF", "Printer", "corrected", "read_printer"]

MOST_OFF: Final = 0.025
"""A printer is off by less than this (common practice, no published source); a sheet that was fitted to
the page is off by more."""

_SAME: Final = 1e-6
_FITTED: Final = 0.3
# Of the margin that is kept empty, what must be left of it at each side.
_LEFT_MM: Final = 0.5


@dataclass(frozen=True, slots=True)
class Printer:
    """What the check bars measured on paper, mm; `unit` is that of the bars."""

    x_mm: float
    y_mm: float
    unit: BarUnit = BarUnit.MM

    @property
    def x_ratio(self) -> float:
        """Length on paper across the feed to the length drawn."""
        return self.x_mm / bar_length_mm(self.unit)

    @property
    def y_ratio(self) -> float:
        """The same along the feed."""
        return self.y_mm / bar_length_mm(self.unit)

    @property
    def note(self) -> str:
        """What every sheet says that is drawn for this printer."""
        bar, x, y = (self._told(length) for length in (bar_length_mm(self.unit), self.x_mm, self.y_mm))
        return (
            f"CORRECTED for one printer, which prints {bar} {self.unit.value} as {x} across the paper (bar "
            f"{BAR_NAMES[0]}) and {y} along it (bar {BAR_NAMES[1]}): do not print this on another"
        )

    def _told(self, length_mm: float) -> str:
        size, places = (MM_PER_IN, 4) if self.unit is BarUnit.INCH else (1.0, 2)
        return f"{length_mm / size:.{places}f}".rstrip("0").rstrip(".")


def read_printer(x: str, y: str, unit: LengthUnit) -> Printer | None:
    """A printer from what its bars measured, as typed; None where it prints true.

    Numbers without a unit are in `unit`, which is that of the sheets measured: their bars are 4 in long
    for inches, else 100 mm.

    Raises:
        ProblemsError: a length cannot be read, or is not what a printer makes of the bar.
    """
    bars = BarUnit.INCH if unit is LengthUnit.IN else BarUnit.MM
    problems: list[Problem] = []
    found: list[float] = []
    for name, text in zip(BAR_NAMES, (x, y), strict=True):
        try:
            length = parse_length(text, unit)
        except QuantityError as error:
            told = f'"{text[:40]}" is not what bar {name} measures: {error}'
            problems.append(Problem("calibration", told, expected=_expected(bars)))
            continue
        problem = _unbelieved(name, length, bars)
        problems += [] if problem is None else [problem]
        found.append(length)
    if problems:
        raise ProblemsError(problems)
    printer = Printer(found[0], found[1], bars)
    true = abs(printer.x_ratio - 1) < _SAME and abs(printer.y_ratio - 1) < _SAME
    return None if true else printer


def _unbelieved(name: str, length_mm: float, bars: BarUnit) -> Problem | None:
    nominal = bar_length_mm(bars)
    off = length_mm / nominal - 1
    if abs(off) <= MOST_OFF + _SAME:
        return None
    size = MM_PER_IN if bars is BarUnit.INCH else 1.0
    told = f"bar {name} is said to measure {length_mm / size:.4g} {bars.value}"
    if abs(off) < _FITTED:
        why = (
            f"{told}, {100 * abs(off):.1f} % off: printers are off by less than {100 * MOST_OFF:g} %; the "
            "sheet was most likely fitted to the page, so print it again at actual size (100 %)"
        )
        return Problem("calibration", why)
    return Problem("calibration", f"{told}, which no printer makes of it", expected=_expected(bars))


def _expected(bars: BarUnit) -> str:
    nominal = "4 in" if bars is BarUnit.INCH else "100 mm"
    return f"what a rule shows from its first tick to its last, near {nominal}"


def corrected(sheet: Sheet, printer: Printer | None) -> Sheet:
    """The sheet as it has to be drawn for a printer to print it at full size.

    Paper from a roll keeps its margins along the feed; on other sheets the drawing grows or shrinks
    inside the margin.

    Raises:
        ProblemsError: the paper is so large that the drawing would grow out of its margin.
    """
    if printer is None:
        return sheet
    ratios = (printer.x_ratio, printer.y_ratio)
    sx, sy = (1 / ratio for ratio in (reversed(ratios) if sheet.feeds_along_x else ratios))
    width, height = sheet.width_mm, sheet.height_mm
    if sheet.is_cut_off and sheet.feeds_along_x:
        width *= sx
    elif sheet.is_cut_off:
        height *= sy
    grown = max((sheet.width_mm * sx - width) / 2, (sheet.height_mm * sy - height) / 2)
    if grown > MARGIN_MM - _LEFT_MM:
        message = (
            f"on paper of {sheet.width_mm:.0f} by {sheet.height_mm:.0f} mm the correction would push the "
            f"drawing {grown:.1f} mm outward, out of its margin"
        )
        raise ProblemsError([Problem("calibration-margin", message, expected="a smaller sheet")])
    place = Affine.move(-sheet.width_mm / 2, -sheet.height_mm / 2)
    place = place.then(Affine.stretch(sx, sy)).then(Affine.move(width / 2, height / 2))
    return replace(sheet, width_mm=width, height_mm=height, items=(Group(place, tuple(sheet.items)),))
