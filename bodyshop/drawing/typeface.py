"""Widths of characters, read from the font files that ship with the program.

Only what measuring needs is read: which characters there are, how wide each is, and how tall capitals
are. Formats: OpenType `head`, `hhea`, `hmtx`, `cmap` (format 4) and `glyf`.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path

__all__ = ["FAMILY", "Face", "font_file", "load_face"]

FAMILY = "DejaVu Sans Condensed"

_FOLDER = Path(__file__).resolve().parent.parent / "fonts"


@dataclass(frozen=True, slots=True)
class Face:
    """One weight of the lettering. `advance` maps a character's code to its width, in ems."""

    name: str
    advance: dict[int, float]
    cap_height: float
    """Height of a capital H in ems."""
    descent: float
    """How far a small g hangs below the baseline, in ems."""


def font_file(*, bold: bool) -> Path:
    """The font file of a weight."""
    return _FOLDER / ("DejaVuSansCondensed-Bold.ttf" if bold else "DejaVuSansCondensed.ttf")


@cache
def load_face(*, bold: bool = False) -> Face:
    """The metrics of a weight, read once."""
    path = font_file(bold=bold)
    data = path.read_bytes()
    tables = _tables(data)
    (units,) = struct.unpack_from(">H", data, tables["head"] + 18)
    (long_offsets,) = struct.unpack_from(">h", data, tables["head"] + 50)
    (metric_count,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
    glyph_of = _characters(data, tables["cmap"])

    def width(glyph: int) -> float:
        # Glyphs past the last metric share its width.
        at = tables["hmtx"] + 4 * min(glyph, metric_count - 1)
        (wide,) = struct.unpack_from(">H", data, at)
        return float(wide / units)

    def extent(character: str) -> tuple[float, float]:
        glyph = glyph_of[ord(character)]
        if long_offsets:
            (offset,) = struct.unpack_from(">I", data, tables["loca"] + 4 * glyph)
        else:
            offset = 2 * struct.unpack_from(">H", data, tables["loca"] + 2 * glyph)[0]
        low, _, high = struct.unpack_from(">3h", data, tables["glyf"] + offset + 4)
        return low / units, high / units

    return Face(
        name=path.stem,
        advance={code: width(glyph) for code, glyph in glyph_of.items()},
        cap_height=extent("H")[1],
        descent=-extent("g")[0],
    )


def _tables(data: bytes) -> dict[str, int]:
    """Offset of each table in the file."""
    (count,) = struct.unpack_from(">H", data, 4)
    found: dict[str, int] = {}
    for k in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * k)
        found[tag.decode("ascii")] = offset
    return found


def _characters(data: bytes, cmap: int) -> dict[int, int]:
    """Glyph of each character of the basic plane: the Windows Unicode subtable."""
    (count,) = struct.unpack_from(">H", data, cmap + 2)
    for k in range(count):
        platform, encoding, offset = struct.unpack_from(">HHI", data, cmap + 4 + 8 * k)
        if (platform, encoding) == (3, 1):
            return _format_4(data, cmap + offset)
    raise ValueError("the font has no Unicode table")


def _format_4(data: bytes, at: int) -> dict[int, int]:
    kind, _, _, doubled = struct.unpack_from(">4H", data, at)
    if kind != 4:
        raise ValueError(f"character table of format {kind}, expected 4")
    count = doubled // 2
    ends = struct.unpack_from(f">{count}H", data, at + 14)
    starts = struct.unpack_from(f">{count}H", data, at + 16 + doubled)
    deltas = struct.unpack_from(f">{count}H", data, at + 16 + 2 * doubled)
    ranges_at = at + 16 + 3 * doubled
    ranges = struct.unpack_from(f">{count}H", data, ranges_at)
    found: dict[int, int] = {}
    for k in range(count):
        for code in range(starts[k], ends[k] + 1):
            if ranges[k] == 0:
                glyph = (code + deltas[k]) & 0xFFFF
            else:
                # The range offset counts bytes from its own place in the table.
                place = ranges_at + 2 * k + ranges[k] + 2 * (code - starts[k])
                (glyph,) = struct.unpack_from(">H", data, place)
                if glyph:
                    glyph = (glyph + deltas[k]) & 0xFFFF
            if glyph and code != 0xFFFF:
                found[code] = glyph
    return found
