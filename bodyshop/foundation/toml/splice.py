"""Change values in a TOML text and nothing else; and the values themselves, by their paths."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from bodyshop.foundation.toml.document import Source
from bodyshop.foundation.toml.places import KeyPath, dotted

__all__ = ["patched", "replaced", "scalars", "spliced_source", "value_at"]

_PLAIN_NUMBER: Final = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")


def replaced(text: str, edits: Iterable[tuple[int, int, str]]) -> str:
    """The text with stretches replaced, each (start, end, new); none lies over another."""
    for start, end, new in sorted(edits, key=lambda each: each[:2], reverse=True):
        text = text[:start] + new + text[end:]
    return text


def value_at(values: object, path: KeyPath) -> object:
    """What stands at a path; None where nothing does."""
    for part in path:
        if isinstance(values, Mapping):
            values = values.get(part)
        elif isinstance(values, list) and isinstance(part, int) and 0 <= part < len(values):
            values = values[part]
        else:
            return None
    return values


def scalars(values: object, path: KeyPath = ()) -> Iterator[tuple[KeyPath, object]]:
    """Everything below `values` that is neither table nor list, by path."""
    if isinstance(values, Mapping):
        for key, value in values.items():
            yield from scalars(value, (*path, key))
    elif isinstance(values, list):
        for index, value in enumerate(values):
            yield from scalars(value, (*path, index))
    else:
        yield path, values


def patched(values: Mapping[str, object], changes: Mapping[KeyPath, object]) -> dict[str, object]:
    """The values with others at some paths; what is not changed is shared, not copied.

    A key that a table has not is added. Raises `ValueError` for a place that there is not.
    """
    new = dict(values)
    for path, value in changes.items():
        new[str(path[0])] = _patched(new.get(str(path[0]), {}), path[1:], value)
    return new


def _patched(values: object, path: KeyPath, value: object) -> object:
    if not path:
        return value
    head, rest = path[0], path[1:]
    if isinstance(values, dict) and isinstance(head, str):
        return {**values, head: _patched(values.get(head, {}), rest, value)}
    if isinstance(values, list) and isinstance(head, int) and 0 <= head < len(values):
        return [*values[:head], _patched(values[head], rest, value), *values[head + 1 :]]
    raise ValueError(f"there is no {dotted(path)} to change")


def spliced_source(source: Source, new_texts: Mapping[KeyPath, str]) -> Source:
    """The file with the numbers or quoted quantities at some paths replaced; it need not be read once more.

    A value in quotes keeps its quotes; a plain number stays one unless its new text has a unit, which
    puts it in quotes. The result is read again, and every other value must be what it was, else
    `ValueError` is raised; so it is for a path without a value of its own or with one that is neither
    a number nor one line of text.

    >>> from bodyshop.foundation.toml import parse_source
    >>> source = parse_source("height = 25  # from the underside", "wren.toml")
    >>> spliced_source(source, {("height",): "25.7"}).text
    'height = 25.7  # from the underside'
    """
    edits: list[tuple[int, int, str]] = []
    expected: dict[KeyPath, object] = {}
    for path, new_text in new_texts.items():
        where = source.value_range(path)
        old = value_at(source.values, path)
        if where is None or isinstance(old, bool) or not isinstance(old, int | float | str):
            raise ValueError(f"there is no number to change at {path}")
        raw = source.text[slice(*where)]
        if raw[:3] in ('"""', "'''"):
            raise ValueError(f"the text at {path} has several lines")
        replacement, expected[path] = _written(raw, new_text)
        edits.append((*where, replacement))
    text = replaced(source.text, edits)
    told = ", ".join(repr(new_text) for new_text in new_texts.values())
    try:
        after = tomllib.loads(text)
    except ValueError as error:
        raise ValueError(f"{told} cannot stand at {list(new_texts)}") from error
    if not _same(after, source.values, expected):
        raise ValueError(f"{told} at {list(new_texts)} would change something else too")
    return source.with_values(text, after, edits)


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


def _same(new: object, old: object, expected: Mapping[KeyPath, object]) -> bool:
    """Whether `new` is `old` but for the values at some paths, which must be those expected."""
    if () in expected:
        return len(expected) == 1 and type(new) is type(expected[()]) and new == expected[()]
    if not expected:
        return _identical(new, old)
    below: dict[str | int, dict[KeyPath, object]] = {}
    for path, value in expected.items():
        below.setdefault(path[0], {})[path[1:]] = value
    if isinstance(new, dict) and isinstance(old, dict):
        return list(new) == list(old) and all(_same(new[key], old[key], below.get(key, {})) for key in new)
    if isinstance(new, list) and isinstance(old, list):
        return len(new) == len(old) and all(
            _same(item, old[index], below.get(index, {})) for index, item in enumerate(new)
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
