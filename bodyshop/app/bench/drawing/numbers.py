"""The numbers of a text as a hand changes them: each in its own notation, or the dimension behind it.

A number that the file writes out is replaced. One that is worked out from named dimensions is changed
through the dimension that it rests on, where it rests on one only and the arithmetic can be followed back;
otherwise a sentence says why not.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Final

from bodyshop.car.design.table import Quantities
from bodyshop.car.editing.notation import DigitStyle, Notation, read_notation, value_of
from bodyshop.car.expressions import parse
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.toml import KeyPath, Source, dotted
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length, parse_unit
from bodyshop.rules.remedies.knobs import patched, writes_tape

__all__ = ["Numbers", "RefusedError"]

_FINEST: Final = {
    LengthUnit.MM: Fraction(1, 100),
    LengthUnit.CM: Fraction(1, 1000),
    LengthUnit.IN: Fraction(1, 10_000),
}
"""What is written of a length by hand: a hundredth of a millimetre, or finer."""

_TAPE: Final = Fraction(1, 64)
_FINEST_TAPE: Final = 128
_PROBE_MM: Final = 0.5
_STILL_MM: Final = 1e-7
_MET_MM: Final = 1e-4
_ROUNDS: Final = 6


class RefusedError(Exception):
    """A number that cannot be changed by hand, and why, as a sentence for the person who tried."""


@dataclass(frozen=True, slots=True)
class _Written:
    """A number that the file writes out, and how."""

    path: KeyPath
    value: Fraction
    notation: Notation

    @property
    def unit(self) -> LengthUnit:
        """The unit it is written in."""
        return min(LengthUnit, key=lambda each: abs(each.mm - self.notation.mm_per_unit))


class Numbers:
    """The lengths of one text. Changes are gathered in `texts`, by path, and show in the values at once."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.values: Mapping[str, object] = source.values
        self.texts: dict[KeyPath, str] = {}
        asked = source.values.get("units", "mm")
        try:
            self.unit = parse_unit(asked) if isinstance(asked, str) else LengthUnit.MM
        except QuantityError:
            self.unit = LengthUnit.MM

    @cached_property
    def tape(self) -> bool:
        """Whether inches are written as tape fractions."""
        return writes_tape(self.source.values)

    def has(self, path: KeyPath) -> bool:
        """Whether the file says anything at a path."""
        return self.raw(path) is not None

    def raw(self, path: KeyPath) -> object:
        """What the file holds at a path; None where it holds nothing."""
        values: object = self.values
        for part in path:
            if isinstance(values, Mapping):
                values = values.get(str(part))
            elif isinstance(values, list) and isinstance(part, int) and 0 <= part < len(values):
                values = values[part]
            else:
                return None
        return values

    def mm(self, path: KeyPath) -> float | None:
        """A length of the file; None where it has none there."""
        value = self.raw(path)
        if value is None or isinstance(value, list | dict):
            return None
        return _length(self._quantities(self.values), value)

    def old_text(self, path: KeyPath) -> str:
        """What stands in the file at a path, without quotes."""
        where = self.source.value_range(path)
        return "" if where is None else self.source.text[slice(*where)].strip("\"'")

    # ------------------------------------------------------------ changing

    def put(self, path: KeyPath, target_mm: Fraction) -> None:
        """Make a length another one, as near as its notation writes it.

        Raises:
            RefusedError: it cannot be changed by hand.
        """
        written = self._written(path)
        if written is not None:
            self._write(written, target_mm / Fraction(*written.unit.ratio))
        else:
            self._through_dimension(path, float(target_mm))

    def add(self, path: KeyPath, by_mm: Fraction) -> None:
        """Make a length longer by just so much. Raises `RefusedError`."""
        written = self._written(path)
        if written is not None:
            self._write(written, written.value + by_mm / Fraction(*written.unit.ratio), exact=True)
            return
        now = self.mm(path)
        if now is None:
            raise RefusedError(f"{dotted(path)} is no length.")
        self._through_dimension(path, now + float(by_mm))

    def put_typed(self, path: KeyPath, typed: str) -> None:
        """Make a length what a person typed. A unit that the number is not written in stays as typed.

        Raises `RefusedError`, `QuantityError`.
        """
        length = parse_length(typed, self.unit)
        value = value_of(typed, QuantityKind.LENGTH, self.unit)
        written = self._written(path)
        if written is None:
            self._through_dimension(path, length)
        elif value is not None and abs(float(value) * written.unit.mm - length) < _STILL_MM:
            self._write(written, value, exact=True)
        else:
            self._set(path, typed.strip())

    def root(self, path: KeyPath) -> KeyPath | None:
        """The path that a change of the length at `path` changes; None where it cannot be changed."""
        if self._written(path) is not None:
            return path
        roots = self._roots_of(path)
        return ("dimensions", roots[0]) if len(roots) == 1 else None

    def followers(self, before: Numbers, besides: Iterable[KeyPath]) -> int:
        """How many other lengths have moved since `before` because a dimension was changed."""
        skip = set(besides)
        count = 0
        for path, text in _texts(self.values, ()):
            if (
                path in skip
                or path[0] == "dimensions"
                or value_of(text, QuantityKind.LENGTH, self.unit) is not None
            ):
                continue
            old, new = before.mm(path), self.mm(path)
            count += old is not None and new is not None and abs(new - old) > _STILL_MM
        return count

    def _written(self, path: KeyPath) -> _Written | None:
        where = self.source.value_range(path)
        value = self.raw(path)
        if where is None or value is None:
            return None
        raw = self.source.text[slice(*where)]
        original = _at(self.source.values, path)
        # A plain number of a file in mm is none of a tape's.
        tape = (self.unit is LengthUnit.IN or isinstance(original, str)) and self.tape
        notation = read_notation(raw, original, QuantityKind.LENGTH, self.unit, tape=tape)
        number = value_of(value, QuantityKind.LENGTH, self.unit)
        return None if notation is None or number is None else _Written(path, number, notation)

    def _write(self, written: _Written, value: Fraction, *, exact: bool = False) -> None:
        if written.notation.style is DigitStyle.TAPE:
            if not exact or _FINEST_TAPE % value.denominator:
                value = _nearest(value, _TAPE)
        elif not exact or _places(value) > 4:
            value = _nearest(value, _FINEST[written.unit])
        text = written.notation.text(value)
        if value_of(written.notation.parsed(text), QuantityKind.LENGTH, self.unit) != written.value:
            self._set(written.path, text, written.notation)

    def _set(self, path: KeyPath, text: str, notation: Notation | None = None) -> None:
        value: object = text if notation is None else notation.parsed(text)
        self.texts[path] = text
        self.values = patched(self.values, {path: value})

    # ------------------------------------------------------------ through a named dimension

    def _through_dimension(self, path: KeyPath, target_mm: float) -> None:
        roots = self._roots_of(path)
        if len(roots) != 1:
            raise RefusedError(self._why_worked_out(path, roots))
        root: KeyPath = ("dimensions", roots[0])
        if root in self.texts:
            return  # the other axis has settled it
        written = self._written(root)
        assert written is not None  # noqa: S101 - what a root is
        solved = self._solve(path, root, float(written.value), target_mm)
        if solved is None:
            raise RefusedError(
                f'This is worked out as "{self.raw(path)}", and no other {roots[0]} brings it there: '
                "change it in the text."
            )
        self._write(written, Fraction(solved).limit_denominator(10**9))

    def _solve(self, path: KeyPath, root: KeyPath, value: float, target_mm: float) -> float | None:
        """The dimension that makes the length at `path` come to `target_mm`: a secant, exact where the
        length follows the dimension evenly; None where it never gets there.
        """
        step = _PROBE_MM / self.unit.mm

        def off(at: float) -> float | None:
            length = self._tried(path, {root: at})
            return None if length is None else length - target_mm

        a, b = value, value + step
        fa, fb = off(a), off(b)
        for _ in range(_ROUNDS):
            if fa is None or fb is None:
                return None
            if abs(fb) < _MET_MM / 100:
                return b
            if abs(fb - fa) < _STILL_MM:
                return None
            a, b, fa = b, b - fb * (b - a) / (fb - fa), fb
            fb = off(b)
        return b if fb is not None and abs(fb) < _MET_MM else None

    def _roots_of(self, path: KeyPath) -> list[str]:
        """The dimensions, plain numbers, that the length at `path` follows, in the file's order."""
        now = self.mm(path)
        dimensions = self.values.get("dimensions")
        value = self.raw(path)
        if now is None or not isinstance(value, str) or not isinstance(dimensions, Mapping):
            return []
        roots: list[str] = []
        for name in _reached(value, dimensions):
            number = value_of(dimensions.get(name), QuantityKind.LENGTH, self.unit)
            if number is None:
                continue
            step = _PROBE_MM / self.unit.mm
            for way in (step, -step):
                moved = self._tried(path, {("dimensions", name): float(number) + way})
                if moved is not None and abs(moved - now) > _STILL_MM:
                    roots.append(name)
                    break
        return roots

    def _tried(self, path: KeyPath, changes: Mapping[KeyPath, float]) -> float | None:
        """The length at `path` with dimensions of other sizes, each in the unit it is written in."""
        tried: dict[KeyPath, object] = {}
        for root, number in changes.items():
            written = self._written(root)
            if written is None:
                return None
            suffix = written.notation.suffix
            tried[root] = f"{number!r} {suffix}" if suffix else number
        values = patched(self.values, tried)
        return _length(self._quantities(values), _at(values, path))

    def _why_worked_out(self, path: KeyPath, roots: list[str]) -> str:
        text = self.raw(path)
        if len(roots) > 1:
            names = listed(roots)
            return f'This is worked out as "{text}" and rests on {names}: change one of them in the text.'
        if isinstance(text, str) and not roots:
            dimensions = self.values.get("dimensions")
            known = dimensions if isinstance(dimensions, Mapping) else {}
            if _reached(text, known):
                return f'This is worked out as "{text}", which no single dimension moves from where it is.'
            return f'This is arithmetic, "{text}": change it in the text.'
        return f"{dotted(path)} is worked out from {roots[0]}." if roots else f"There is no {dotted(path)}."

    def _quantities(self, values: Mapping[str, object]) -> Quantities:
        if values is self.source.values:
            return self._first
        dimensions = values.get("dimensions")
        return Quantities(self.unit, dimensions if isinstance(dimensions, Mapping) else {})

    @cached_property
    def _first(self) -> Quantities:
        dimensions = self.source.values.get("dimensions")
        return Quantities(self.unit, dimensions if isinstance(dimensions, Mapping) else {})


def _length(quantities: Quantities, value: object) -> float | None:
    try:
        return quantities.length(value)
    except QuantityError:
        return None


def _at(values: object, path: KeyPath) -> object:
    for part in path:
        if isinstance(values, Mapping):
            values = values.get(str(part))
        elif isinstance(values, list) and isinstance(part, int) and 0 <= part < len(values):
            values = values[part]
        else:
            return None
    return values


def _reached(text: str, dimensions: Mapping[str, object]) -> list[str]:
    """Every dimension that a text's arithmetic uses, by itself or through others, in the file's order."""
    keys = {unicodedata.normalize("NFC", key): key for key in dimensions}
    found: set[str] = set()
    waiting: list[object] = [text]
    while waiting:
        value = waiting.pop()
        if not isinstance(value, str):
            continue
        try:
            names = parse(value).names
        except QuantityError:
            continue
        for name in names:
            key = keys.get(name)
            if key is not None and key not in found:
                found.add(key)
                waiting.append(dimensions[key])
    return [key for key in dimensions if key in found]


def _texts(values: object, above: KeyPath) -> Iterable[tuple[KeyPath, str]]:
    if isinstance(values, Mapping):
        for key, value in values.items():
            yield from _texts(value, (*above, str(key)))
    elif isinstance(values, list):
        for index, value in enumerate(values):
            yield from _texts(value, (*above, index))
    elif isinstance(values, str):
        yield above, values


def _nearest(value: Fraction, grid: Fraction) -> Fraction:
    return round(value / grid) * grid


def _places(value: Fraction) -> int:
    """Decimals it takes to write a number; many where it cannot be written."""
    for places in range(7):
        if (value * 10**places).denominator == 1:
            return places
    return 99
