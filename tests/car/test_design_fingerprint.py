"""The fingerprint: the same for what means the same, another for what does not."""

from __future__ import annotations

import hashlib
import re

import pytest

from bodyshop.car.design import read_design
from bodyshop.car.design.fingerprint import CROCKFORD, fingerprint
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import parse_source, read_source
from tests.car.kits import TEST_KIT, TEST_KIT_INCH

WREN = (samples_folder() / "wren.toml").read_text(encoding="utf-8")


def mark(text: str) -> str:
    return read_design(parse_source(text, "car.toml"), TEST_KIT).fingerprint


def swapped(old: str, new: str) -> str:
    assert WREN.count(old) == 1, old
    return WREN.replace(old, new)


def test_it_is_two_groups_of_four_that_are_not_misread() -> None:
    for file in sorted(samples_folder().glob("*.toml")):
        kit = TEST_KIT_INCH if file.stem == "dipper" else TEST_KIT
        found = read_design(read_source(file), kit).fingerprint
        assert re.fullmatch(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}", found)


def test_the_letters_spell_the_first_forty_bits_of_the_digest() -> None:
    # Outside check: hashlib's SHA-256 (FIPS 180-4) of the canonical text, its bits taken in fives.
    digest = hashlib.sha256(b'["Wren",1,null,[true]]').digest()
    bits = "".join(f"{byte:08b}" for byte in digest)[:40]
    letters = "".join(CROCKFORD[int(bits[i : i + 5], 2)] for i in range(0, 40, 5))
    assert fingerprint(["Wren", 1, None, [True]]) == f"{letters[:4]}-{letters[4:]}"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("# Wren: a first car", "# Another remark about a first car"),
        ("depth = 52", "depth   =   52.0   # deep"),
        ("depth = 52", 'depth = "5.2 cm"'),
        ("depth = 52", 'depth = "26 * 2"'),
        ("x = 50\nheight = 7", "height = 7\nx = 50"),
        ("  [0, 0],\n", "  [-0.0, 0],\n"),
        ("  [190, 42],", "  { to = [190, 42] },"),
        ("  [190, 42],", "  { to = [190, 42], round = 0, hollow = false },"),
        ("[bore]", "[edges]\nround = 0\n\n[bore]"),
        ('rulebook = "quarry-lane"', 'rulebook = "another"'),
        ('bench = "Bench 2"', 'bench = "Bench 9"'),
        ("depth = 52", "depth = 52.0000000001"),
        ('rulebook = "quarry-lane"', 'rulebook = "quarry-lane"\nunits = "mm"'),
        ('wood = "basswood"', 'wood = "basswood"\nstock = "larkfield-block"'),
        ("x = 50\n", 'x = 50\nbearing = "straw-4"\nhole = 4\nwashers = 1\n'),
    ],
)
def test_what_means_the_same_has_the_same(old: str, new: str) -> None:
    assert mark(swapped(old, new)) == mark(WREN)


CHANGES = [
    ('name = "Wren"', 'name = "Wren 2"'),
    ('wood = "basswood"', 'wood = "balsa"'),
    ('wood = "basswood"', 'wood = "basswood"\nweighed = 352'),
    ('wood = "basswood"', 'wood = "basswood"\nbalance = 0.1'),
    ('wood = "basswood"', 'wood = "basswood"\nstock = "quarry-lane-wedge"'),
    ("  [190, 42],", "  [190.00001, 42],"),
    ("  [190, 42],", "  { to = [190, 42], round = 2 },"),
    ("  [190, 42],", "  { to = [190, 42], radius = 90 },"),
    ("  [190, 42],", "  { to = [190, 42], radius = 90, hollow = true },"),
    ("  [190, 42],", "  { to = [190, 42], through = [225, 45] },"),
    ("  [190, 42],", "  { to = [190, 42], handles = [[240, 44], [210, 44]] },"),
    ("  [120, 22],", "  { to = [120, 22], smooth = true },"),
    ("  [120, 22],", "  { to = [120, 22], smooth = true, tangent = true },"),
    ("[plan]", "[[profile.window]]\ncircle = [100, 10]\ndiameter = 5\n\n[plan]"),
    ("[plan]", "[[profile.window]]\ncircle = [100, 10]\ndiameter = 6\n\n[plan]"),
    ("[bore]", "[edges]\nround = 2\n\n[bore]"),
    ("depth = 52", "depth = 52\nangle = 1"),
    ("depth = 52", "depth = 52\noffset = 1"),
    ("height = 25", "height = 25.5"),
    ("x = 50\n", "x = 50\nplay = 1\n"),
    ("x = 50\n", "x = 50\nlength = 60\n"),
    ("x = 50\n", "x = 50\nwashers = 2\n"),
    ("x = 50\n", 'x = 50\nbearing = "none"\n'),
    ("x = 50\n", "x = 50\nwheel = { mass = 1.5 }\n"),
    ("behind = 8", "ahead = 8"),
    ("behind = 8", "behind = 8\noffset = 1"),
    ("behind = 8", 'behind = 8\neye = "screw-eye-medium"'),
    ("[bore]", '[finish]\nfinish = "bare"\n\n[bore]'),
    ("[bore]", '[finish]\nglue = "none"\n\n[bore]'),
]


def test_what_means_something_else_has_another() -> None:
    marks = [mark(WREN), *(mark(swapped(old, new)) for old, new in CHANGES)]
    assert len(set(marks)) == len(marks)


def test_the_unit_of_the_file_counts() -> None:
    # The papers of a car in inches show inches, though every length of this one brings its own unit.
    head, blank, rest = WREN.partition("[blank]")
    own_units = head + blank + re.sub(r"(?<=[ \[])([0-9.]+)(?=[,\]\n])", r'"\1 mm"', rest)
    assert mark(own_units) == mark(WREN)
    assert mark(own_units.replace('rulebook = "quarry-lane"', 'units = "in"')) != mark(WREN)
