"""Quote marks that are missing, curly, or in the wrong place; and characters that no text may hold."""

from __future__ import annotations

import re
from typing import Final

from bodyshop.problems import Problem
from bodyshop.source.scan import tokens
from bodyshop.source.slips.fault import Fault

__all__ = ["character_slip", "lone_quote", "open_quote", "smart_quotes"]

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
