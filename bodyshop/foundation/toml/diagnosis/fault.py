"""A syntax error with what stands round it, and why the text is not TOML."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from tomli import TOMLDecodeError

from bodyshop.foundation.problems import Problem, Span
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.toml.scan import LineIndex, Token, tokens

__all__ = [
    "COMMENTS",
    "Fault",
    "HEADER",
    "KEY_AND_EQUALS",
    "bracket_slip",
    "character_slip",
    "locate",
    "lone_quote",
    "open_quote",
    "quoted",
    "smart_quotes",
]


COMMENTS: Final = ("//", ";", "--", "%", "/*", "<!--")
HEADER: Final = re.compile(r"[ \t]*\[\[?[ \t]*[A-Za-z_\"'][^\[\],=]*\]\]?[ \t\r]*(?:#.*)?$")
KEY_AND_EQUALS: Final = re.compile(r"[ \t]*[A-Za-z_\"'][\w.\"' \t-]*=(?!=)")


@dataclass(frozen=True, slots=True)
class Fault:
    """A syntax error: what the reader said, at which offset, and what stands before it."""

    text: str
    name: str
    lines: LineIndex
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
            shortened(message, 160),
            file=self.name,
            span=span,
            found=shortened(found),
            expected=shortened(expected, 100),
            nearest=nearest,
            related=related,
        )


def locate(text: str, name: str, error: TOMLDecodeError) -> Fault:
    """The fault of an error, with what stands round it. The reader says where it is, as an offset."""
    offset = error.pos if error.pos < len(text) else len(text.rstrip())
    return _with_context(Fault(text, name, LineIndex(text), error.msg, offset, (), (), None, None))


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


_SMART: Final = "\u201c\u201d\u201e\u201f\u00ab\u00bb\u2018\u2019\u201a\u201b\u0060\u00b4"


def smart_quotes(fault: Fault) -> Problem | None:
    """Curly quotes, which word processors make, where plain ones belong."""
    start = fault.offset
    if fault.here not in tuple(_SMART):
        opened = fault.unclosed
        if opened is None or opened.kind != "openstring":
            return None
        curly = [i for i, char in enumerate(opened.text) if char in _SMART]
        if not curly or opened.text.rstrip("\r")[-1] not in _SMART:
            return None
        start = opened.start + curly[-1]
    mark = fault.text[start]
    return fault.problem(
        "toml-quotes", f"{mark} is a curly quote mark", start, found=mark, expected="plain quotes, \" or '"
    )


def open_quote(fault: Fault) -> Problem | None:
    """A quoted text that is not closed, or is closed too early."""
    opened = fault.unclosed
    if opened is not None:
        if opened.kind == "openmulti":
            message = f"the text opened by {opened.text} is never closed"
            return fault.problem("toml-quotes", message, opened.start, opened.end, expected=opened.text)
        before = fault.last
        if before is not None and before.kind == "string" and before.end == opened.start:
            message = "the quoted text ends before this"
            return fault.problem("toml-quotes", message, opened.start, expected="one pair of quotes")
        message = f"the quote mark {opened.text[0]} is opened here and not closed on this line"
        end = opened.start + len(opened.text.rstrip("\r"))
        return fault.problem(
            "toml-quotes", message, opened.start, end, expected=f"{opened.text[0]} at the end of the text"
        )
    if "Unescaped" in fault.message or "hex value" in fault.message:
        return fault.problem(
            "toml-backslash",
            "a backslash in double quotes has a meaning of its own",
            expected="single quotes round the text, or / in the place of \\",
        )
    last = fault.last
    if fault.message.startswith("Expected newline") and last is not None and last.kind == "string":
        rest = fault.line[fault.offset - fault.line_start :]
        if last.text[0] in rest:
            message = f"the mark {last.text[0]} before this ends the quoted text"
            other = "'" if last.text[0] == '"' else '"'
            return fault.problem(
                "toml-quotes", message, found=rest.strip(), expected=f"the other quotes, {other}, round it"
            )
    return None


def lone_quote(fault: Fault) -> Problem | None:
    """A quote mark further along the line that has no partner, when nothing else explains the error."""
    for token in tokens(fault.text, fault.line_start):
        if token.kind == "newline":
            break
        if token.kind == "openstring" and token.start > fault.offset:
            message = "the quote marks on this line do not go in pairs"
            expected = f"one more {token.text[0]}"
            return fault.problem("toml-quotes", message, fault.line_start, token.end, expected=expected)
    return None


def character_slip(fault: Fault) -> Problem | None:
    """A control character, as the reader names it."""
    code = re.match(r"(?:Illegal|Found invalid) character '(.+)'", fault.message)
    if code is None:
        return None
    message = f"the character {code[1]} may not stand here"
    return fault.problem("toml-character", message, expected="ordinary text")


def bracket_slip(fault: Fault) -> Problem | None:
    """A bracket or comma that is missing, too many, or the wrong one."""
    if not fault.open_brackets:
        return None
    if fault.in_header:
        return _header(fault)
    if fault.in_list_above_header:
        return _unclosed_list(fault)
    if fault.open_brackets[-1].text == "{":
        return _inline_table(fault)
    if fault.message.startswith(("Unclosed array", "Invalid value")):
        return _list(fault)
    return None


def _header(fault: Fault) -> Problem | None:
    opened = fault.open_brackets[0]
    end = opened.start + len(fault.line.strip())
    if fault.here == "]" and not fault.message.startswith("Expected"):
        return fault.problem("toml-name", "a table has no name here", opened.start, end, expected="[name]")
    if fault.here.isalnum():
        message = "the name of a table has a space in it"
        return fault.problem("toml-name", message, opened.start, end, expected="a name with _ for each space")
    closing = "]" * sum(bracket.start < fault.offset for bracket in fault.open_brackets)
    message = "the name of a table is not closed"
    return fault.problem("toml-bracket", message, opened.start, end, expected=f"{closing} behind the name")


def _list(fault: Fault) -> Problem | None:
    if fault.here in ("}", ")"):
        return fault.problem(
            "toml-bracket",
            f"{fault.here} cannot close a list",
            found=fault.here,
            expected="]",
            related=_opened(fault, fault.open_brackets[-1]),
        )
    at_start = not fault.line[: fault.offset - fault.line_start].strip()
    at_end = not fault.text[fault.offset :].strip()
    if at_end or (at_start and KEY_AND_EQUALS.match(fault.line)):
        return _unclosed_list(fault)
    if fault.here == ",":
        return fault.problem(
            "toml-comma", "there is a comma too many", found=",", expected="one comma between two values"
        )
    if fault.last is not None and fault.last.kind in ("word", "string", "multiline", "close"):
        return fault.problem(
            "toml-comma",
            "a comma is missing before this value",
            expected="a comma between two values",
            related=_opened(fault, fault.open_brackets[-1]),
        )
    return None


def _opened(fault: Fault, bracket: Token) -> tuple[tuple[str, Span], ...]:
    return (("the list is opened here", fault.lines.span(bracket.start, bracket.end)),)


def _unclosed_list(fault: Fault) -> Problem:
    """The list that is most likely the open one.

    A closing bracket belongs to the last one opened, so a forgotten ] is felt only further down. A
    list that is opened further in than its ] stands is the one whose own ] was forgotten.
    """
    still_open = fault.open_brackets
    if fault.in_list_above_header:
        still_open = tuple(bracket for bracket in still_open if bracket.start < fault.line_start)
    opened = still_open[-1]
    for bracket, closing in fault.pairs:
        if bracket.start < fault.open_brackets[0].start:
            continue
        line, column = fault.lines.position(bracket.start)
        closing_line, closing_column = fault.lines.position(closing.start)
        first_there = not fault.lines.text(closing_line)[: closing_column - 1].strip()
        indent = len(fault.lines.text(line)) - len(fault.lines.text(line).lstrip())
        if closing_line > line and first_there and closing_column - 1 < indent < column:
            opened = bracket
            break
    noticed = (("noticed here", fault.lines.span(fault.offset, fault.offset + 1)),)
    return fault.problem(
        "toml-bracket",
        "the list opened here is not closed",
        opened.start,
        found="[",
        expected="]",
        related=noticed,
    )


def _inline_table(fault: Fault) -> Problem | None:
    opened = fault.open_brackets[-1]
    same_line = fault.lines.position(opened.start)[0] == fault.lines.position(fault.offset)[0]
    if fault.here in ("", "\n", "\r") or not same_line:
        message = "what { opens must end with } on the same line"
        return fault.problem("toml-bracket", message, opened.start, found="{", expected="} on the same line")
    if fault.here == "}" and fault.last is not None and fault.last.text == ",":
        return fault.problem("toml-comma", "there is a comma too many before }", fault.last.start, found=",")
    if fault.here == "]":
        return fault.problem("toml-bracket", "] cannot close what { opens", found="]", expected="}")
    if fault.message.startswith("Unclosed"):
        return fault.problem(
            "toml-comma", "a comma is missing before this", expected="a comma between two settings"
        )
    return None
