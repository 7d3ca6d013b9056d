"""What sheets can be written as: one row a format."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.writers.meta import DocMeta

__all__ = ["PAPER_FORMATS", "PaperFormat", "write_sheets"]


@dataclass(frozen=True, slots=True)
class PaperFormat:
    """A format. `whole`: all sheets stand in one file; else each has a file of its own. `for_machines`: what
    reads it is no printer, so it is never corrected for one.
    """

    name: str
    label: str
    media_type: str
    whole: bool
    for_machines: bool
    write: Callable[[Sequence[Sheet], DocMeta], bytes]


def _pdf(sheets: Sequence[Sheet], meta: DocMeta) -> bytes:
    from bodyshop.drawing.writers.pdf import write_pdf

    return write_pdf(sheets, meta)


def _svg(sheets: Sequence[Sheet], meta: DocMeta) -> bytes:
    from bodyshop.drawing.writers.svg import write_svg

    (sheet,) = sheets
    return write_svg(sheet, meta).encode("utf-8")


def _dxf(sheets: Sequence[Sheet], meta: DocMeta) -> bytes:
    from bodyshop.drawing.writers.dxf import write_dxf

    (sheet,) = sheets
    return write_dxf(sheet, meta)


PAPER_FORMATS: Final[Mapping[str, PaperFormat]] = MappingProxyType(
    {
        each.name: each
        for each in (
            PaperFormat("pdf", "PDF", "application/pdf", whole=True, for_machines=False, write=_pdf),
            PaperFormat("svg", "SVG", "image/svg+xml", whole=False, for_machines=False, write=_svg),
            PaperFormat("dxf", "DXF", "image/vnd.dxf", whole=False, for_machines=True, write=_dxf),
        )
    }
)
"""Every format by its name, which is the ending of its files too."""


def write_sheets(
    stem: str,
    sheets: Sequence[Sheet],
    meta: DocMeta,
    formats: Collection[str],
    *,
    for_machines: Sequence[Sheet] | None = None,
) -> dict[str, bytes]:
    """Files by name, in the order of the formats: `STEM.pdf`, and where each sheet has a file of its own
    `STEM-1.svg` and on. `for_machines` are the sheets as no printer asks for them.
    """
    files: dict[str, bytes] = {}
    for made in (PAPER_FORMATS[name] for name in PAPER_FORMATS if name in formats):
        pages = for_machines if made.for_machines and for_machines is not None else sheets
        if made.whole:
            files[f"{stem}.{made.name}"] = made.write(pages, meta)
            continue
        digits = len(str(len(pages)))
        for number, sheet in enumerate(pages, 1):
            files[f"{stem}-{number:0{digits}}.{made.name}"] = made.write([sheet], meta)
    return files
