"""Lengths and masses as papers print them: in the design's unit, and no finer than a shop can mark."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.drawing.lettering import NO_BREAK_SPACE
from bodyshop.drawing.marks import BarUnit
from bodyshop.lengths import MM_PER_IN, LengthUnit, MassUnit, format_mass, format_number

__all__ = ["Figures", "mass_text"]

_NOUGHT_MM = 0.004


@dataclass(frozen=True, slots=True)
class Figures:
    """How one design's figures are printed. Lengths come in mm."""

    unit: LengthUnit

    def number(self, length_mm: float) -> str:
        """A figure without its unit: `55`; inches as `2 11/64 (2.165)`, the nearest 1/64 and the decimal."""
        if abs(length_mm) < _NOUGHT_MM:
            return "0"
        figure = format_number(length_mm, self.unit)
        if self.unit is not LengthUnit.IN or (figure.isdecimal() and self._is_whole(length_mm)):
            return figure
        return f"{figure} ({format_number(length_mm, self.unit, decimals=3)})"

    def length(self, length_mm: float) -> str:
        """A figure with its unit, for running text: `55 mm`, `2 11/64 in (2.165)`."""
        number, bracket, rest = self.number(length_mm).partition(" (")
        return f"{number} {self.unit.symbol}{bracket}{rest}".replace(" ", NO_BREAK_SPACE)

    def hole(self, diameter_mm: float) -> str:
        """A diameter for running text, kept on one line: `Ø 4 mm`."""
        return f"Ø{NO_BREAK_SPACE}{self.length(diameter_mm)}"

    def plain(self, length_mm: float) -> str:
        """One term of a sum: mm as printed, inches as the decimal, which can be added up."""
        if self.unit is LengthUnit.IN:
            return format_number(length_mm, self.unit, decimals=3)
        return format_number(length_mm, self.unit)

    @property
    def note(self) -> str:
        """What the figures of a drawing count in."""
        if self.unit is LengthUnit.IN:
            return "figures in inches: nearest 1/64, decimal in brackets"
        return f"figures in {self.unit.symbol}"

    @property
    def bar(self) -> BarUnit:
        """The unit of the check bars."""
        return BarUnit.INCH if self.unit is LengthUnit.IN else BarUnit.MM

    @property
    def station_step_mm(self) -> float:
        """Between numbered stations: 50 mm or 2 in."""
        return 2 * MM_PER_IN if self.unit is LengthUnit.IN else 50.0

    @property
    def station_parts(self) -> int:
        """Short ticks' spaces between numbered stations: every 10 mm or half inch."""
        return 4 if self.unit is LengthUnit.IN else 5

    def station(self, number: int) -> str:
        """The figure at the numbered station `number`."""
        return format_number(number * self.station_step_mm, self.unit)

    @property
    def sawn_off_mm(self) -> float:
        """Left outside the line by the saw: 1 mm or 1/32 in.

        Published advice is about 1/32 in (0.8 mm); the round millimetre is common practice, no
        published source.
        """
        return MM_PER_IN / 32 if self.unit is LengthUnit.IN else 1.0

    def _is_whole(self, length_mm: float) -> bool:
        inches = length_mm / MM_PER_IN
        return abs(inches - round(inches)) < 5e-4


def mass_text(mass_g: float, unit: MassUnit = MassUnit.G) -> str:
    """A mass to a tenth of a gram or a hundredth of an ounce, kept on one line."""
    return format_mass(mass_g, 2 if unit is MassUnit.OZ else 1, unit).replace(" ", NO_BREAK_SPACE)
