"""Change one value in a TOML text and nothing else."""

from __future__ import annotations

import re
import tomllib
from typing import Final

from bodyshop.source.document import Source
from bodyshop.source.paths import KeyPath

__all__ = ["splice_number"]

_PLAIN_NUMBER: Final = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")


def splice_number(source: Source, path: KeyPath, new_text: str) -> str:
    """The whole text of the file with the one number or quoted quantity at `path` replaced.

    A value in quotes keeps its quotes; a plain number stays one unless `new_text` has a unit, which
    puts it in quotes. The result is read again, and every other value must be what it was, else
    `ValueError` is raised; so it is for a path without a value of its own or with one that is neither
    a number nor one line of text. A byte-order mark at the beginning is kept.
    """
    where = source.value_range(path)
    old = _value_at(source.values, path)
    if where is None or isinstance(old, bool) or not isinstance(old, int | float | str):
        raise ValueError(f"there is no number to change at {path}")
    raw = source.text[slice(*where)]
    if raw[:3] in ('"""', "'''"):
        raise ValueError(f"the text at {path} has several lines")
    replacement, expected = _written(raw, new_text)
    text = source.text[: where[0]] + replacement + source.text[where[1] :]
    try:
        after = tomllib.loads(text)
    except ValueError as error:
        raise ValueError(f"{new_text!r} cannot stand at {path}") from error
    if not _same(after, source.values, path, expected):
        raise ValueError(f"{new_text!r} at {path} would change something else too")
    return ("\ufeff" if source.bom else "") + text


def _written(raw: str, new_text: str) -> tuple[str, object]:
    """How the new value is written in the place of `raw`, and the value it must be read as."""
    if not new_text.isprintable():
        raise ValueError("a number has no control characters")
    mark = raw[:1] if raw[:1] in ("'", '"') else ""
    if not mark and _PLAIN_NUMBER.fullmatch(new_text):
        return new_text, float(new_text) if "." in new_text else int(new_text)
    mark = mark or '"'
    if mark == "'" and "'" in new_text:
        mark = '"'
    elif mark == '"' and not raw.startswith('"') and '"' in new_text and "'" not in new_text:
        mark = "'"
    inner = new_text if mark == "'" else new_text.replace("\\", "\\\\").replace('"', '\\"')
    return f"{mark}{inner}{mark}", new_text


def _value_at(values: object, path: KeyPath) -> object:
    for part in path:
        if isinstance(values, dict):
            values = values.get(part)
        elif isinstance(values, list) and isinstance(part, int) and 0 <= part < len(values):
            values = values[part]
        else:
            return None
    return values


def _same(new: object, old: object, path: KeyPath, expected: object) -> bool:
    """Whether `new` is `old` but for the value at `path`, which must be `expected`."""
    if not path:
        return type(new) is type(expected) and new == expected
    if isinstance(new, dict) and isinstance(old, dict):
        return list(new) == list(old) and all(
            _same(new[key], old[key], path[1:], expected)
            if key == path[0]
            else _identical(new[key], old[key])
            for key in new
        )
    if isinstance(new, list) and isinstance(old, list):
        return len(new) == len(old) and all(
            _same(item, old[index], path[1:], expected) if index == path[0] else _identical(item, old[index])
            for index, item in enumerate(new)
        )
    return False


def _identical(new: object, old: object) -> bool:
    """Equal in value and kind; not-a-number is itself. The reader has limited the depth."""
    if isinstance(new, dict) and isinstance(old, dict):
        return list(new) == list(old) and all(_identical(new[key], old[key]) for key in new)
    if isinstance(new, list) and isinstance(old, list):
        return len(new) == len(old) and all(map(_identical, new, old))
    if isinstance(new, float) and isinstance(old, float):
        return repr(new) == repr(old)
    return type(new) is type(old) and new == old
