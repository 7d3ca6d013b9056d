"""Lengths and masses as a build sheet prints them: in the design's unit, inches as a tape has them."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.drawing.lettering import NO_BREAK_SPACE
from bodyshop.lengths import MM_PER_IN, LengthUnit, format_mass, format_number

__all__ = ["Figures", "mass_text"]

_NOUGHT_MM = 0.004
# Half of the last decimal printed, in inches: nearer than this a figure is whole.
_WHOLE_IN = 5e-4


@dataclass(frozen=True, slots=True)
class Figures:
    """How one design's figures are printed. Lengths come in mm."""

    unit: LengthUnit

    def number(self, length_mm: float) -> str:
        """Without its unit: `36.95`; inches as `2 11/64 (2.165)`, the nearest 1/64 and the decimal."""
        if abs(length_mm) < _NOUGHT_MM:
            return "0"
        figure = format_number(length_mm, self.unit)
        inches = length_mm / MM_PER_IN
        whole = figure.isdecimal() and abs(inches - round(inches)) < _WHOLE_IN
        if self.unit is not LengthUnit.IN or whole:
            return figure
        return f"{figure} ({format_number(length_mm, self.unit, decimals=3)})"

    def length(self, length_mm: float) -> str:
        """With its unit, kept on one line: `55 mm`, `2 11/64 in (2.165)`."""
        number, bracket, rest = self.number(length_mm).partition(" (")
        return f"{number} {self.unit.symbol}{bracket}{rest}".replace(" ", NO_BREAK_SPACE)

    def round(self, diameter_mm: float) -> str:
        """A diameter: `Ø 4 mm`."""
        return f"Ø{NO_BREAK_SPACE}{self.length(diameter_mm)}"

    def plain(self, length_mm: float) -> str:
        """One term of a sum: mm as printed, inches as the decimal, which can be added up."""
        if self.unit is LengthUnit.IN:
            return format_number(length_mm, self.unit, decimals=3)
        return format_number(length_mm, self.unit)


def mass_text(mass_g: float) -> str:
    """Grams to a tenth, kept on one line."""
    return format_mass(mass_g, 1).replace(" ", NO_BREAK_SPACE)
