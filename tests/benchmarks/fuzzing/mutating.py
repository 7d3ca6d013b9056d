"""Input made wrong on purpose: texts of TOML, tables, and bytes, changed a little by a seeded generator.

The same generator gives the same mutant on every machine. What is put in is what people and programs get
wrong: numbers at the edge of what a float holds, units that do not belong, quotes that never close, a line
twice, a piece of another file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from typing import Final, TypeVar

import numpy as np

__all__ = ["mutated_bytes", "mutated_table", "mutated_toml", "thinned"]

_T = TypeVar("_T")

NUMBERS: Final = (
    "0",
    "-0.0",
    "1",
    "-1",
    "1e-308",
    "5e-324",
    "-5e-324",
    "2.2250738585072014e-308",
    "1e308",
    "-1e308",
    "1.7976931348623157e308",
    "nan",
    "inf",
    "-inf",
    "9" * 400,
    "-" + "9" * 400,
    "9" * 4500,
    "1.25e-05",
    "1e-9",
    "1e-6",
    "1e-3",
    "0.001",
    "1e-160",
    "1e160",
    "1e16",
    "9007199254740993",
    "18446744073709551616",
    "-9223372036854775809",
    "2000",
    "1999.9999999999998",
    "-2000",
    "1e6",
    "0x7fffffff",
    "0b1",
    "1_000",
    "0.1",
    "0.30000000000000004",
)
_TOML_VALUES: Final = (
    *(f'"{number} mm"' for number in ("1e-308", "5e-324", "1e308", "nan", "0", "-1", "1e-7", "9" * 40)),
    *(
        f'"{number} in"'
        for number in ("1e-308", "5e-324", "1/64", "1/0", "1 1/2", "0/7", "2-3/4", "1/" + "9" * 29)
    ),
    '"5e-324 g"',
    '"1e-320 kg"',
    '"5e-324 deg"',
    '"1e400 mm"',
    '"1/3"',
    '"1 / 3"',
    '"3 mm / 5e-324"',
    '"1e308 * 1e308"',
    '"1e-200 * 1e-200"',
    '"sqrt(0 - 1)"',
    '"tan(90 deg)"',
    '"sin(1e300 deg)"',
    '"abs(0 - 5e-324)"',
    '"min(1, 2 mm, 3 in)"',
    '"' + "(" * 60 + "1" + ")" * 60 + '"',
    '"' + "-" * 90 + '1"',
    '"length + 1"',
    '"a"',
    '""',
    '" "',
    '"none"',
    '"\\u0000"',
    '"\\u202e\\u200b"',
    '"=1+1"',
    '";=1+1"',
    '"../../../etc"',
    '"/"',
    '"."',
    '"' + "n" * 300 + '"',
    '"' + "/" * 300 + '"',
    '"%s {min} {0} {min!r} {x:>999999999}"',
    '"{min.__class__}"',
    "true",
    "false",
    "[]",
    "{}",
    "[[]]",
    "[0, 0]",
    "[1e-308, 1e308]",
    "[0, 0, 0]",
    "[[0, 0], [0, 0]]",
    "[true, false]",
    '["a", "b"]',
    "{ to = [0, 0] }",
    "{ a = { b = 1 } }",
    "1979-05-27T07:32:00Z",
    "1979-05-27",
    "07:32:00",
)
_RULE: Final = '[[rule]]\nclause = "{}"\nmeasure = {}\n{}\nfails = "{}"\nreason = "Because."\n'
_STOCK: Final = '[[stock]]\nshelf = "{}"\nid = "z-one"\nlike = "{}"\n{}\nsource = "the sheet"\n'
_TOML_LINES: Final = (
    'units = "in"',
    'units = "cm"',
    '[dimensions]\na = 5e-324\nb = "a / 3"\nc = "b * b"',
    '[dimensions]\nlength = "1e-300 mm"\nwide = "length * 2"',
    "[[profile.window]]\ncircle = [150, 15]\ndiameter = 1e-6",
    "[[profile.window]]\ncircle = [150, 15]\ndiameter = 6",
    "[[profile.window]]\npoints = [[100, 8], [130, 8], { to = [130, 14], round = 1e-308 }]",
    "[[profile.window]]\npoints = [[99, 8], { to = [130, 8], round = 2 }, { to = [115, 15], smooth = true }]",
    "[[plan.window]]\ncircle = [120, 0]\ndiameter = 10",
    "[[plan.window]]\npoints = [[100, -4], [140, -4], [140, 4], [100, 4]]",
    '[[screw_eye]]\nx = 100\noffset = "1e-300 mm"',
    "[edges]\nround = 20",
    "[edges]\nround = 5e-324",
    "[bore]\ndiameter = 19\ndepth = 50\nheight = 20\nangle = 44.999",
    "[blank]\nlength = 300\nheight_nose = 20\nheight_tail = 60\nwidth = 42",
    "[[rule]]",
    "[[change]]",
    '[reading]\nresolution = "5e-324 mm"',
    '[reading]\nresolution = "1e5 mm"',
    "[score]\nfull = 1e300\nleast = 5e-324",
    "[kit]\nwashers = 9999999999",
    'track_length = "40 ft"',
    'track_length = "5e-324 ft"',
    '[reading]\nresolution = "0.1 mm"\ndoubt = "fail"',
    _STOCK.format("wheels", "wheel-front-32", "diameter = 31.5"),
    _STOCK.format("wheels", "wheel-rear-34", "diameter = 5e-324"),
    _STOCK.format("cartridges", "cartridge-8g", "length = 1e308\ncharge = 9"),
    _STOCK.format("axles", "axle-3", 'diameter = "1/64 in"'),
    _STOCK.format("bearings", "straw-4", "outer = 3\ninner = 3.5"),
    _STOCK.format("screw-eyes", "screw-eye-small", 'wire = "1e-300 mm"'),
    _RULE.format("Z3", '["front_wheel.diameter", "rear_wheel.diameter"]', "min = 5e-324", "points per unit")
    + 'points = 1e6\nper = "1e-4 mm"\ntogether = "each"\ntimes = "wheel"\nmost = 5e-324\n',
    _RULE.format("Z4", '["bore.wall_top", "bore.wall_bottom"]', 'min = 3\nfirst = "5e-324 mm"', "no award")
    + 'award = "best looking"\n',
    _RULE.format("Z5", '"car.mass"', "min = 90", "ballast") + 'ballast = "5e-324 g"\nper = "1e-300 g"\n',
    _RULE.format("Z6", '"body.length"', "min = 100\nmax = 1e6", "disqualify") + 'accept = "it is so"\n',
    'together = "each"',
    'times = "wheel"',
    'first = "20 mm"',
    'past = "1e-9 mm"',
    'doubt = "for the car"',
    'fails = ["points once", "no award"]\naward = "fastest"',
    'accept = "1e308"',
    _RULE.format("Z1", '"body.length"', "min = 5e-324", "points per unit")
    + 'points = 1e6\nper = "5e-324 mm"\n',
    _RULE.format("Z2", '"car.mass"', 'min = "1e-300 g"\nmax = "1e-299 g"', "disqualify"),
)
_CELLS: Final = (
    *NUMBERS[:20],
    "",
    " ",
    "1,5",
    "1.5",
    "1.500,25",
    "-",
    "=1+1",
    ";=1+1",
    "'=1+1",
    "@SUM(A1)",
    "yes",
    "no",
    "?",
    "Kestrel",
    "kestrel",
    "KESTREL ",
    "Nobody",
    "x" * 300,
    "x" * 40_000,
    '"',
    '""',
    '"a\nb"',
    '"a;b"',
    "\u202e",
    "\u0661\u0662",
    "١٢",
    "²",
    "1e5",
    "12 g",
    "12g@0.1g",
    "12@0",
    "12@5e-324",
    "3 ft",
    "1 5/8 in",
    "2020-01-01T00:00:00+99:99",
    "2020-01-01T00:00:00+00:00",
    "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-23:59",
    "2020-13-45",
    "1e308 s",
    "[]",
    "{}",
    '"{""a"": NaN}"',
    "5=1.2; 10=2.2",
    "5:1e308;10:nan",
    "finished",
    "blank",
    "N",
    "\ufeff",
    "\ud800".encode("utf-8", "surrogatepass").decode("utf-8", "replace"),
)
_LETTERS: Final = (
    *"\"'[]{}=,.#\n\r\t -+eE0159\\/_;:@\u00a0\u2028\u200b\ufeffé½°×",
    '"""',
    "'''",
    "[[",
    "\x00",
)
_NUMBER: Final = re.compile(r"(?<![\w.])[-+]?\d[\d_]*(?:\.\d+)?(?:[eE][-+]?\d+)?")
_VALUE: Final = re.compile(r"(?m)(?<== )[^\n#{}]+")


def _one(chance: np.random.Generator, of: Sequence[_T]) -> _T:
    return of[int(chance.integers(len(of)))]


def _changed(
    chance: np.random.Generator, text: str, ways: Sequence[Callable[[np.random.Generator, str], str]]
) -> str:
    for _ in range(1 + int(chance.integers(4)) * int(chance.integers(2))):
        text = _one(chance, ways)(chance, text)
    return text


def _at(chance: np.random.Generator, text: str) -> int:
    return int(chance.integers(len(text) + 1))


# ---------------------------------------------------------------- TOML


def mutated_toml(chance: np.random.Generator, seeds: Sequence[str]) -> str:
    """One of the texts, changed in one to four places; now and then with lines of another one."""
    text = _one(chance, seeds)
    if chance.integers(40) == 0:
        lines = _one(chance, seeds).splitlines(keepends=True)
        start = int(chance.integers(len(lines) + 1))
        at = _at(chance, text)
        text = text[:at] + "".join(lines[start : start + 1 + int(chance.integers(8))]) + text[at:]
    return _changed(chance, text, _TOML_WAYS)


def thinned(chance: np.random.Generator, text: str, part: str) -> str:
    """The text with a few of its tables `[[part]]` alone: quicker to read, and as good to break."""
    head, *rest = text.split(f"[[{part}]]")
    if len(rest) < 6 or chance.integers(5) == 0:
        return text
    first = int(chance.integers(len(rest) - 4))
    return f"[[{part}]]".join((head, *rest[first : first + 4]))


def _hostile_number(chance: np.random.Generator, text: str) -> str:
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    place = _one(chance, found)
    return text[: place.start()] + _one(chance, NUMBERS) + text[place.end() :]


def _near_number(chance: np.random.Generator, text: str) -> str:
    """A number a little or a lot off, its sign turned, or that of another place: still a car, often."""
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    place = _one(chance, found)
    value = float(place[0].replace("_", ""))
    if not math.isfinite(value):
        return text
    how = int(chance.integers(7))
    if how == 0:
        new = value * 10.0 ** float(chance.integers(-12, 4))
    elif how == 1:
        new = -value
    elif how == 2:
        new = value + float(chance.normal()) * 10.0 ** float(chance.integers(-13, 2))
    elif how == 3:
        new = float(_one(chance, found)[0].replace("_", ""))
    elif how == 4:
        new = value * float(chance.uniform(0.3, 3.0))
    elif how == 5:
        new = float(np.nextafter(value, float(chance.choice([-1e9, 1e9]))))
    else:
        new = float(round(value))
    return f"{text[: place.start()]}{new!r}{text[place.end() :]}"


def _hostile_value(chance: np.random.Generator, text: str) -> str:
    found = list(_VALUE.finditer(text))
    if not found:
        return text
    place = _one(chance, found)
    return text[: place.start()] + _one(chance, _TOML_VALUES) + text[place.end() :]


def _quoted_number(chance: np.random.Generator, text: str) -> str:
    found = list(_NUMBER.finditer(text))
    if not found:
        return text
    place = _one(chance, found)
    return text[: place.start()] + _one(chance, _TOML_VALUES) + text[place.end() :]


def _lines(chance: np.random.Generator, text: str) -> str:
    lines = text.splitlines(keepends=True)
    if not lines:
        return text
    at, other = int(chance.integers(len(lines))), int(chance.integers(len(lines)))
    how = int(chance.integers(4))
    if how == 0:
        del lines[at]
    elif how == 1:
        lines.insert(other, lines[at])
    elif how == 2:
        lines[at], lines[other] = lines[other], lines[at]
    else:
        del lines[at : at + 1 + int(chance.integers(6))]
    return "".join(lines)


def _extra_lines(chance: np.random.Generator, text: str) -> str:
    lines = text.splitlines(keepends=True)
    at = len(lines) if chance.integers(2) else int(chance.integers(len(lines) + 1))
    lines.insert(at, "\n" + _one(chance, _TOML_LINES) + "\n")
    return "".join(lines)


def _letters(chance: np.random.Generator, text: str) -> str:
    at = _at(chance, text)
    how = int(chance.integers(3))
    if how == 0:
        return text[:at] + text[at + 1 + int(chance.integers(3)) :]
    return text[:at] + _one(chance, _LETTERS) + text[at + how - 1 :]


def _point_kind(chance: np.random.Generator, text: str) -> str:
    """A point reached another way."""
    found = list(re.finditer(r"(?m)^\s*\[(-?[\d.]+), (-?[\d.]+)\],", text))
    if not found:
        return text
    place = _one(chance, found)
    extra = _one(
        chance,
        (
            "smooth = true",
            "smooth = true, tangent = true",
            "round = 3",
            "round = 1e-308",
            "round = 1e-7",
            "radius = 50",
            "radius = 1e-300",
            "radius = 1e3, long = true",
            "radius = 40, hollow = true",
            "through = [100, 20]",
            "handles = [[50, 10], [60, 12]]",
            "handles = [[5e-324, 1e-300], [1, 1]]",
        ),
    )
    return f"{text[: place.start()]}\n  {{ to = [{place[1]}, {place[2]}], {extra} }},{text[place.end() :]}"


def _inches(_: np.random.Generator, text: str) -> str:
    return text.replace('units = "mm"', 'units = "in"')


_TOML_WAYS: Final = (
    _hostile_number,
    _hostile_number,
    _near_number,
    _near_number,
    _near_number,
    _hostile_value,
    _quoted_number,
    _lines,
    _extra_lines,
    _letters,
    _point_kind,
    _inches,
)


# ---------------------------------------------------------------- tables


def mutated_table(chance: np.random.Generator, seeds: Sequence[str]) -> bytes:
    """One of the tables, changed in one to four places, saved in one way or another."""
    text = _changed(chance, _one(chance, seeds), _TABLE_WAYS)
    how = int(chance.integers(24))
    if how == 0:
        return "\ufeff".encode() + text.encode("utf-8", "replace")
    if how == 1:
        return text.encode("utf-16", "replace")
    if how == 2:
        return text.encode("latin-1", "replace")
    if how == 3:
        return mutated_bytes(chance, text.encode("utf-8", "replace"))
    return text.encode("utf-8", "replace")


def _cell(chance: np.random.Generator, text: str) -> str:
    rows = text.split("\r\n") if "\r\n" in text else text.split("\n")
    at = int(chance.integers(len(rows)))
    cells = rows[at].split(",")
    cells[int(chance.integers(len(cells)))] = _one(chance, _CELLS)
    rows[at] = ",".join(cells)
    return "\r\n".join(rows)


def _column(chance: np.random.Generator, text: str) -> str:
    rows = [row.split(",") for row in text.split("\n")]
    at, how = int(chance.integers(max(map(len, rows)))), int(chance.integers(3))
    for row in rows:
        if at < len(row):
            if how == 0:
                del row[at]
            elif how == 1:
                row.insert(at, row[at])
            else:
                row.append(row.pop(at))
    return "\n".join(",".join(row) for row in rows)


def _other_mark(chance: np.random.Generator, text: str) -> str:
    mark = _one(chance, (";", "\t", "|", "=", '"', " ", "\u00a0"))
    head = _one(chance, ("", "", f"sep={mark}\n", "sep=\n", 'sep="\r\n', "sep=;;\n", "SEP=,\n"))
    return head + text.replace(",", mark)


def _line_ends(chance: np.random.Generator, text: str) -> str:
    return text.replace("\r\n", "\n").replace("\n", _one(chance, ("\r", "\n", "\r\n", "\n\n", "\n\r")))


_TABLE_WAYS: Final = (
    _cell,
    _cell,
    _cell,
    _hostile_number,
    _near_number,
    _column,
    _lines,
    _letters,
    _other_mark,
    _line_ends,
)


# ---------------------------------------------------------------- bytes


def mutated_bytes(chance: np.random.Generator, data: bytes) -> bytes:
    """The bytes with a few of them changed, a stretch emptied, moved or taken away, or the end cut off."""
    made = bytearray(data)
    for _ in range(1 + int(chance.integers(3))):
        if not made:
            break
        at, long = int(chance.integers(len(made))), 1 + int(chance.integers(64))
        how = int(chance.integers(7))
        if how == 0:
            made[at] ^= 1 << int(chance.integers(8))
        elif how == 1:
            made[at] = int(chance.integers(256))
        elif how == 2:
            made[at : at + long] = bytes(len(made[at : at + long]))
        elif how == 3:
            made[at : at + long] = chance.bytes(len(made[at : at + long]))
        elif how == 4:
            other = int(chance.integers(len(made)))
            piece = made[other : other + long]
            made[at : at + len(piece)] = piece
        elif how == 5:
            del made[at : at + long]
        else:
            del made[max(1, len(made) - long * long) :]
    return bytes(made)
