"""The one way to change a number of a design's text: in its own notation, or through the dimension behind it.

A number that the file writes out is replaced. One that is worked out from named dimensions is changed
through the dimension that it rests on, where it rests on one only and the arithmetic can be followed back;
otherwise a sentence says why not. Whatever is not changed stays as its writer had it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Final

from bodyshop.car.editing.notation import DigitStyle, Notation, read_notation, value_of
from bodyshop.car.editing.quantities import WorkedOut, dimensions_behind, lengths_of, writes_tape
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.toml import KeyPath, Source, dotted
from bodyshop.foundation.toml.splice import patched, spliced_source, value_at
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length, parse_unit

__all__ = ["Numbers", "RefusedError", "WrittenNumber"]

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
    """A number that cannot be changed, and why, as a sentence for the person who tried."""


@dataclass(frozen=True, slots=True)
class WrittenNumber:
    """A number that the file writes out: `text` as it stands there, without quotes, and its value in the unit
    it is written in.
    """

    path: KeyPath
    text: str
    value: Fraction
    notation: Notation

    @property
    def unit(self) -> LengthUnit:
        """The unit that a length is written in."""
        return min(LengthUnit, key=lambda each: abs(each.mm - self.notation.mm_per_unit))

    def another(self, value: Fraction) -> object:
        """What the file's reader makes of another value that is written in its place."""
        return self.notation.parsed(self.notation.text(value))


class Numbers:
    """The numbers of one text. Changes are gathered in `texts`, by path, and show in the values at once."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.values: Mapping[str, object] = source.values
        self.texts: dict[KeyPath, str] = {}
        self._added: dict[KeyPath, object] = {}
        asked = source.values.get("units", "mm")
        try:
            self.unit = parse_unit(asked) if isinstance(asked, str) else LengthUnit.MM
        except QuantityError:
            self.unit = LengthUnit.MM
        self._of: Mapping[str, object] = self.values
        self._length = lengths_of(self.values, self.unit)

    @cached_property
    def tape(self) -> bool:
        """Whether inches are written as tape fractions."""
        return writes_tape(self.source.values)

    def has(self, path: KeyPath) -> bool:
        """Whether the file says anything at a path."""
        return self.raw(path) is not None

    def raw(self, path: KeyPath) -> object:
        """What the file holds at a path; None where it holds nothing."""
        return value_at(self.values, path)

    def mm(self, path: KeyPath) -> float | None:
        """A length of the file; None where it has none there."""
        if self._of is not self.values:
            self._of, self._length = self.values, lengths_of(self.values, self.unit)
        return self._length(self.raw(path))

    def old_text(self, path: KeyPath) -> str:
        """What stands in the file at a path, without quotes."""
        return self._old(path).strip("\"'")

    def _old(self, path: KeyPath) -> str:
        where = self.source.value_range(path)
        return "" if where is None else self.source.text[slice(*where)]

    def written(self, path: KeyPath, kind: QuantityKind = QuantityKind.LENGTH) -> WrittenNumber | None:
        """The number at a path; None where the file writes out none: it has nothing there, or arithmetic."""
        raw, value = self._old(path), self.raw(path)
        if not raw or value is None:
            return None
        original = value_at(self.source.values, path)
        # A plain number of a file in mm is none of a tape's.
        tape = (self.unit is LengthUnit.IN or isinstance(original, str)) and self.tape
        notation = read_notation(raw, original, kind, self.unit, tape=tape)
        number = value_of(value, kind, self.unit)
        if notation is None or number is None:
            return None
        return WrittenNumber(path, raw[1:-1] if notation.quoted else raw, number, notation)

    def fresh_text(self, mm: float, *, fine: bool = False) -> str:
        """A new length as this file would write it; with `fine` in decimals where it has a tape's marks."""
        value = Fraction(mm) / Fraction(*self.unit.ratio)
        tape = self.unit is LengthUnit.IN and self.tape and not fine
        style = DigitStyle.TAPE if tape else DigitStyle.DECIMAL
        value = _nearest(value, _TAPE if tape else _FINEST[self.unit])
        text = Notation(QuantityKind.LENGTH, style, False, "", " ", 0, self.unit.mm, ()).text(value)
        return f'"{text}"' if "/" in text else text

    # ------------------------------------------------------------ changing

    def put(self, path: KeyPath, target_mm: Fraction) -> None:
        """Make a length another one, as near as its notation writes it.

        Raises:
            RefusedError: it cannot be changed by hand.
        """
        written = self.written(path)
        if written is not None:
            self._write(written, target_mm / Fraction(*written.unit.ratio))
        else:
            self._through_dimension(path, float(target_mm))

    def add(self, path: KeyPath, by_mm: Fraction) -> None:
        """Make a length longer by just so much. Raises `RefusedError`."""
        written = self.written(path)
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
        written = self.written(path)
        if written is None:
            self._through_dimension(path, length)
        elif value is not None and abs(float(value) * written.unit.mm - length) < _STILL_MM:
            self._write(written, value, exact=True)
        else:
            self._set(path, typed.strip())

    def root(self, path: KeyPath) -> KeyPath | None:
        """The path that a change of the length at `path` changes; None where it cannot be changed."""
        if self.written(path) is not None:
            return path
        roots = self._roots_of(path)
        return ("dimensions", roots[0]) if len(roots) == 1 else None

    def put_text(self, path: KeyPath, text: str) -> None:
        """Put a text into the place of a number or word, whatever stands there; or where nothing does, as a
        number, true, false or a word. Whether it means anything is for the reader of designs to say.

        Raises:
            RefusedError: a table or a list is there, or no place for a value.
        """
        now = self.raw(path)
        if now is None or path in self._added:
            self._added[path] = _typed(text)
            try:
                self.values = patched(self.values, {path: _typed(text)})
            except ValueError:
                raise RefusedError(f"There is no {dotted(path)}.") from None
        elif isinstance(now, bool | Mapping | list):
            raise RefusedError(f"There is no number or word at {dotted(path)}.")
        else:
            self._set(path, text)

    def changed(self) -> Source:
        """The file with all the changes. What it did not say before is in its values alone.

        Raises:
            RefusedError: a text cannot stand where it was put.
        """
        try:
            source = spliced_source(self.source, self.texts) if self.texts else self.source
        except ValueError:
            where = " and ".join(dotted(path) for path in self.texts)
            raise RefusedError(f"This cannot stand for {where}: change it in the text.") from None
        if self._added:
            source = source.with_values(source.text, patched(source.values, self._added), ())
        return source

    def followers(self, before: Numbers, besides: Iterable[KeyPath]) -> int:
        """How many other lengths have moved since `before` because a dimension was changed."""
        moved = WorkedOut(before.values, self.unit).moved_mm(self.values)
        skip = set(besides)
        return sum(path not in skip and abs(mm) > _STILL_MM for path, mm in moved.items())

    def _write(self, written: WrittenNumber, value: Fraction, *, exact: bool = False) -> None:
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
        written = self.written(root)
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
        for name in dimensions_behind(value, dimensions):
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
            written = self.written(root)
            if written is None:
                return None
            suffix = written.notation.suffix
            tried[root] = f"{number!r} {suffix}" if suffix else number
        values = patched(self.values, tried)
        return lengths_of(values, self.unit)(value_at(values, path))

    def _why_worked_out(self, path: KeyPath, roots: list[str]) -> str:
        text = self.raw(path)
        if len(roots) > 1:
            names = listed(roots)
            return f'This is worked out as "{text}" and rests on {names}: change one of them in the text.'
        if isinstance(text, str) and not roots:
            dimensions = self.values.get("dimensions")
            known = dimensions if isinstance(dimensions, Mapping) else {}
            if dimensions_behind(text, known):
                return f'This is worked out as "{text}", which no single dimension moves from where it is.'
            return f'This is arithmetic, "{text}": change it in the text.'
        return f"{dotted(path)} is worked out from {roots[0]}." if roots else f"There is no {dotted(path)}."


def _typed(text: str) -> object:
    """A value as a file would have it: a number, true or false, or a word."""
    if text in ("true", "false"):
        return text == "true"
    for kind in (int, float):
        with suppress(ValueError):
            return kind(text)
    return text


def _nearest(value: Fraction, grid: Fraction) -> Fraction:
    return round(value / grid) * grid


def _places(value: Fraction) -> int:
    """Decimals it takes to write a number; many where it cannot be written."""
    for places in range(7):
        if (value * 10**places).denominator == 1:
            return places
    return 99
