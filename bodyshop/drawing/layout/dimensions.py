"""Dimensions as drawings carry them (ISO 129-1, from memory), and their figures in the unit asked for."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.drawing.layout.marks import BarUnit
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import NO_BREAK_SPACE, text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import disc, line, polygon, polyline
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.units import LengthUnit, MassUnit, format_mass, format_number
from bodyshop.geometry.affine import Point

__all__ = [
    "DimensionStyle",
    "Figures",
    "arrowhead",
    "dimension",
    "leader",
    "mass_text",
    "scale_text",
    "spread",
]


_ZERO_MM = 0.004


@dataclass(frozen=True, slots=True)
class Figures:
    """How one design's figures are printed. Lengths come in mm."""

    unit: LengthUnit

    def number(self, length_mm: float) -> str:
        """A figure without its unit: `55`; inches as `2 11/64 (2.165)`, the nearest 1/64 and the decimal."""
        if abs(length_mm) < _ZERO_MM:
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


@dataclass(frozen=True, slots=True)
class DimensionStyle:
    """Sizes of the parts of a dimension, mm."""

    text_mm: float = 2.5
    arrow_mm: float = 2.4
    start_gap_mm: float = 1.0
    """Between the feature and its extension line."""
    beyond_mm: float = 1.5
    """How far an extension line runs past the dimension line."""
    text_gap_mm: float = 0.9
    """Between the dimension line and the foot of the figure."""


_STYLE = DimensionStyle()
_ARROW_HALF_ANGLE = math.radians(9)


def arrowhead(tip: Point, direction_rad: float, length_mm: float = _STYLE.arrow_mm) -> Item:
    """A slim filled arrowhead that points along `direction_rad`."""
    half = length_mm * math.tan(_ARROW_HALF_ANGLE)
    cos, sin = math.cos(direction_rad), math.sin(direction_rad)

    def corner(side: float) -> Point:
        return (tip[0] - length_mm * cos - side * sin, tip[1] - length_mm * sin + side * cos)

    return polygon((tip, corner(half), corner(-half)), Layer.DIMENSION, Pen.HATCH, fill_grey=0.0)


def dimension(
    start: Point,
    end: Point,
    text: str,
    offset_mm: float,
    along_rad: float | None = None,
    style: DimensionStyle = _STYLE,
    *,
    clear: bool = False,
) -> list[Item]:
    """A dimension between two points.

    Args:
        start: one end of what is measured.
        end: the other end.
        text: the figure.
        offset_mm: how far the dimension line lies from the farther point, to the left of the measuring
            direction when positive (above, for a level dimension).
        along_rad: the direction measured along: 0 level, pi/2 upright, None from `start` to `end`.
        style: sizes of the parts.
        clear: put white paper behind the figure.

    The arrows go outside when there is no room between them; the figure moves beside the line when it is
    wider than the dimension.

    Raises:
        ValueError: the two points coincide in the direction measured.
    """
    angle = math.atan2(end[1] - start[1], end[0] - start[0]) if along_rad is None else along_rad
    cos, sin = math.cos(angle), math.sin(angle)

    def uv(p: Point) -> Point:
        return (p[0] * cos + p[1] * sin, -p[0] * sin + p[1] * cos)

    def xy(u: float, v: float) -> Point:
        return (u * cos - v * sin, u * sin + v * cos)

    ends = sorted((uv(start), uv(end)))
    (u0, v0), (u1, v1) = ends
    if u1 - u0 <= 1e-9:
        raise ValueError("a dimension needs two points apart in the direction measured")
    level = (max(v0, v1) if offset_mm >= 0 else min(v0, v1)) + offset_mm
    side = 1.0 if offset_mm >= 0 else -1.0

    items: list[Item] = []
    for u, v in ends:
        if abs(level - v) > style.start_gap_mm:
            near, far = v + side * style.start_gap_mm, level + side * style.beyond_mm
            items.append(line(xy(u, near), xy(u, far), Layer.DIMENSION))

    length = u1 - u0
    width = text_width_mm(text, style.text_mm)
    room_for_arrows = length >= 2 * style.arrow_mm + 1.0
    room_for_text = length >= width + 1.0
    tail = 2 * style.arrow_mm
    low, high = (u0, u1) if room_for_arrows else (u0 - tail, u1 + tail)
    beside = high + 1.0 if room_for_arrows else high
    if not room_for_text:
        high = beside + width + 0.5
    items.append(line(xy(low, level), xy(high, level), Layer.DIMENSION))
    inward = 0.0 if room_for_arrows else math.pi
    items.append(arrowhead(xy(u0, level), angle + math.pi - inward, style.arrow_mm))
    items.append(arrowhead(xy(u1, level), angle + inward, style.arrow_mm))

    middle = (u0 + u1) / 2 if room_for_text else beside + width / 2
    items.append(_figure(xy(middle, level), angle, text, style, clear=clear))
    return items


def _figure(at: Point, angle: float, text: str, style: DimensionStyle, *, clear: bool) -> Text:
    """The figure centred over a point of the dimension line, readable from the bottom or the right."""
    turn = math.remainder(angle, 2 * math.pi)
    if turn > math.pi / 2 + 1e-9:
        turn -= math.pi
    elif turn <= -math.pi / 2 + 1e-9:
        turn += math.pi
    lifted = (at[0] - style.text_gap_mm * math.sin(turn), at[1] + style.text_gap_mm * math.cos(turn))
    return Text(
        text, lifted, style.text_mm, Anchor.MIDDLE, turn, Weight.REGULAR, Layer.DIMENSION, clear=clear
    )


def spread(wanted: list[float], pitch: float) -> list[float]:
    """Places at least `pitch` apart, in order, as near the wanted (sorted) ones as blocks allow."""
    # Blocks of touching places, each centred on the mean of what its members want.
    blocks: list[tuple[float, int]] = []
    for place in wanted:
        centre, count = place, 1
        while blocks:
            before, held = blocks[-1]
            if before + held * pitch / 2 <= centre - count * pitch / 2 + 1e-9:
                break
            blocks.pop()
            centre = (before * held + centre * count) / (held + count)
            count += held
        blocks.append((centre, count))
    return [centre + (k - (count - 1) / 2) * pitch for centre, count in blocks for k in range(count)]


def leader(
    tip: Point,
    knee: Point,
    text: str,
    style: DimensionStyle = _STYLE,
    *,
    dot: bool = False,
    clear: bool = False,
) -> list[Item]:
    """A note with a line to what it is about.

    From `tip` (an arrow, or a dot when it lies inside an outline) to `knee`, then level under the first
    line of the text, away from the tip. Further lines of `text` stand below the shelf.
    """
    lines = text.splitlines() or [""]
    width = max(text_width_mm(words, style.text_mm) for words in lines)
    way = 1.0 if knee[0] >= tip[0] else -1.0
    shelf = (knee[0] + way * (width + 1.0), knee[1])
    angle = math.atan2(tip[1] - knee[1], tip[0] - knee[0])
    items: list[Item] = [polyline((tip, knee, shelf), Layer.DIMENSION)]
    items.append(disc(tip, 0.6, Layer.DIMENSION) if dot else arrowhead(tip, angle, style.arrow_mm))
    left = min(knee[0], shelf[0]) + 0.5
    for k, words in enumerate(lines):
        drop = style.text_gap_mm - k * (style.text_mm + 2 * style.text_gap_mm)
        items.append(Text(words, (left, knee[1] + drop), style.text_mm, layer=Layer.DIMENSION, clear=clear))
    return items


def scale_text(scale: float) -> str:
    """A scale, paper over car: `1 : 2`, `1 : 2.5`, `2 : 1`."""
    return f"{scale:g} : 1" if scale > 1.0 else f"1 : {round(1 / scale, 2):g}"
