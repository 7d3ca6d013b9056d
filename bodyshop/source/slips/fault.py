"""A syntax error with what stands round it, which every slip is read from."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.problems import Problem, Span
from bodyshop.source.scan import Lines, Token, tokens

__all__ = ["COMMENTS", "HEADER", "KEY_AND_EQUALS", "Fault", "clip", "locate", "quoted"]

_PLACE: Final = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
COMMENTS: Final = ("//", ";", "--", "%", "/*", "<!--")
HEADER: Final = re.compile(r"[ \t]*\[\[?[ \t]*[A-Za-z_\"'][^\[\],=]*\]\]?[ \t\r]*(?:#.*)?$")
KEY_AND_EQUALS: Final = re.compile(r"[ \t]*[A-Za-z_\"'][\w.\"' \t-]*=(?!=)")


@dataclass(frozen=True, slots=True)
class Fault:
    """A syntax error: what the reader said, at which offset, and what stands before it."""

    text: str
    name: str
    lines: Lines
    message: str
    offset: int
    open_brackets: tuple[Token, ...]
    """Brackets open at the error, outermost first."""
    pairs: tuple[tuple[Token, Token], ...]
    """Brackets opened and closed before it."""
    last: Token | None
    """The last token before it that is not a newline or comment."""
    unclosed: Token | None
    """A quoted text that is not closed, at or before the error."""

    @property
    def line(self) -> str:
        """The line of the error, without its end."""
        return self.lines.text(self.lines.position(self.offset)[0])

    @property
    def line_start(self) -> int:
        """The offset at which that line begins."""
        return self.lines.offset(self.lines.position(self.offset)[0], 1)

    @property
    def in_header(self) -> bool:
        """Whether the line begins with a bracket that is open at the error: the name of a table."""
        start = self.line_start + len(self.line) - len(self.line.lstrip())
        return bool(self.open_brackets) and self.open_brackets[0].start == start

    @property
    def in_list_above_header(self) -> bool:
        """Whether the line is the header of a table, though a list above it is still open."""
        outer = [bracket for bracket in self.open_brackets if bracket.start < self.line_start]
        return bool(outer) and HEADER.match(self.line) is not None

    @property
    def here(self) -> str:
        """The character at the error, empty at the end of the text."""
        return self.text[self.offset : self.offset + 1]

    def problem(
        self,
        code: str,
        message: str,
        start: int | None = None,
        end: int | None = None,
        *,
        found: str = "",
        expected: str = "",
        nearest: str = "",
        related: tuple[tuple[str, Span], ...] = (),
    ) -> Problem:
        """The problem at `start` to `end`; at the character of the error when they are left out."""
        start = self.offset if start is None else start
        span = self.lines.span(start, start + 1 if end is None else end)
        return Problem(
            code,
            clip(message, 160),
            file=self.name,
            span=span,
            found=clip(found),
            expected=clip(expected, 100),
            nearest=nearest,
            related=related,
        )


def locate(text: str, name: str, error: tomllib.TOMLDecodeError) -> Fault:
    """The fault of an error, with what stands round it."""
    lines = Lines(text)
    said = str(error)
    place = _PLACE.search(said)
    message = said[: place.start()] if place else said
    line, column = getattr(error, "lineno", None), getattr(error, "colno", None)
    if place and place[1]:
        line, column = int(place[1]), int(place[2])
    if isinstance(line, int) and isinstance(column, int):
        offset = lines.offset(line, column)
    else:
        offset = len(text.rstrip())
    if place and not place[1]:
        offset = len(text.rstrip())
    return _with_context(Fault(text, name, lines, message, offset, (), (), None, None))


def _with_context(fault: Fault) -> Fault:
    stack: list[Token] = []
    pairs: list[tuple[Token, Token]] = []
    last = unclosed = None
    for token in tokens(fault.text):
        if token.kind in ("openstring", "openmulti") and token.start <= fault.offset:
            unclosed = token
            if token.end >= fault.offset or token.kind == "openmulti":
                break
        if token.start >= fault.offset:
            break
        if token.kind == "open":
            stack.append(token)
        elif token.kind == "close" and stack:
            pairs.append((stack.pop(), token))
        if token.kind not in ("newline", "comment"):
            last = token
    return replace(fault, open_brackets=tuple(stack), pairs=tuple(pairs), last=last, unclosed=unclosed)


def quoted(value: str) -> str:
    """The value in the quotes that fit it."""
    return f"'{value}'" if '"' in value else f'"{value}"'


def clip(text: str, most: int = 40) -> str:
    """Text fit to be shown: not too long, and without control characters."""
    shown = text if len(text) <= most else text[: most - 4] + "..."
    return shown if shown.isprintable() else repr(shown)[1:-1]
