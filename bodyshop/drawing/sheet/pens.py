"""Layers and pens: what a line means, and how it is drawn.

Everything is drawn in black, so meaning is carried by width and dashes, never by colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import Annotated

from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import read_rows

__all__ = ["Layer", "Pen", "PenRow", "PenStyle", "default_pen", "pen_style"]


class Layer(Enum):
    """What an item is. The value is the layer's name in files."""

    CUT = "cut"
    SAW = "saw"
    RELIEF = "relief-cut"
    OUTLINE = "outline"
    HIDDEN = "outline-hidden"
    CENTRE = "centre"
    HOLE = "hole"
    BLANK = "blank"
    DATUM = "datum"
    STATION = "station"
    DIMENSION = "dimension"
    TEXT = "text"
    CHECK_BAR = "check-bar"
    REGISTER = "register"
    HATCH = "hatch"
    BORDER = "border"
    CAUTION = "caution"


class Pen(Enum):
    """The pens of a shop drawing; `pen_style` tells their widths and dashes."""

    CUT = "cut"
    VISIBLE = "visible"
    NARROW = "narrow"
    HIDDEN = "hidden"
    CENTRE = "centre"
    ADJACENT = "adjacent"
    HATCH = "hatch"
    RULE = "rule"
    FRAME = "frame"
    HEAVY = "heavy"
    TRIM = "trim"


@dataclass(frozen=True, slots=True)
class PenStyle:
    """A line width and the lengths of dash, gap, dash, gap ...; mm. No dashes: continuous."""

    width_mm: float
    dashes_mm: tuple[float, ...]
    use: str
    kind: str


_DEFAULT = {
    Layer.CUT: Pen.CUT,
    Layer.SAW: Pen.NARROW,
    Layer.RELIEF: Pen.NARROW,
    Layer.OUTLINE: Pen.VISIBLE,
    Layer.HIDDEN: Pen.HIDDEN,
    Layer.CENTRE: Pen.CENTRE,
    Layer.HOLE: Pen.VISIBLE,
    Layer.BLANK: Pen.ADJACENT,
    Layer.DATUM: Pen.NARROW,
    Layer.STATION: Pen.NARROW,
    Layer.DIMENSION: Pen.NARROW,
    Layer.TEXT: Pen.NARROW,
    Layer.CHECK_BAR: Pen.NARROW,
    Layer.REGISTER: Pen.NARROW,
    Layer.HATCH: Pen.HATCH,
    Layer.BORDER: Pen.FRAME,
    Layer.CAUTION: Pen.FRAME,
}


def default_pen(layer: Layer) -> Pen:
    """The pen a layer is drawn with unless an item says otherwise."""
    return _DEFAULT[layer]


def pen_style(pen: Pen) -> PenStyle:
    """The width and dashes of a pen."""
    return _styles()[pen]


@dataclass(frozen=True, slots=True)
class PenRow:
    """A row of the table; `dashes` in line widths."""

    id: Pen
    use: str
    kind: str
    width_mm: Annotated[float, TomlKey(low=0.05, high=5.0)]
    dashes: Annotated[tuple[float, ...], TomlKey(low=0.0, high=100.0)] = ()

    @property
    def style(self) -> PenStyle:
        """The pen's width and dashes, mm."""
        dashes = tuple(round(dash * self.width_mm, 6) for dash in self.dashes)
        return PenStyle(self.width_mm, dashes, self.use, self.kind)


@lru_cache(maxsize=1)
def _styles() -> dict[Pen, PenStyle]:
    return {row.id: row.style for row in read_rows(Path(__file__).with_name("pens.toml"), "pen", PenRow)}
