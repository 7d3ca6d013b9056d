"""The class on one page: what each car weighs, how it meets the air, how it rolls, what it ran.

One line a car. Figures are value, low and high; a figure that nobody measured or predicted is absent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bodyshop.drawing.scatter import Axis, Dot
from bodyshop.report.columns import printable
from bodyshop.source.csv_text import csv_bytes, guarded

__all__ = ["CSV_HEADER", "PLOTS", "CarLine", "Figure", "Plot", "Quantity", "class_csv", "dots_of"]

Figure = tuple[float, float, float]
"""Value, low and high; the three are equal where no interval is known."""


class Quantity(Enum):
    """What a plot can be made of."""

    MASS = "mass_g"
    CDA = "cda_cm2"
    ROLLING = "rolling"
    PREDICTED = "predicted_s"
    MEASURED = "measured_s"


@dataclass(frozen=True, slots=True)
class CarLine:
    """A car's figures.

    `mass_g` is of the complete car without its cartridge; `cda_cm2` its drag area; `rolling` its rolling
    resistance over its weight; `predicted_s` the frozen prediction; `measured_s` its best run with the
    spread of all its runs. `measured` tells which of the figures come from a measurement on this very
    car: the others are estimates. `place` is its place on the day.
    """

    number: int
    car: str
    bench: str = ""
    mass_g: Figure | None = None
    cda_cm2: Figure | None = None
    rolling: Figure | None = None
    predicted_s: Figure | None = None
    measured_s: Figure | None = None
    runs: int = 0
    place: int | None = None
    out: str = ""
    measured: frozenset[Quantity] = frozenset()

    def figure(self, quantity: Quantity) -> Figure | None:
        """The figure of a quantity; None where there is none."""
        return {
            Quantity.MASS: self.mass_g,
            Quantity.CDA: self.cda_cm2,
            Quantity.ROLLING: self.rolling,
            Quantity.PREDICTED: self.predicted_s,
            Quantity.MEASURED: self.measured_s,
        }[quantity]


@dataclass(frozen=True, slots=True)
class Plot:
    """Two quantities against each other."""

    title: str
    x: Quantity
    y: Quantity
    x_axis: Axis
    y_axis: Axis
    equal: bool = False


_TIME: Final = Axis("best time, s")
PLOTS: Final = (
    Plot("Mass and time", Quantity.MASS, Quantity.MEASURED, Axis("car without cartridge, g"), _TIME),
    Plot("Drag area and time", Quantity.CDA, Quantity.MEASURED, Axis("drag area, cm²"), _TIME),
    Plot(
        "Rolling resistance and time",
        Quantity.ROLLING,
        Quantity.MEASURED,
        Axis("rolling resistance over weight"),
        _TIME,
    ),
    Plot(
        "Predicted and measured time",
        Quantity.PREDICTED,
        Quantity.MEASURED,
        Axis("predicted time, s"),
        _TIME,
        equal=True,
    ),
)
"""The plots of a class, in the order of its sheets."""

CSV_HEADER: Final = (
    "number",
    "car",
    "bench",
    "place",
    "out because",
    *(
        f"{words} {end}"
        for words in ("mass g", "drag area cm2", "rolling resistance", "predicted time s", "best time s")
        for end in ("value", "low", "high")
    ),
    "runs",
    "measured on this car",
)


def dots_of(lines: Sequence[CarLine], plot: Plot) -> list[Dot]:
    """The points of a plot: cars that have both figures. Hollow where `x` is an estimate."""
    dots: list[Dot] = []
    for line in lines:
        x, y = line.figure(plot.x), line.figure(plot.y)
        if x is not None and y is not None:
            hollow = plot.x is not Quantity.PREDICTED and plot.x not in line.measured
            dots.append(Dot(str(line.number), x, y, hollow))
    return dots


def class_csv(lines: Sequence[CarLine]) -> bytes:
    """The table for spreadsheets: RFC 4180, UTF-8 with a byte-order mark, points for decimals.

    Figures keep all their digits; a text that a spreadsheet would take for a formula is marked as text.
    """
    rows: list[Sequence[str | float]] = [CSV_HEADER]
    for line in lines:
        figures = [line.figure(quantity) for quantity in Quantity]
        rows.append(
            [
                line.number,
                _text(line.car),
                _text(line.bench),
                "" if line.place is None else line.place,
                _text(line.out),
                *(value for figure in figures for value in _three(figure)),
                line.runs,
                "; ".join(quantity.value for quantity in Quantity if quantity in line.measured),
            ]
        )
    return csv_bytes(rows)


def _three(figure: Figure | None) -> tuple[str, str, str]:
    return ("", "", "") if figure is None else (repr(figure[0]), repr(figure[1]), repr(figure[2]))


def _text(text: str) -> str:
    return guarded(printable(text))
