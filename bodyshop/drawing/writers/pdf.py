"""Sheets as a PDF: one page each, at full size, the same bytes for the same sheets.

Streams are left uncompressed: the bytes then do not depend on the compression library, and anyone can
read the coordinates.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Any

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.lettering import font_file, font_size_mm
from bodyshop.drawing.sheet.pens import Pen, pen_style
from bodyshop.drawing.sheet.replay import ClipBegin, ClipEnd, InkedPath, Lettering, arc_as_cubics, replay
from bodyshop.drawing.writers.meta import DocMeta, plain
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["Bookmark", "write_pdf"]

_PT = 72 / MM_PER_IN
"""Points in a millimetre: the one scale of this writer (ISO 32000-1, 8.3.2.3: 72 units to the inch)."""

_FONT = {False: "bodyshop-regular", True: "bodyshop-bold"}


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of a PDF's table of contents: the page it leads to, from 0, and how deep it lies."""

    title: str
    page: int
    level: int = 0


def write_pdf(sheets: Iterable[Sheet], meta: DocMeta, bookmarks: Sequence[Bookmark] = ()) -> bytes:
    """A PDF with a page for each sheet, of exactly its size, asking viewers not to scale when printing.

    Sheets are taken one at a time. With `bookmarks`, in the order of their pages, viewers show them.

    Raises:
        ValueError: there is no sheet.
    """
    coming = iter(sheets)
    first = next(coming, None)
    if first is None:
        raise ValueError("a document needs at least one sheet")
    from reportlab.pdfgen.canvas import Canvas

    _register_fonts()
    out = io.BytesIO()
    canvas = Canvas(
        out,
        pagesize=_page_size(first),
        pageCompression=0,
        invariant=1,
        initialFontName=_FONT[False],
        lang="en",
        # PrintScaling came with 1.6.
        pdfVersion=(1, 7),
    )
    canvas.setTitle(plain(meta.title))
    canvas.setAuthor(plain(meta.author))
    canvas.setSubject(plain(meta.subject))
    canvas.setKeywords(plain(", ".join(meta.keywords)))
    canvas.setCreator("bodyshop")
    canvas.setProducer("bodyshop")
    # Viewers offer "fit to page" first; this asks them to start from actual size.
    canvas.setViewerPreference("PrintScaling", "None")
    marks: dict[int, list[tuple[str, Bookmark]]] = {}
    for count, mark in enumerate(bookmarks):
        marks.setdefault(mark.page, []).append((f"mark-{count}", mark))
    if bookmarks:
        canvas.showOutline()
    for number, sheet in enumerate(chain([first], coming)):
        canvas.setPageSize(_page_size(sheet))
        for key, mark in marks.get(number, ()):
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(plain(mark.title), key, mark.level, closed=True)
        _Page(canvas).draw(sheet)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _page_size(sheet: Sheet) -> tuple[float, float]:
    return (sheet.width_mm * _PT, sheet.height_mm * _PT)


def _register_fonts() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for bold, name in _FONT.items():
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(font_file(bold=bold)), asciiReadable=True))


class _Page:
    """Draws on one page, remembering the pen so as not to set it again."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas: Any = canvas
        self._pens: list[Pen | None] = [None]
        canvas.setLineJoin(1)
        canvas.setFillGray(0)
        canvas.setStrokeGray(0)

    def draw(self, sheet: Sheet) -> None:
        for drawn in replay(sheet):
            match drawn:
                case InkedPath():
                    self._ink(drawn)
                case Lettering():
                    self._text(drawn)
                case ClipBegin():
                    self._canvas.saveState()
                    self._pens.append(self._pens[-1])
                    self._canvas.clipPath(self._polygon(drawn.corners), stroke=0, fill=0)
                case ClipEnd():
                    self._canvas.restoreState()
                    self._pens.pop()

    def _ink(self, ink: InkedPath) -> None:
        if ink.pen is not None and ink.pen is not self._pens[-1]:
            style = pen_style(ink.pen)
            self._canvas.setLineWidth(style.width_mm * _PT)
            self._canvas.setDash([dash * _PT for dash in style.dashes_mm])
            # Round ends would fill the gaps of a dashed line.
            self._canvas.setLineCap(0 if style.dashes_mm else 1)
            self._pens[-1] = ink.pen
        path = self._canvas.beginPath()
        for segment in ink.segments:
            match segment:
                case MoveTo():
                    if ink.closed and segment is not ink.segments[0]:
                        path.close()
                    path.moveTo(*_pt(segment.end))
                case LineTo():
                    path.lineTo(*_pt(segment.end))
                case CubicTo():
                    path.curveTo(*_pt(segment.control_1), *_pt(segment.control_2), *_pt(segment.end))
                case ArcTo():
                    for cubic in arc_as_cubics(segment):
                        path.curveTo(*_pt(cubic.control_1), *_pt(cubic.control_2), *_pt(cubic.end))
        if ink.closed:
            path.close()
        filled = ink.fill_grey is not None
        if filled:
            self._canvas.setFillGray(ink.fill_grey)
        self._canvas.drawPath(path, stroke=int(ink.pen is not None), fill=int(filled), fillMode=0)
        if filled:
            self._canvas.setFillGray(0)

    def _text(self, lettering: Lettering) -> None:
        size = font_size_mm(lettering.height_mm, bold=lettering.bold) * _PT
        cos, sin = math.cos(lettering.rotation_rad), math.sin(lettering.rotation_rad)
        text = self._canvas.beginText()
        text.setTextTransform(cos, sin, -sin, cos, *_pt(lettering.start))
        text.setFont(_FONT[lettering.bold], size)
        text.textOut(lettering.text)
        self._canvas.drawText(text)

    def _polygon(self, corners: Sequence[Point]) -> Any:
        path = self._canvas.beginPath()
        path.moveTo(*_pt(corners[0]))
        for corner in corners[1:]:
            path.lineTo(*_pt(corner))
        path.close()
        return path


def _pt(point: Point) -> tuple[float, float]:
    return (point[0] * _PT, point[1] * _PT)
