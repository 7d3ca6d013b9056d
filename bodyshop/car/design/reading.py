"""Checks what a file says against the table of fields, collecting every problem, and resolves quantities.

`Reader.table` reads one table of the file into a `DesignTable`: lengths in mm, masses in g, angles in rad. A
key with a fault has no value there, but counts as given, so that nothing complains about it twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from bodyshop.car.design.fields import NONE, NOTHING_MM, REACH_MM, Field, KeyKind, Shelves
from bodyshop.car.design.model import KeyPath
from bodyshop.car.design.table import DesignTable, Quantities
from bodyshop.car.design.wording import bounds, home_of, usual_name
from bodyshop.foundation.problems import Problem, Severity, Span, nearest
from bodyshop.foundation.text.values import first_few, is_number, quoted, quoted_words, shortened
from bodyshop.foundation.toml import Source
from bodyshop.foundation.units import (
    QuantityError,
    format_length,
    format_mass,
    parse_angle,
    parse_mass,
    parse_unit,
)
from bodyshop.geometry.outlines import Point

__all__ = ["Reader"]

_TABLES = (KeyKind.TABLE, KeyKind.TABLES)
_NAMES_SHOWN = 8
_TWO_POINTS = "two points, [[x, y], [x, y]]"


class Reader:
    """Reads tables and gathers what is wrong with them."""

    def __init__(self, source: Source, quantities: Quantities, shelves: Shelves | None = None) -> None:
        self.source = source
        self.shelves = shelves or Shelves()
        self.quantities = quantities
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []
        # Tables and keys that a misspelt name stands for: not to be called missing.
        self._misspelt: set[KeyPath] = set()
        self._readers: Mapping[KeyKind, Callable[[object, KeyPath, Field], object]] = {
            KeyKind.LENGTH: self.length,
            KeyKind.MASS: self._mass,
            KeyKind.ANGLE: self._angle,
            KeyKind.COUNT: self._count,
            KeyKind.TEXT: self._text,
            KeyKind.UNIT: self._unit,
            KeyKind.FLAG: self._flag,
            KeyKind.CHOICE: self._choice,
            KeyKind.STOCK: self._stock,
            KeyKind.WHEEL: self._wheel,
            KeyKind.POINT: self._point,
            KeyKind.HANDLES: self._handles,
            KeyKind.TABLE: self._table,
            KeyKind.TABLES: self._tables,
            KeyKind.POINTS: self._listed,
            KeyKind.LENGTHS: self._listed,
        }

    def fault(
        self,
        path: KeyPath,
        code: str,
        message: str,
        *,
        at_key: bool = False,
        found: str = "",
        expected: str = "",
        nearest: str = "",
        related: tuple[tuple[str, Span], ...] = (),
    ) -> None:
        """Note an error at the value (or the key) that `path` names."""
        self.problems.append(
            self.source.problem(
                path,
                code,
                message,
                at_key=at_key,
                found=found,
                expected=expected,
                nearest=nearest,
                related=related,
            )
        )

    def warn(
        self, path: KeyPath, code: str, message: str, *, at_key: bool = False, expected: str = ""
    ) -> None:
        """Note a slip that does not stop the reading."""
        self.warnings.append(
            self.source.problem(
                path, code, message, at_key=at_key, expected=expected, severity=Severity.WARNING
            )
        )

    def quantity_fault(self, path: KeyPath, error: QuantityError, *, at_key: bool = False) -> None:
        """Note that a quantity could not be read, at the very part of its text."""
        self.problems.append(self.source.quantity_problem(path, error, at_key=at_key))

    def length_text(self, length_mm: float) -> str:
        """A length in the unit of the file."""
        return format_length(length_mm, self.quantities.unit)

    # ------------------------------------------------------------ tables

    def table(self, value: object, path: KeyPath, fields: Sequence[Field]) -> DesignTable | None:
        """A table of the file, with the problems of all that is in it."""
        if not isinstance(value, dict):
            self._wrong_type(path, value, "a table")
            return None
        by_key = {field.key: field for field in fields}
        for key in value:
            if key not in by_key:
                self._unknown_key((*path, key), key, by_key)
        values: dict[str, object] = {}
        for field in fields:
            if field.key in value:
                values[field.key] = self._value(value[field.key], (*path, field.key), field)
            elif field.required:
                self._missing((*path, field.key), field)
        return DesignTable(path, frozenset(value), values)

    def _unknown_key(self, path: KeyPath, key: str, known: Mapping[str, Field]) -> None:
        close = usual_name(key, known) or nearest(key, known)
        if close:
            self._misspelt.add((*path[:-1], close))
        home = "" if close else home_of(key)
        self.fault(
            path,
            "unknown-key",
            f'"{shortened(key)}" means nothing here' + (f": it belongs in {home}" if home else ""),
            at_key=True,
            found=key,
            expected="" if close or home else f"one of {first_few(list(known), 12)}",
            nearest=close,
        )

    def _is_misspelt(self, path: KeyPath) -> bool:
        return any(path[:n] in self._misspelt for n in range(1, len(path) + 1))

    def _missing(self, path: KeyPath, field: Field) -> None:
        if self._is_misspelt(path):
            return
        header = ".".join(str(part) for part in path[:-1] if isinstance(part, str))
        saying = field.doc[0].lower() + field.doc[1:].rstrip(".")
        if field.kind in _TABLES:
            full = f"{header}.{field.key}" if header else field.key
            self.fault(path, "missing-key", f"[{full}] is missing", expected=saying)
        else:
            where = f" from [{header}]" if header and not isinstance(path[-2], int) else ""
            expected = f"{field.key} = {field.kind.value}; {saying}"
            self.fault(path, "missing-key", f"{field.key} is missing{where}", expected=expected)

    def missing(self, path: KeyPath, message: str, expected: str) -> None:
        """A key that is needed here because nothing else stands in for it."""
        if not self._is_misspelt(path):
            self.fault(path, "missing-key", message, expected=expected)

    # ------------------------------------------------------------ values

    def _value(self, value: object, path: KeyPath, field: Field) -> object:
        return self._readers[field.kind](value, path, field)

    def length(self, value: object, path: KeyPath, field: Field | None = None) -> float | None:
        """A length in mm: a number in the file's unit, or text with a unit or an expression."""
        try:
            length = self.quantities.length(value)
        except QuantityError as error:
            self.quantity_fault(path, error)
            return None
        if length is None:  # it rests on a dimension that has a problem of its own
            return None
        if abs(length) > REACH_MM:
            self.fault(
                path,
                "length-reach",
                f"{self.length_text(length)} is far beyond any car",
                found=quoted(value),
                expected=f"at most {self.length_text(REACH_MM)}",
            )
            return None
        if -NOTHING_MM < length < NOTHING_MM:
            length = 0.0
        if field is not None and not self._bounded(length, path, field, self.length_text):
            return None
        return length

    def _mass(self, value: object, path: KeyPath, field: Field) -> float | None:
        text = repr(value) if is_number(value) else value
        if not isinstance(text, str):
            self._wrong_type(path, value, "a mass", "a number of grams, or text such as 352 g")
            return None
        try:
            mass = parse_mass(text)
        except QuantityError as error:
            self.quantity_fault(path, error)
            return None
        return mass if self._bounded(mass, path, field, format_mass) else None

    def _angle(self, value: object, path: KeyPath, field: Field) -> float | None:
        text = repr(value) if is_number(value) else value
        if not isinstance(text, str):
            self._wrong_type(path, value, "an angle", "a number of degrees, or text such as 3 deg")
            return None
        try:
            angle = parse_angle(text)
        except QuantityError as error:
            self.quantity_fault(path, error)
            return None
        bounded = self._bounded(math.degrees(angle), path, field, lambda degrees: f"{degrees:.4g} deg")
        return angle if bounded else None

    def _count(self, value: object, path: KeyPath, field: Field) -> int | None:
        if isinstance(value, bool) or not isinstance(value, int):
            self._wrong_type(path, value, "a whole number")
            return None
        if abs(value) > 10**9:
            self.fault(
                path, "out-of-range", f"{field.key} is far too large", expected=bounds(field, "{:g}".format)
            )
            return None
        return value if self._bounded(value, path, field, "{:g}".format) else None

    def _text(self, value: object, path: KeyPath, field: Field) -> str | None:
        if not isinstance(value, str):
            self._wrong_type(path, value, "text", "text in quotes")
            return None
        text = value.strip()
        if not text:
            self.fault(path, "text-empty", f"{field.key} is empty", expected=field.doc.rstrip("."))
            return None
        if not text.isprintable():
            self.fault(path, "text-character", f"{field.key} holds a character that cannot be printed")
            return None
        if field.limit is not None and len(text) > field.limit:
            self.fault(
                path,
                "text-long",
                f"{field.key} is {len(text)} letters long",
                expected=f"at most {field.limit}",
            )
            return None
        return text

    def _unit(self, value: object, path: KeyPath, _field: Field) -> str | None:
        if not isinstance(value, str):
            self._wrong_type(path, value, "a unit of length", 'units = "mm", "cm" or "in"')
            return None
        try:
            return parse_unit(value).symbol
        except QuantityError as error:
            self.quantity_fault(path, error)
            return None

    def _flag(self, value: object, path: KeyPath, _field: Field) -> bool | None:
        if isinstance(value, bool):
            return value
        self._wrong_type(path, value, "true or false", "true or false, without quotes")
        return None

    def _choice(self, value: object, path: KeyPath, field: Field) -> str | None:
        if not isinstance(value, str):
            self._wrong_type(path, value, "a word", quoted_words(field.words))
            return None
        if value not in field.words:
            self.fault(
                path,
                "unknown-word",
                f'"{shortened(value)}" is not one of the words for {field.key}',
                found=value,
                expected=quoted_words(field.words),
                nearest=nearest(value, field.words),
            )
            return None
        return value

    def _stock(self, value: object, path: KeyPath, field: Field) -> str | None:
        if field.shelf is None:
            raise ValueError(f"{field.key} names no shelf")
        known = self.shelves.names(field.shelf)
        if field.may_be_none:
            known.append(NONE)
        if not isinstance(value, str):
            self._wrong_type(path, value, "a name", f"the name of one of the {field.shelf.value}")
            return None
        if value not in known:
            close = nearest(value, known)
            self.fault(
                path,
                "unknown-stock",
                f'"{shortened(value)}" is not among the {field.shelf.value}',
                found=value,
                expected="" if close else f"one of {first_few(known, _NAMES_SHOWN)}",
                nearest=close,
            )
            return None
        return value

    def _wheel(self, value: object, path: KeyPath, field: Field) -> DesignTable | None:
        """A wheel by its name, or a table with figures of its own."""
        if isinstance(value, str):
            return DesignTable(path, frozenset(("stock",)), {"stock": self._stock(value, path, field)})
        if isinstance(value, dict):
            return self.table(value, path, field.fields)
        self._wrong_type(path, value, field.kind.value)
        return None

    def _table(self, value: object, path: KeyPath, field: Field) -> DesignTable | None:
        return self.table(value, path, field.fields)

    def _point(self, value: object, path: KeyPath, _field: Field) -> tuple[Point] | None:
        place = self.point(value, path)
        return None if place is None else (place,)

    def point(self, value: object, path: KeyPath) -> Point | None:
        """A point: a list of two lengths."""
        if not isinstance(value, list):
            self._wrong_type(path, value, "a point", "[x, y]")
            return None
        if len(value) != 2:
            self.fault(
                path,
                "point-shape",
                f"a point of {len(value)} number{'' if len(value) == 1 else 's'}",
                expected="two numbers, [x, y]",
            )
            return None
        u, v = self.length(value[0], (*path, 0)), self.length(value[1], (*path, 1))
        return None if u is None or v is None else (u, v)

    def _handles(self, value: object, path: KeyPath, _field: Field) -> tuple[Point, Point] | None:
        if not isinstance(value, list):
            self._wrong_type(path, value, "two handles", _TWO_POINTS)
            return None
        if len(value) != 2:
            count = f"{len(value)} handle{'' if len(value) == 1 else 's'}"
            self.fault(path, "point-shape", f"{count} for a Bézier curve", expected=_TWO_POINTS)
            return None
        one, two = self.point(value[0], (*path, 0)), self.point(value[1], (*path, 1))
        return None if one is None or two is None else (one, two)

    def _listed(self, value: object, path: KeyPath, field: Field) -> object:
        """A list or table that another room reads, when it is one and not too long."""
        wanted = dict if field.kind is KeyKind.LENGTHS else list
        if not isinstance(value, wanted):
            self._wrong_type(path, value, field.kind.value)
            return None
        return None if self._too_many(len(value), path, field) else value

    def _tables(self, value: object, path: KeyPath, field: Field) -> list[DesignTable] | None:
        if not isinstance(value, list):
            header = ".".join(str(part) for part in path)
            self._wrong_type(path, value, "a list of tables", f"[[{header}]] with two brackets")
            return None
        if self._too_many(len(value), path, field):
            return None
        read = [self.table(row, (*path, i), field.fields) for i, row in enumerate(value)]
        return [table for table in read if table is not None]

    def _too_many(self, count: int, path: KeyPath, field: Field) -> bool:
        if field.limit is None or count <= field.limit:
            return False
        self.fault(
            path,
            "too-many",
            f"{field.key} has {count} entries",
            at_key=True,
            expected=f"at most {field.limit}",
        )
        return True

    # ------------------------------------------------------------ bounds and words

    def _bounded(self, value: float, path: KeyPath, field: Field, show: Callable[[float], str]) -> bool:
        least, most = field.least, field.most
        if (least is None or value >= least) and (most is None or value <= most):
            return True
        self.fault(
            path,
            "out-of-range",
            f"{field.key} cannot be {show(value)}",
            found=show(value),
            expected=bounds(field, show),
        )
        return False

    def _wrong_type(self, path: KeyPath, value: object, wanted: str, expected: str = "") -> None:
        self.fault(
            path, "wrong-type", f"{quoted(value)} is not {wanted}", found=quoted(value), expected=expected
        )
