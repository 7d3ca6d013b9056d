"""Text on paper: what can be shown, how wide it is by the shipped fonts, and how it breaks into lines."""

from __future__ import annotations

import struct
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

__all__ = [
    "FAMILY",
    "FontFace",
    "LINE_PITCH",
    "MISSING",
    "NO_BREAK_SPACE",
    "descent_mm",
    "font_file",
    "font_size_mm",
    "lacking",
    "load_face",
    "shorten",
    "showable",
    "text_width_mm",
    "wrap",
]


FAMILY = "DejaVu Sans Condensed"

_FOLDER = Path(__file__).resolve().parent.parent / "fonts"


@dataclass(frozen=True, slots=True)
class FontFace:
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
def load_face(*, bold: bool = False) -> FontFace:
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

    return FontFace(
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


MISSING = "?"
"""Printed for a character that the lettering does not have, nor letters to spell it with."""

LINE_PITCH = 1.9
"""Distance between baselines in capital heights."""

NO_BREAK_SPACE = "\u00a0"
"""Holds a number and its unit on one line."""


@lru_cache(maxsize=4096)
def showable(text: str) -> str:
    """`text` as it will be printed: composed letters, no control characters, nothing that is not there.

    A character that the lettering does not have is spelled with letters that it has, as Unicode decomposes
    it (a wide or a circled letter), or else a question mark stands in its place; `lacking` tells of those.
    Any string is accepted, half of a surrogate pair too. Text runs from left to right.
    """
    advance = load_face().advance
    shown: list[str] = []
    for character in unicodedata.normalize("NFC", text):
        category = unicodedata.category(character)
        if character == NO_BREAK_SPACE:
            shown.append(character)
        elif category in {"Zs", "Zl", "Zp"} or character in "\t\n\r\v\f":
            shown.append(" ")
        elif category in {"Cc", "Cf"} or 0xFE00 <= ord(character) <= 0xFE0F:
            continue
        elif ord(character) in advance:
            shown.append(character)
        elif category in {"Mn", "Me"}:
            # A mark over a letter that is itself missing adds nothing.
            continue
        else:
            shown.append(_spelled(character) or MISSING)
    return "".join(shown)


def lacking(text: str) -> tuple[str, ...]:
    """The characters of `text` for which a question mark is printed, each once, in order."""
    found = dict.fromkeys(
        character
        for character in unicodedata.normalize("NFC", text)
        if character != MISSING and showable(character) == MISSING
    )
    return tuple(found)


def _spelled(character: str) -> str:
    """A character by its compatibility decomposition (Unicode, UAX 15), if the lettering has all of that."""
    advance = load_face().advance
    letters = unicodedata.normalize("NFKC", character)
    return letters if all(ord(letter) in advance for letter in letters) else ""


def font_size_mm(height_mm: float, *, bold: bool = False) -> float:
    """The size of the em in mm for capitals of `height_mm`."""
    return height_mm / load_face(bold=bold).cap_height


def descent_mm(height_mm: float, *, bold: bool = False) -> float:
    """How far letters such as g hang below the baseline, mm."""
    return font_size_mm(height_mm, bold=bold) * load_face(bold=bold).descent


def text_width_mm(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Width in mm of one line of text with capitals of `height_mm`."""
    return _width(showable(text), height_mm, bold=bold)


def shorten(text: str, height_mm: float, width_mm: float, *, bold: bool = False) -> str:
    """`text`, cut and ended with an ellipsis when it is wider than `width_mm`."""
    shown = showable(text)
    if _width(shown, height_mm, bold=bold) <= width_mm:
        return shown
    # Only so many characters can fit; do not measure the rest of a very long text.
    room = min(len(shown), int(width_mm / (0.2 * height_mm)) + 1)
    while room > 0 and _width(shown[:room].rstrip() + "…", height_mm, bold=bold) > width_mm:
        room -= 1
    return shown[:room].rstrip() + "…"


def wrap(text: str, height_mm: float, width_mm: float, *, bold: bool = False) -> list[str]:
    """`text` in lines no wider than `width_mm`, broken at spaces, else after hyphens and slashes.

    A word that is wider than a line is broken where the line is full. Newlines in `text` are kept. At
    least one line is returned.
    """
    lines: list[str] = []
    room = width_mm / font_size_mm(height_mm, bold=bold)
    for paragraph in text.splitlines() or [""]:
        line, used = "", 0.0
        for word in _words(showable(paragraph)):
            # Letters stand side by side without kerning, so that widths add up.
            if used + _ems(word.rstrip(), bold=bold) <= room:
                line, used = line + word, used + _ems(word, bold=bold)
                continue
            if line.strip():
                lines.append(line.rstrip())
            *full, line = _broken(word, height_mm, width_mm, bold=bold)
            lines.extend(full)
            used = _ems(line, bold=bold)
        lines.append(line.rstrip())
    return lines


def _width(shown: str, height_mm: float, *, bold: bool) -> float:
    """Width of text that is already as it will be printed."""
    return _ems(shown, bold=bold) * font_size_mm(height_mm, bold=bold)


@lru_cache(maxsize=8192)
def _ems(shown: str, *, bold: bool) -> float:
    """The same in ems."""
    advance = load_face(bold=bold).advance
    missing = advance[ord(MISSING)]
    return sum([advance.get(ord(character), missing) for character in shown])


def _words(text: str) -> list[str]:
    """Pieces that may not be broken, each with the spaces that follow it."""
    pieces: list[str] = []
    piece = ""
    for k, character in enumerate(text):
        piece += character
        following = text[k + 1 : k + 2]
        at_space = character == " " and following != " "
        # "1/4" and "-3" stay whole: a break needs a letter on both sides.
        at_joint = character in "-/" and following.isalpha() and text[k - 1 : k].isalpha()
        if at_space or at_joint:
            pieces.append(piece)
            piece = ""
    if piece:
        pieces.append(piece)
    return pieces


def _broken(word: str, height_mm: float, width_mm: float, *, bold: bool) -> list[str]:
    """`word` in pieces that fit; the last may be followed by more on its line."""
    pieces = [""]
    for character in word:
        longer = pieces[-1] + character
        # One character is the least a line can hold, however narrow the line.
        if pieces[-1] and _width(longer.rstrip(), height_mm, bold=bold) > width_mm:
            pieces.append(character)
        else:
            pieces[-1] = longer
    return pieces
