"""A TOML text as read: its values, and on demand the place of every key and value.

The values are those of the standard reader, which is the judge of what is legal. Places come from
another parser and are found only when somebody asks.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING

from bodyshop.foundation.problems import Problem, Severity, Span
from bodyshop.foundation.toml.places import KeyPath, Range, dotted
from bodyshop.foundation.toml.scan import LineIndex
from bodyshop.foundation.units import QuantityError

if TYPE_CHECKING:
    from bodyshop.foundation.toml.places import KeyPlace

__all__ = ["Source"]


@dataclass(frozen=True, eq=False)
class Source:
    """One file as read. `name` is the path as the user wrote it; `text` has no byte-order mark."""

    name: str
    text: str
    values: dict[str, object]
    bom: bool = False

    @cached_property
    def _places(self) -> dict[KeyPath, KeyPlace]:
        # Only a file with a problem, or one that is to be changed, needs this parser.
        from bodyshop.foundation.toml.places import find_places

        return find_places(self.text).at

    def with_values(
        self, text: str, values: dict[str, object], edits: Sequence[tuple[int, int, str]]
    ) -> Source:
        """This file with whole values replaced: each edit is (start, end, new text), `text` and `values` what
        came of them all. Places that are known are carried over instead of being looked for again.
        """
        changed = Source(self.name, text, values, self.bom)
        known: dict[KeyPath, KeyPlace] | None = self.__dict__.get("_places")
        if known is not None:
            ordered = sorted(edits)
            ends = [end for _, end, _ in ordered]
            shifts = [0, *accumulate(len(new) - (end - start) for start, end, new in ordered)]

            def moved(where: Range) -> Range:
                start, end = where
                return start + shifts[bisect_right(ends, start)], end + shifts[bisect_right(ends, end)]

            changed.__dict__["_places"] = {
                path: replace(
                    place, value=moved(place.value), key=None if place.key is None else moved(place.key)
                )
                for path, place in known.items()
            }
        return changed

    @property
    def whole(self) -> str:
        """All of the file's text, with the byte-order mark it began with."""
        return ("\ufeff" if self.bom else "") + self.text

    @cached_property
    def _lines(self) -> LineIndex:
        return LineIndex(self.text)

    def value_range(self, path: KeyPath) -> Range | None:
        """The offsets of a value in the text; None when the text has no such value of its own."""
        place = self._places.get(path)
        return place.value if place is not None else None

    def span(self, path: KeyPath) -> Span:
        """Where the value at `path` stands.

        A table stands at its header or key. What is not in the file stands at the nearest thing above
        it that is; at the top of the file when nothing is.
        """
        while path:
            place = self._places.get(path)
            if place is not None:
                return self._lines.span(*place.value)
            path = path[:-1]
        return self._lines.span(0, 0)

    def key_span(self, path: KeyPath) -> Span:
        """Where the key of `path` stands; a list's element stands where its value does."""
        place = self._places.get(path)
        if place is not None and place.key is not None:
            return self._lines.span(*place.key)
        return self.span(path)

    def inner_span(self, path: KeyPath, start: int, end: int) -> Span:
        """Where the characters `start` to `end` of a text value stand.

        The whole value when it is not a text, or is one of several lines.
        """
        place = self._places.get(path)
        if place is None:
            return self.span(path)
        raw = self.text[slice(*place.value)]
        if raw[:1] not in ("'", '"') or raw[:3] in ("'''", '"""') or len(raw) < 2:
            return self._lines.span(*place.value)
        marks = _character_offsets(raw)
        last = len(marks) - 1  # the closing quote
        start = min(max(start, 0), last)
        end = min(max(end, start), last)
        # An empty range is shown by the character it stands before, the closing quote at the end.
        stop = marks[end] if end > start else marks[start] + 1
        return self._lines.span(place.value[0] + marks[start], place.value[0] + stop)

    def problem(  # noqa: PLR0913 - the fields of a problem
        self,
        path: KeyPath,
        code: str,
        message: str,
        *,
        at_key: bool = False,
        inner: Range | None = None,
        found: str = "",
        expected: str = "",
        nearest: str = "",
        severity: Severity = Severity.ERROR,
        related: tuple[tuple[str, Span], ...] = (),
    ) -> Problem:
        """A problem with what stands at `path`: its value, its key, or the part `inner` of its text."""
        if inner is not None:
            span = self.inner_span(path, *inner)
        else:
            span = self.key_span(path) if at_key else self.span(path)
        return Problem(
            code=code,
            message=message,
            file=self.name,
            span=span,
            key=dotted(path),
            found=found,
            expected=expected,
            nearest=nearest,
            severity=severity,
            related=related,
        )

    def quantity_problem(self, path: KeyPath, error: QuantityError, *, at_key: bool = False) -> Problem:
        """The problem that a quantity could not be read, at the very part of the value."""
        whole = at_key or error.end <= error.start
        return self.problem(
            path,
            error.code,
            error.message,
            at_key=at_key,
            inner=None if whole else (error.start, error.end),
            found=error.found,
            expected=error.expected,
            nearest=error.nearest,
        )


def _character_offsets(raw: str) -> list[int]:
    """For each character of a one-line quoted value its offset in `raw`; then the closing quote's."""
    if raw[0] == "'" or "\\" not in raw:
        return list(range(1, len(raw)))
    marks: list[int] = []
    at = 1
    while at < len(raw) - 1:
        marks.append(at)
        if raw[at] != "\\":
            at += 1
        else:
            at += {"u": 6, "U": 10, "x": 4}.get(raw[at + 1], 2)
    marks.append(len(raw) - 1)
    return marks
