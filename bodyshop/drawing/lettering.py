"""Text on paper: what can be shown, how wide it is, and how it breaks into lines.

`height_mm` is everywhere the height of a capital letter, as in ISO 3098 (from memory), not the size of
the font in points: a height of 2.5 mm measures 2.5 mm on the paper.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from bodyshop.drawing.typeface import load_face

__all__ = [
    "LINE_PITCH",
    "MISSING",
    "NO_BREAK_SPACE",
    "descent_mm",
    "font_size_mm",
    "lacking",
    "shorten",
    "showable",
    "text_width_mm",
    "wrap",
]

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
