"""A rulebook that hands out nothing leaves the design its own book's kit."""

from pathlib import Path

from bodyshop.rules.checking import open_car

BARE_BOOK = """
format = 1
name = "Lengths only"
event = "Quarry Lane Sprint"
units = "mm"

[reading]
resolution = "0.1 mm"

[[rule]]
clause = "L1"
measure = "body.length"
max = 305
fails = "disqualify"
reason = "The gate is no longer than {max}."
"""


def test_a_book_without_a_kit_leaves_the_kit_of_the_book_the_design_names(root: Path, tmp_path: Path) -> None:
    book = tmp_path / "bare.toml"
    book.write_text(BARE_BOOK, encoding="utf-8")
    own = open_car(root / "samples" / "wren.toml")
    other = open_car(root / "samples" / "wren.toml", str(book))
    assert other.rulebook.stem == "bare"
    assert other.design.cartridge == own.design.cartridge
    assert [a.wheel for a in other.design.axles] == [a.wheel for a in own.design.axles]
    assert [a.washers for a in other.design.axles] == [a.washers for a in own.design.axles]
    assert other.design.fingerprint == own.design.fingerprint
