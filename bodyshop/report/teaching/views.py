"""The three views of one judged car, at one scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bodyshop.checking import Checked
from bodyshop.report.teaching.aspects import Aspect
from bodyshop.report.teaching.callouts import Callout, callouts_of
from bodyshop.report.teaching.figure import Figure, draw_figure, scale_for

__all__ = ["CAPTIONS", "TAIL_WIDTH_MM", "Views", "draw_views", "scale_sentence", "scale_words"]

TAIL_WIDTH_MM: Final = 84.0
"""Width of the tail view; the mass stands beside it on paper."""

CAPTIONS: Final = {
    Aspect.SIDE: "From the side, nose to the left",
    Aspect.TOP: "From above, nose to the left",
    Aspect.TAIL: "From behind",
}


@dataclass(frozen=True, slots=True)
class Views:
    """The views, their common scale (paper over car), and all call-outs with a place."""

    scale: float
    callouts: tuple[Callout, ...]
    side: Figure
    top: Figure
    tail: Figure

    @property
    def figures(self) -> tuple[Figure, Figure, Figure]:
        """All three."""
        return (self.side, self.top, self.tail)

    @property
    def drawn(self) -> frozenset[int]:
        """Numbers of the call-outs that found room."""
        return frozenset(c.number for c in self.callouts) - {
            c.number for figure in self.figures for c in figure.left_out
        }


def draw_views(checked: Checked, width_mm: float, smaller: int = 0) -> Views:
    """The views for a page that leaves `width_mm` for them, `smaller` by so many steps than need be."""
    car = checked.opened.car
    callouts = callouts_of(checked.judgement)
    scale = scale_for(car, width_mm, TAIL_WIDTH_MM, smaller)
    side, top = (draw_figure(car, a, callouts, scale, width_mm) for a in (Aspect.SIDE, Aspect.TOP))
    tail = draw_figure(car, Aspect.TAIL, callouts, scale, TAIL_WIDTH_MM)
    return Views(scale, callouts, side, top, tail)


def scale_words(scale: float) -> str:
    """`1 : 2`, `2 : 1`."""
    return f"{scale:g} : 1" if scale > 1.0 else f"1 : {round(1 / scale, 2):g}"


def scale_sentence(scale: float) -> str:
    """What a reader must know before laying a rule on the paper."""
    return f"All three views at {scale_words(scale)}. Not for sawing: saw from the templates."
