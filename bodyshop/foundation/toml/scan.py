"""A rough look at TOML text: strings, comments, brackets and marks, in order, without judging them.

It works on broken text too, which is what it is for: to say where a quote or a bracket was opened, and
to refuse nesting without end before the real reader goes down into it.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bodyshop.foundation.problems import Span

__all__ = ["LineIndex", "Token", "too_deep_at", "tokens"]

_TOKEN: Final = re.compile(
    r"(?P<comment>\#[^\n]*)"
    r'|(?P<multiline>"""(?:\\.|"{1,2}(?!")|[^"\\])*"{3,5}|\'\'\'.*?\'{3,5})'
    r'|(?P<openmulti>"""|\'\'\')'
    r'|(?P<string>"(?:\\[^\n]|[^"\\\n])*"|\'[^\'\n]*\')'
    r'|(?P<openstring>"(?:\\[^\n]|[^"\\\n])*|\'[^\'\n]*)'
    r"|(?P<open>[\[{])"
    r"|(?P<close>[\]}])"
    r"|(?P<mark>[=,.])"
    r"|(?P<newline>\n)"
    r"|(?P<word>[^\s#\"'\[\]{}=,.]+)",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of the text and its offsets.

    `kind` is comment, string (`multiline` too), openstring or openmulti for one that is not closed,
    open, close, mark, newline, or word.
    """

    kind: str
    text: str
    start: int
    end: int


def tokens(text: str, start: int = 0) -> Iterator[Token]:
    """The tokens of `text` in order; white space is left out, a newline is a token."""
    for match in _TOKEN.finditer(text, start):
        yield Token(match.lastgroup or "word", match[0], match.start(), match.end())


def too_deep_at(text: str, limit: int) -> int | None:
    """The offset at which brackets, or a name with dots, go deeper than `limit`; None when none do."""
    if text.count("[") + text.count("{") <= limit and text.count(".") <= limit:
        return None
    depth = dots = 0
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup
        if kind == "open":
            depth += 1
            dots = 0
        elif kind == "close":
            depth = max(depth - 1, 0)
        elif kind == "newline":
            dots = 0
        elif kind == "mark":
            dots = dots + 1 if match[0] == "." else 0
        if depth > limit or dots > limit:
            return match.start()
    return None


class LineIndex:
    """Offsets in a text to lines and columns, both from 1, columns in characters."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def __len__(self) -> int:
        return len(self._starts)

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset."""
        offset = min(max(offset, 0), len(self._text))
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1

    def span(self, start: int, end: int) -> Span:
        """The span of a stretch of the text, at least one column wide."""
        return Span(*self.position(start), *self._end(start, end))

    def _end(self, start: int, end: int) -> tuple[int, int]:
        line, column = self.position(max(start, end))
        return (line, column) if end > start else (line, column + 1)

    def offset(self, line: int, column: int) -> int:
        """The offset of a line and column; the end of the text when they are beyond it."""
        if line > len(self._starts):
            return len(self._text)
        return min(self._starts[line - 1] + column - 1, len(self._text))

    def text(self, line: int) -> str:
        """One line without its end; empty when there is no such line."""
        if not 1 <= line <= len(self._starts):
            return ""
        end = self._starts[line] if line < len(self._starts) else len(self._text)
        return self._text[self._starts[line - 1] : end].rstrip("\r\n")
