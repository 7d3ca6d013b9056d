"""File names from what people call things."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.files.manifest import is_plain_name
from bodyshop.foundation.files.names import safe_stem


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Kestrel", "Kestrel"),
        ("Blue tit 2", "Blue-tit-2"),
        ("a_b-c", "a_b-c"),
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\temp\\x", "C-temp-x"),
        ("a\x00b\nc", "a-b-c"),
        ("-rf", "rf"),
        ("...", "car"),
        ("", "car"),
        ("🚗", "car"),
        ("Wren 🚗!", "Wren"),
        ("Mäusebussard", "Mäusebussard"),
        ("Ma\u0308usebussard", "Mäusebussard"),
        ("カワセミ", "カワセミ"),
        ("किंगफिशर", "किंगफिशर"),
        ("❤\ufe0f", "car"),
        ("con", "con-car"),
        ("CON", "CON-car"),
        ("com1", "com1-car"),
        ("com¹", "com"),
        ("nul.toml", "nul-toml"),
        ("x" * 300, "x" * 40),
        ("x" * 39 + " y", "x" * 39),
    ],
)
def test_stems(name: str, stem: str) -> None:
    assert safe_stem(name) == stem


@given(st.text(max_size=60))
def test_any_name_makes_a_plain_one(name: str) -> None:
    stem = safe_stem(name)
    assert is_plain_name(stem)
    assert stem[0] not in "-."
    assert stem[-1] not in "-."
    assert 1 <= len(stem) <= 44
    assert len(f"{stem}-side.svg".encode()) < 255
    assert safe_stem(stem) == stem or stem.endswith("-car")
