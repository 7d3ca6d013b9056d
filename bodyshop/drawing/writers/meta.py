"""What a file says about itself, and a sheet for formats that can hide nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.replay import ClipBegin, ClipEnd, Drawn, InkedPath, Lettering, text_box
from bodyshop.geometry.affine import Point
from bodyshop.geometry.clipping import Window, stretches
from bodyshop.geometry.paths import LineTo, MoveTo

__all__ = ["DocMeta", "bare", "plain"]


@dataclass(frozen=True, slots=True)
class DocMeta:
    """Title, author (owner or bench), subject and keywords of a file."""

    title: str
    author: str = ""
    subject: str = ""
    keywords: tuple[str, ...] = ()


def plain(text: str) -> str:
    """`text` without what XML and PDF strings may not hold: control characters, lone surrogates."""
    return "".join(
        " " if c in "\t\n\r" else c
        for c in text
        if (ord(c) >= 32 or c in "\t\n\r") and not 0x7F <= ord(c) <= 0x9F and not 0xD800 <= ord(c) <= 0xDFFF
        if ord(c) not in (0xFFFE, 0xFFFF)
    )


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
            case InkedPath():
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


def _within(ink: InkedPath, windows: Iterable[Window]) -> list[InkedPath]:
    """An ink inside all windows; unchanged when nothing is cut off it."""
    inks = [ink]
    for window in windows:
        inks = [part for each in inks for part in _inside(each, window)]
    return inks


def _inside(ink: InkedPath, window: Window) -> list[InkedPath]:
    if ink.fill_grey is not None:
        # What is filled is small: an arrow head, a space of a check bar.
        return [ink] if all(window.holds(segment.end) for segment in ink.segments) else []
    whole = list(stretches(ink.segments, closed=ink.closed))
    kept = window.cut(ink.segments, closed=ink.closed)
    if kept == whole:
        return [ink]
    return [replace(ink, segments=tuple(run), closed=False, circle=None) for run in kept]


def _white_out(out: list[Drawn], white: InkedPath) -> None:
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
        if isinstance(item, InkedPath) and item.layer in _UNDER and len(item.segments) == 2:
            (xa, ya), (xb, yb) = (segment.end for segment in item.segments)
            near = min(xa, xb) <= x1 and max(xa, xb) >= x0 and min(ya, yb) <= y1 and max(ya, yb) >= y0
            kept = window.cut(item.segments, closed=False, inside=False) if near else None
            if kept is not None:
                out[k : k + 1] = [replace(item, segments=tuple(run)) for run in kept]
                k += len(kept)
                continue
        k += 1
