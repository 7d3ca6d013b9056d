"""Files of another kind that are taken for a TOML file: told by how they begin, in one word or two.

The first bytes are those of the formats' own descriptions: SQLite 3, PDF (ISO 32000), ZIP, PNG (ISO 15948),
JPEG, STEP (ISO 10303-21), DXF, and STL, whose binary form has 50 bytes for each of the triangles that it
counts after 80 free ones.
"""

from __future__ import annotations

import re
import struct
from typing import Final

__all__ = ["other_kind"]

_STARTS: Final = (
    (b"SQLite format 3\0", "a trial book"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a packed file, such as 3MF or ZIP"),
    (b"\x89PNG\r\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"ISO-10303-21", "a 3D model (STEP)"),
)
_TEXTS: Final = (
    (re.compile(rb"solid\b[^=\n]*\n\s*facet"), "a 3D model (STL)"),
    (re.compile(rb"\s*0\r?\n\s*SECTION\b"), "a drawing (DXF)"),
    (re.compile(rb"\s*<(\?xml|svg|!DOCTYPE|html)"), "a drawing or a web page"),
    (re.compile(rb"\s*\{"), "JSON"),
    # Names or figures with commas or semicolons between them, none of it set equal to anything.
    (re.compile(rb"[^=#\[\n]*[,;\t][^=#\[\n]*[,;\t][^=#\[\n]*(\n|$)"), "a table (CSV)"),
)
_BOM: Final = b"\xef\xbb\xbf"
_STL_HEAD: Final = 84
_STL_FACE: Final = 50


def other_kind(data: bytes, size: int) -> str:
    """What a file is instead of TOML, as far as its beginning tells; empty where it may be TOML.

    `data` may be its beginning alone, of `size` bytes in all.
    """
    for start, words in _STARTS:
        if data.startswith(start):
            return words
    if len(data) >= _STL_HEAD and b"\0" in data[:_STL_HEAD]:
        (faces,) = struct.unpack_from("<I", data, 80)
        if size == _STL_HEAD + _STL_FACE * faces:
            return "a 3D model (STL)"
    text = data[:4096].removeprefix(_BOM)
    return next((words for pattern, words in _TEXTS if pattern.match(text)), "")
