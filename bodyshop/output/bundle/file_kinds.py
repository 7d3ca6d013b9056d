"""What every kind of file that is handed out is called, and its media type."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePath
from types import MappingProxyType
from typing import Final

from bodyshop.drawing.writers.formats import PAPER_FORMATS

__all__ = ["FILE_KINDS", "SOLID_FORMATS", "FileKind", "kind_of"]


@dataclass(frozen=True, slots=True)
class FileKind:
    """A kind of file: as a person is told, and its media type (IANA's list, from memory)."""

    label: str
    media_type: str


SOLID_FORMATS: Final[Mapping[str, FileKind]] = MappingProxyType(
    {
        "stl": FileKind("STL", "model/stl"),
        "step": FileKind("STEP", "model/step"),
        "3mf": FileKind("3MF", "model/3mf"),
    }
)
"""What the solid is written as, by the ending of its files."""

FILE_KINDS: Final[Mapping[str, FileKind]] = MappingProxyType(
    {
        **{each.name: FileKind(each.label, each.media_type) for each in PAPER_FORMATS.values()},
        **SOLID_FORMATS,
        "html": FileKind("web page", "text/html; charset=utf-8"),
        "csv": FileKind("table", "text/csv; charset=utf-8"),
    }
)
"""Every kind by the ending of its files."""

_OTHER: Final = FileKind("file", "application/octet-stream")


def kind_of(name: str) -> FileKind:
    """The kind of a file by its name."""
    return FILE_KINDS.get(PurePath(name).suffix.removeprefix(".").casefold(), _OTHER)
