"""A sheet for formats that can hide nothing: what a clip or white paper would hide is cut off."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import LineTo, MoveTo
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.replay import ClipBegin, ClipEnd, Drawn, Ink, Lettering, text_box
from bodyshop.drawing.window import Window, stretches

__all__ = ["bare"]

_WHITE = 0.999
_UNDER = frozenset({Layer.HATCH, Layer.STATION})
"""Layers that give way to the words on them."""


def bare(drawn: Sequence[Drawn]) -> list[Drawn]:
    """The run without clips and without white.

    Strokes end at the edge of a clip; words and fills are kept whole or not at all. White takes away the
    strokes of waste and stations that were drawn before it, and nothing else.
    """
    out: list[Drawn] = []
    windows: list[Window] = []
    for item in drawn:
        match item:
            case ClipBegin():
                windows.append(Window(item.corners))
            case ClipEnd():
                windows.pop()
            case Lettering():
                if all(window.holds(_middle(item)) for window in windows):
                    out.append(item)
            case Ink():
                ink = item
                if item.fill_grey is not None and item.fill_grey >= _WHITE:
                    _white_out(out, item)
                    ink = replace(item, fill_grey=None)
                if ink.pen is not None or ink.fill_grey is not None:
                    out += _within(ink, windows)
    return out


def _middle(lettering: Lettering) -> Point:
    corners = text_box(lettering)
    return (sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4)


def _within(ink: Ink, windows: Iterable[Window]) -> list[Ink]:
    """An ink inside all windows; unchanged when nothing is cut off it."""
    inks = [ink]
    for window in windows:
        inks = [part for each in inks for part in _inside(each, window)]
    return inks


def _inside(ink: Ink, window: Window) -> list[Ink]:
    if ink.fill_grey is not None:
        # What is filled is small: an arrow head, a space of a check bar.
        return [ink] if all(window.holds(segment.end) for segment in ink.segments) else []
    whole = list(stretches(ink.segments, closed=ink.closed))
    kept = window.cut(ink.segments, closed=ink.closed)
    if kept == whole:
        return [ink]
    return [replace(ink, segments=tuple(run), closed=False, circle=None) for run in kept]


def _white_out(out: list[Drawn], white: Ink) -> None:
    """Take what lies under a white patch away from the strokes of waste and stations drawn so far."""
    corners = [segment.end for segment in white.segments]
    if len(corners) < 3 or not all(isinstance(segment, LineTo | MoveTo) for segment in white.segments):
        return
    window = Window(corners)
    x0, x1 = min(x for x, _ in corners), max(x for x, _ in corners)
    y0, y1 = min(y for _, y in corners), max(y for _, y in corners)
    k = 0
    while k < len(out):
        item = out[k]
        if isinstance(item, Ink) and item.layer in _UNDER and len(item.segments) == 2:
            (xa, ya), (xb, yb) = (segment.end for segment in item.segments)
            near = min(xa, xb) <= x1 and max(xa, xb) >= x0 and min(ya, yb) <= y1 and max(ya, yb) >= y0
            kept = window.cut(item.segments, closed=False, inside=False) if near else None
            if kept is not None:
                out[k : k + 1] = [replace(item, segments=tuple(run)) for run in kept]
                k += len(kept)
                continue
        k += 1
