"""Lettering measured against two other readers of the font files: Pillow (FreeType) and reportlab."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont
from reportlab.pdfbase.ttfonts import TTFont

from bodyshop.drawing.sheet.lettering import (
    MISSING,
    descent_mm,
    font_file,
    font_size_mm,
    lacking,
    load_face,
    shorten,
    showable,
    text_width_mm,
    wrap,
)

_TEXTS = [
    "Kestrel",
    "Wall round the bore, 3.4 mm",
    "Ø 19 ± 0.5 × 52",
    "Źdźbło, Þórr, Đorđe, Nguyễn",
    "Ελληνικά",
    "Кириллица",
    "1 5/8 in ⅝",
    "☐ ☑ ✓ ✗ → ⚠",
]


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", _TEXTS)
def test_widths_agree_with_other_readers(text: str, bold: bool) -> None:
    size = font_size_mm(2.5, bold=bold)
    ours = text_width_mm(text, 2.5, bold=bold)
    # At 2048 pixels to the em, the file's own units, nothing is rounded.
    pillow = ImageFont.truetype(str(font_file(bold=bold)), 2048, layout_engine=ImageFont.Layout.BASIC)
    assert ours == pytest.approx(pillow.getlength(text) / 2048 * size, rel=1e-6)
    pdf = TTFont("for-this-test", str(font_file(bold=bold)))
    # This reader keeps widths to a thousandth of the em, rounded.
    assert ours == pytest.approx(pdf.stringWidth(text, size), abs=0.001 * size * len(text))


@pytest.mark.parametrize("bold", [False, True])
def test_height_is_that_of_a_capital(bold: bool) -> None:
    font = ImageFont.truetype(str(font_file(bold=bold)), 2048, layout_engine=ImageFont.Layout.BASIC)
    _, top, _, bottom = font.getbbox("H", anchor="ls")
    size = font_size_mm(3.5, bold=bold)
    assert bottom == 0
    assert -top / 2048 * size == pytest.approx(3.5, abs=1e-3 * size)
    _, _, _, hang = font.getbbox("g", anchor="ls")
    assert descent_mm(3.5, bold=bold) == pytest.approx(hang / 2048 * size, abs=1e-3 * size)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Kestrel", "Kestrel"),
        ("e\u0301", "é"),
        ("a\tb\nc", "a b c"),
        ("a\u3000b", "a b"),
        ("12\u00a0mm", "12\u00a0mm"),
        ("\x00\x1b[31m", "[31m"),
        ("\u202eevil\u202c", "evil"),
        ("日本", MISSING * 2),
        ("🚗", MISSING),
        ("👩\u200d🔧\ufe0f", MISSING * 2),
        ("שלום", MISSING * 4),
        ("\ud800", MISSING),
        # Unicode, UAX 15: wide, circled and mathematical letters decompose to plain ones.
        ("\uff37\uff52\uff45\uff4e", "Wren"),
        ("\u24b6", "A"),
        ("\U0001d568", "w"),
        ("", ""),
    ],
)
def test_what_cannot_be_shown_is_spelled_asked_for_or_left_out(text: str, shown: str) -> None:
    assert showable(text) == shown


def test_what_is_lacking_is_told() -> None:
    assert lacking("Kestrel Ø?") == ()
    assert lacking("日本 Wren 日 🚗\u200d") == ("日", "本", "🚗")
    assert lacking("\uff37") == (), "spelled with a plain W"
    assert load_face().advance.get(ord(MISSING))


@given(st.text())
def test_showable_never_fails_and_is_stable(text: str) -> None:
    shown = showable(text)
    assert showable(shown) == shown
    width = text_width_mm(text, 2.5)
    assert math.isfinite(width)
    assert width >= 0


@given(st.text(alphabet="ab cdefghij-/ .5é日", max_size=120), st.floats(8, 60))
def test_wrapped_lines_fit_and_lose_nothing(text: str, width: float) -> None:
    lines = wrap(text, 2.5, width)
    assert lines
    for words in lines:
        assert text_width_mm(words, 2.5) <= width + 1e-9
    assert "".join("".join(lines).split()) == "".join(showable(text).split())


def test_wrap_breaks_at_spaces_then_joints_then_anywhere() -> None:
    assert wrap("one two", 2.5, 15) == ["one two"]
    assert wrap("one two", 2.5, 8) == ["one", "two"]
    assert wrap("axle-hole/window", 2.5, 18) == ["axle-hole/", "window"]
    assert wrap("1 5/8", 2.5, 5) == ["1", "5/8"]
    assert wrap("first\nsecond", 2.5, 100) == ["first", "second"]
    assert wrap("", 2.5, 100) == [""]
    assert len(wrap("m" * 40, 2.5, 20)) > 4
    assert wrap("wide", 2.5, 0.1) == ["w", "i", "d", "e"]


@given(st.text(max_size=80), st.floats(4, 60))
def test_shortened_text_fits(text: str, width: float) -> None:
    assert text_width_mm(shorten(text, 2.5, width), 2.5) <= width + 1e-9


def test_shorten_keeps_what_fits_and_marks_what_does_not() -> None:
    assert shorten("Kestrel", 2.5, 30) == "Kestrel"
    assert shorten("Kestrel at the Quarry Lane Sprint", 2.5, 30).endswith("…")
    assert shorten("x" * 200_000, 2.5, 30).endswith("…")
