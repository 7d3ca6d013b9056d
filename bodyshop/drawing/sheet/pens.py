"""Layers and pens: what a line means, and how it is drawn.

Everything is drawn in black, so meaning is carried by width and dashes, never by colour.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from pathlib import Path

__all__ = ["Layer", "Pen", "PenStyle", "default_pen", "pen_style"]


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


@lru_cache(maxsize=1)
def _styles() -> dict[Pen, PenStyle]:
    text = (Path(__file__).resolve().parent / "pens.toml").read_text(encoding="utf-8")
    styles: dict[Pen, PenStyle] = {}
    for row in tomllib.loads(text)["pen"]:
        width = float(row["width_mm"])
        dashes = tuple(round(float(dash) * width, 6) for dash in row.get("dashes", ()))
        styles[Pen(row["id"])] = PenStyle(width, dashes, str(row["use"]), str(row["kind"]))
    return styles
