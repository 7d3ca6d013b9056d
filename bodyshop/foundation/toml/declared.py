"""A table of a TOML file, declared once as a frozen dataclass: its fields say what each key holds.

The same declaration gives the loader (`rows`), which notes everything that is wrong at once and where, and
the JSON Schema (`json_schema`). A plain annotation is enough for texts, words of an `Enum` and flags; a
number states its bounds:

    @dataclass(frozen=True, slots=True)
    class Blade:
        id: str
        saw: Saw
        kerf_mm: Annotated[float, TomlKey(low=0.1, high=5.0)]
        note: str = ""
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from enum import Enum
from functools import cache
from typing import Any, Final

__all__ = ["ID", "TomlColumn", "ColumnKind", "TomlKey", "columns_of"]

ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""What an item can be called: small letters, digits and single hyphens."""


@dataclass(frozen=True, slots=True)
class TomlKey:
    """What the annotation of a field says beside its type.

    `low` and `high` may be reached. `name` is the key in the file where it is not the field's own name, as
    for a figure that the file has in another unit: the field is `factor` times what the file says. `table`
    names the table of the same file whose items, by their ids, the key names one of. `empty`: a text with
    nothing in it will do.
    """

    low: float | None = None
    high: float | None = None
    name: str = ""
    factor: float = 1.0
    table: str = ""
    empty: bool = False


class ColumnKind(Enum):
    """What a key holds."""

    ID = "a name of small letters, digits and single hyphens"
    TEXT = "a text"
    TEXTS = "an array of texts"
    NUMBER = "a number"
    NUMBERS = "an array of numbers"
    WHOLE = "a whole number"
    FLAG = "true or false"
    WORD = "a word"
    WORDS = "an array of words"
    ITEM = "the id of an item"


@dataclass(frozen=True, slots=True)
class TomlColumn:
    """One key of a table, for the field `attribute`. `choices` is the closed list of a word."""

    attribute: str
    name: str
    kind: ColumnKind
    key: TomlKey
    choices: type[Enum] | None
    optional: bool

    @property
    def words(self) -> list[str]:
        """The words of a closed list."""
        return [] if self.choices is None else [str(member.value) for member in self.choices]


def columns_of(declared: type) -> tuple[TomlColumn, ...]:
    """The keys of a table, in the order of its fields.

    Raises:
        TypeError: a field is of a type that no key can hold.
    """
    return _columns(declared)


@cache
def _columns(declared: Any) -> tuple[TomlColumn, ...]:
    hints = typing.get_type_hints(declared, include_extras=True)
    return tuple(
        _column(each.name, hints[each.name], optional=not (each.default is each.default_factory is MISSING))
        for each in fields(declared)
    )


_PLAIN: Final[Mapping[object, ColumnKind]] = {
    str: ColumnKind.TEXT,
    bool: ColumnKind.FLAG,
    int: ColumnKind.WHOLE,
    float: ColumnKind.NUMBER,
}
_MANY: Final[Mapping[object, ColumnKind]] = {str: ColumnKind.TEXTS, float: ColumnKind.NUMBERS}


def _column(attribute: str, hint: Any, *, optional: bool) -> TomlColumn:
    key = TomlKey()
    if typing.get_origin(hint) is typing.Annotated:
        hint, *extra = typing.get_args(hint)
        key = next((each for each in extra if isinstance(each, TomlKey)), key)
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        (hint,) = (each for each in typing.get_args(hint) if each is not types.NoneType)
    many = typing.get_origin(hint) in (tuple, frozenset)
    inner = typing.get_args(hint)[0] if many else hint
    choices = inner if isinstance(inner, type) and issubclass(inner, Enum) else None
    if choices is not None:
        kind: ColumnKind | None = ColumnKind.WORDS if many else ColumnKind.WORD
    elif key.table:
        kind = ColumnKind.ITEM
    elif attribute == "id" and inner is str:
        kind = ColumnKind.ID
    else:
        kind = (_MANY if many else _PLAIN).get(inner)
    if kind is None:
        raise TypeError(f"{attribute}: no key of a TOML table can hold {hint}")
    return TomlColumn(attribute, key.name or attribute, kind, key, choices, optional)
