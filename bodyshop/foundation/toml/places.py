"""Where every key and value of a TOML text stands, by a syntax-tree parser, and the path that names it."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field
from itertools import accumulate
from typing import TYPE_CHECKING

__all__ = ["KeyPath", "KeyPlace", "Places", "Range", "Repeat", "dotted", "find_places"]


KeyPath = tuple[str | int, ...]
"""Keys and list positions from the top of the file: `("profile", "points", 3, "x")`."""

Range = tuple[int, int]
"""Start and end offset in the text; the end is exclusive."""


def dotted(path: KeyPath) -> str:
    """A path as people write it: `profile.points[3].x`."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            plain = part.isprintable() and part and not set(part) & set(". \"'[]")
            name = part if plain else repr(part)
            text += f".{name}" if text else name
    return text


if TYPE_CHECKING:
    from tree_sitter import Node


@dataclass(frozen=True, slots=True)
class KeyPlace:
    """Where a value stands, and its key when it has one.

    A table made by a header has the header as its value; one that is only implied has its key.
    """

    value: Range
    key: Range | None


@dataclass(frozen=True, slots=True)
class Repeat:
    """A key or table that is given twice."""

    path: KeyPath
    first: Range
    second: Range


@dataclass(slots=True)
class Places:
    """All places of one text, and the keys that come twice, in reading order."""

    at: dict[KeyPath, KeyPlace] = field(default_factory=dict)
    repeats: list[Repeat] = field(default_factory=list)


def find_places(text: str) -> Places:
    """Every place in `text`. Takes milliseconds; the parser is loaded at the first call."""
    import tree_sitter
    import tree_sitter_toml

    data = text.encode("utf-8")
    parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
    walk = _Walk(text, data)
    walk.document(parser.parse(data).root_node)
    return walk.places


_VALUE_ENDS = frozenset(("[", "]", "{", "}", ",", "comment", "\n"))
_KEYS = frozenset(("bare_key", "quoted_key", "dotted_key"))
_BESIDE_VALUE = _KEYS | {"comment"}


class _Walk:
    def __init__(self, text: str, data: bytes) -> None:
        self.places = Places()
        self._data = data
        self._arrays: dict[KeyPath, int] = {}
        self._defined: dict[KeyPath, Range] = {}
        self._values: dict[KeyPath, Range] = {}
        self._dotted: dict[KeyPath, Range] = {}
        wide = [] if text.isascii() else list(re.finditer(r"[^\x00-\x7f]", text))
        excess = list(accumulate(len(m[0].encode("utf-8")) - 1 for m in wide))
        self._excess = [0, *excess]
        # The byte offset behind each character that takes more than one byte.
        self._ends = [m.end() + over for m, over in zip(wide, excess, strict=True)]

    def _offset(self, byte: int) -> int:
        return byte - self._excess[bisect_right(self._ends, byte)] if self._ends else byte

    def _range(self, node: Node) -> Range:
        return self._offset(node.start_byte), self._offset(node.end_byte)

    def document(self, root: Node) -> None:
        for node in root.children:
            if node.type == "table":
                self._table(node)
            elif node.type == "table_array_element":
                self._table_of_array(node)
            elif node.type == "pair":
                self._pair(node, ())
            elif node.type == "ERROR":
                self._pairs(node, ())

    def _pairs(self, node: Node, base: KeyPath) -> None:
        for child in node.children:
            if child.type == "pair":
                self._pair(child, base)
            elif child.type == "ERROR":
                self._pairs(child, base)

    def _table(self, node: Node) -> None:
        parts, header = self._header(node)
        path = self._descend(parts, header)
        first = self._defined.get(path) or self._dotted.get(path) or self._value_above(path)
        if path in self._arrays:
            first = self._defined.get((*path, 0))
        if first is not None:
            self.places.repeats.append(Repeat(path, first, parts[-1][1] if parts else header))
        if parts:
            self._defined[path] = header
            self.places.at[path] = KeyPlace(header, parts[-1][1])
        self._pairs(node, path)

    def _table_of_array(self, node: Node) -> None:
        parts, header = self._header(node)
        path = self._descend(parts, header)
        first = self._defined.get(path) or self._dotted.get(path) or self._value_above(path)
        if first is not None:
            self.places.repeats.append(Repeat(path, first, parts[-1][1] if parts else header))
        if parts:
            index = self._arrays.get(path, 0)
            self._arrays[path] = index + 1
            self.places.at.setdefault(path, KeyPlace(header, parts[-1][1]))
            path = (*path, index)
            self._defined[path] = header
            self.places.at[path] = KeyPlace(header, parts[-1][1])
        self._pairs(node, path)

    def _header(self, node: Node) -> tuple[list[tuple[str, Range]], Range]:
        """The parts of a header's name, and the range from its first bracket to its last."""
        parts: list[tuple[str, Range]] = []
        end = node.start_byte
        for child in node.children:
            if child.type in _KEYS:
                parts = self._parts(child)
            if child.type == "pair":
                break
            if child.type != "comment":
                end = child.end_byte
            if child.type in ("]", "]]"):
                break
        return parts, (self._offset(node.start_byte), self._offset(end))

    def _descend(self, parts: list[tuple[str, Range]], header: Range) -> KeyPath:
        """The path a header means: below a list of tables, its last one."""
        path: KeyPath = ()
        for index, (part, key) in enumerate(parts):
            path = (*path, part)
            if index < len(parts) - 1:
                self.places.at.setdefault(path, KeyPlace(header, key))
                if path in self._arrays:
                    path = (*path, self._arrays[path] - 1)
        return path

    def _value_above(self, path: KeyPath) -> Range | None:
        """Where a value stands that leaves no room for something below it."""
        for length in range(1, len(path) + 1):
            found = self._values.get(path[:length])
            if found is not None:
                return found
        return None

    def _pair(self, node: Node, base: KeyPath) -> None:
        key = next((child for child in node.children if child.type in _KEYS), None)
        if key is None:
            return
        parts = self._parts(key)
        # A remark behind the value belongs to the pair too.
        rest = (child for child in node.children if child.is_named and child.type not in _BESIDE_VALUE)
        value = next(rest, None)
        path = base
        for part, where in parts[:-1]:
            path = (*path, part)
            self.places.at.setdefault(path, KeyPlace(where, where))
            self._dotted.setdefault(path, where)
        path = (*path, parts[-1][0])
        where = parts[-1][1]
        first = self._value_above(path) or self._defined.get(path) or self._dotted.get(path)
        if first is not None:
            self.places.repeats.append(Repeat(path, first, where))
            return
        if value is None or value.type == "ERROR":
            self.places.at[path] = KeyPlace(where, where)
            self._values[path] = where
            return
        self.places.at[path] = KeyPlace(self._range(value), where)
        self._values[path] = where
        self._value(value, path)

    def _value(self, node: Node, path: KeyPath) -> None:
        if node.type == "inline_table":
            # Its own keys are not "below a value" while it is being read.
            where = self._values.pop(path, None)
            self._pairs(node, path)
            if where is not None:
                self._values[path] = where
        elif node.type == "array":
            where = self._values.pop(path, None)
            index = 0
            for child in node.children:
                if child.type in _VALUE_ENDS or child.type == "ERROR":
                    continue
                inner = (*path, index)
                self.places.at[inner] = KeyPlace(self._range(child), None)
                self._value(child, inner)
                index += 1
            if where is not None:
                self._values[path] = where

    def _parts(self, node: Node) -> list[tuple[str, Range]]:
        """The parts of a key, dotted or not, in order."""
        parts: list[tuple[str, Range]] = []
        pending = [node]
        while pending:
            current = pending.pop()
            if current.type == "dotted_key":
                pending.extend(child for child in reversed(current.children) if child.type in _KEYS)
            else:
                parts.append((self._key_text(current), self._range(current)))
        return parts

    def _key_text(self, node: Node) -> str:
        raw = self._data[node.start_byte : node.end_byte].decode("utf-8", "replace")
        if node.type != "quoted_key":
            return raw
        try:
            return next(iter(tomllib.loads(f"{raw} = 0")))
        except tomllib.TOMLDecodeError:
            return raw[1:-1]
