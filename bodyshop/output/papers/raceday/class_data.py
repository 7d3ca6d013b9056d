"""The class on one page: what each car weighs, how it meets the air, how it rolls, what it ran.

One line a car. Figures are value, low and high; a figure that nobody measured or predicted is absent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.layout.scatter import Axis, Dot
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.csv_text import csv_bytes, guarded
from bodyshop.records.raceday.class_summary import CarLine, Figure, PlotQuantity

__all__ = ["CSV_HEADER", "PLOTS", "Plot", "class_csv", "dots_of"]


@dataclass(frozen=True, slots=True)
class Plot:
    """Two quantities against each other."""

    title: str
    x: PlotQuantity
    y: PlotQuantity
    x_axis: Axis
    y_axis: Axis
    equal: bool = False


_TIME: Final = Axis("best time, s")
PLOTS: Final = (
    Plot("Mass and time", PlotQuantity.MASS, PlotQuantity.MEASURED, Axis("car without cartridge, g"), _TIME),
    Plot("Drag area and time", PlotQuantity.CDA, PlotQuantity.MEASURED, Axis("drag area, cm²"), _TIME),
    Plot(
        "Rolling resistance and time",
        PlotQuantity.ROLLING,
        PlotQuantity.MEASURED,
        Axis("rolling resistance over weight"),
        _TIME,
    ),
    Plot(
        "Predicted and measured time",
        PlotQuantity.PREDICTED,
        PlotQuantity.MEASURED,
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
            hollow = plot.x is not PlotQuantity.PREDICTED and plot.x not in line.measured
            dots.append(Dot(str(line.number), x, y, hollow))
    return dots


def class_csv(lines: Sequence[CarLine]) -> bytes:
    """The table for spreadsheets: RFC 4180, UTF-8 with a byte-order mark, points for decimals.

    Figures keep all their digits; a text that a spreadsheet would take for a formula is marked as text.
    """
    rows: list[Sequence[str | float]] = [CSV_HEADER]
    for line in lines:
        figures = [line.figure(quantity) for quantity in PlotQuantity]
        rows.append(
            [
                line.number,
                _text(line.car),
                _text(line.bench),
                "" if line.place is None else line.place,
                _text(line.out),
                *(value for figure in figures for value in _three(figure)),
                line.runs,
                "; ".join(quantity.value for quantity in PlotQuantity if quantity in line.measured),
            ]
        )
    return csv_bytes(rows)


def _three(figure: Figure | None) -> tuple[str, str, str]:
    return ("", "", "") if figure is None else (repr(figure[0]), repr(figure[1]), repr(figure[2]))


def _text(text: str) -> str:
    return guarded(printable(text))
