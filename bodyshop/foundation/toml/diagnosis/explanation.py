"""Why a text is not TOML, in the words of the person who wrote it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from tomli import TOMLDecodeError

from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.toml.diagnosis.fault import (
    COMMENTS,
    KEY_AND_EQUALS,
    Fault,
    bracket_slip,
    character_slip,
    locate,
    lone_quote,
    open_quote,
    quoted,
    smart_quotes,
)
from bodyshop.foundation.toml.diagnosis.values import value_slip
from bodyshop.foundation.toml.places import KeyPath, find_places

__all__ = ["after_value", "diagnose", "statement_slip"]


def statement_slip(fault: Fault) -> Problem | None:
    """A line that is not `name = value`."""
    line = fault.line
    stripped = line.strip()
    start = fault.line_start + len(line) - len(line.lstrip())
    end = start + len(stripped)
    if fault.open_brackets and not fault.message.startswith(("Expected '='", "Invalid statement")):
        return None
    if stripped.startswith(COMMENTS):
        return fault.problem(
            "toml-comment", "a remark begins with #", start, end, found=stripped, expected="# before it"
        )
    if fault.message.startswith("Expected '='"):
        return _no_equals(fault, stripped, start, end)
    if fault.message.startswith(("Invalid statement", "Invalid initial character")):
        return _no_name(fault, stripped, start)
    return None


def _no_name(fault: Fault, stripped: str, start: int) -> Problem | None:
    """A line that begins with what cannot be a name."""
    if stripped.startswith("="):
        return fault.problem(
            "toml-no-name", "no name stands before =", start, start + 1, expected="name = value"
        )
    if stripped.startswith(("]", "}", ")")):
        return _stray_bracket(fault, stripped[0])
    word = re.match(r"[^\s=.\[\]]+", fault.line[fault.offset - fault.line_start :])
    if word is not None and any(char.isalpha() for char in word[0]):
        message = f'the name "{word[0]}" has letters that need quotes'
        where = fault.offset
        return fault.problem("toml-name", message, where, where + len(word[0]), expected=quoted(word[0]))
    return None


def _no_equals(fault: Fault, stripped: str, start: int, end: int) -> Problem | None:
    if fault.here == ":":
        return fault.problem(
            "toml-equals", "a name and its value are joined by =, not by :", found=":", expected="="
        )
    name = re.match(r"(?P<name>[\w -]+?)\s*=(?!=)", stripped)
    if name is not None and " " in name["name"]:
        joined = re.sub(r"\s+", "_", name["name"])
        message = f'the name "{name["name"]}" has a space in it'
        return fault.problem(
            "toml-name", message, start, start + len(name["name"]), found=name["name"], expected=joined
        )
    before = re.search(r"[A-Za-z0-9_-]*$", fault.text[fault.line_start : fault.offset])
    begin = fault.offset - (len(before[0]) if before else 0)
    odd = re.match(r"[A-Za-z0-9_-]*[^\x00-\x7f][\w-]*", fault.text[begin : begin + 100])
    if odd is not None and "=" in stripped:
        message = f'the name "{odd[0]}" has letters that need quotes'
        return fault.problem(
            "toml-name", message, begin, begin + len(odd[0]), found=odd[0], expected=quoted(odd[0])
        )
    if fault.open_brackets:
        start, end = fault.offset, fault.offset + 1
    return fault.problem(
        "toml-equals",
        "there is no = between a name and its value",
        start,
        end,
        found=stripped,
        expected="name = value",
    )


def after_value(fault: Fault) -> Problem | None:
    """Something behind a value on its line."""
    if not fault.message.startswith("Expected newline"):
        return None
    rest = fault.line[fault.offset - fault.line_start :]
    if fault.here in ("]", "}", ")"):
        return _stray_bracket(fault, fault.here)
    if rest.startswith(COMMENTS) and fault.here != ";":
        return fault.problem(
            "toml-comment", "a remark begins with #", found=rest.strip(), expected="# before it"
        )
    if fault.here in (";", ",") and not rest[1:].strip():
        return fault.problem("toml-extra", f"no {fault.here} is needed at the end", found=fault.here)
    end = fault.offset + len(rest.rstrip())
    if KEY_AND_EQUALS.match(rest.lstrip(",;")):
        return fault.problem(
            "toml-extra", "this needs a line of its own", fault.offset, end, found=rest.strip()
        )
    return fault.problem(
        "toml-extra",
        f"this is left over behind the value: {shortened(rest.strip())}",
        fault.offset,
        end,
        found=shortened(rest.strip()),
        expected="one value on a line, in quotes when it is not a plain number",
    )


def _stray_bracket(fault: Fault, mark: str) -> Problem:
    return fault.problem(
        "toml-bracket", f"there is a {mark} too many", found=mark, expected=f"no {mark} here"
    )


def diagnose(text: str, name: str, error: TOMLDecodeError) -> Problem:
    """The one problem that stands for a syntax error."""
    fault = locate(text, name, error)
    for slip in _SLIPS:
        if len(fault.line) > _LONG_LINE and slip in _READ_LINES:
            continue
        problem = slip(fault)
        if problem is not None:
            return problem
    if fault.message == "Invalid value" and fault.here.strip():
        message = f"{fault.here} does not begin a value"
        return fault.problem("toml-value", message, found=fault.here, expected="a number, or text in quotes")
    return fault.problem("toml-syntax", f"this is not TOML: {_plain(fault.message)}")


_LISTS: Final = ("screw_eye", "profile.window", "plan.window", "rule", "change")
"""Tables of our files of which there may be several."""


def _repeated(fault: Fault) -> Problem | None:
    """A key or table that is given twice."""
    if not fault.message.startswith(("Cannot ", "Duplicate ")):
        return None
    repeats = find_places(fault.text).repeats
    if not repeats:
        return None
    repeat = repeats[0]
    what = _dotted(repeat.path)
    is_table = fault.text[slice(*repeat.second)].startswith("[") or fault.text[repeat.second[0] - 1] == "["
    kind = "table" if is_table else "name"
    return fault.problem(
        "toml-repeated",
        f'the {kind} "{what}" is given twice',
        *repeat.second,
        found=what,
        expected=f"[[{what}]] with two brackets, for each of several" if what in _LISTS and is_table else "",
        related=(("first given here", fault.lines.span(*repeat.first)),),
    )


def _old_line_ends(fault: Fault) -> Problem | None:
    if fault.here == "\r" or "'\\r'" in fault.message:
        return fault.problem(
            "toml-line-end",
            "the lines of this file end in an old way",
            expected="the file saved with usual line ends",
        )
    return None


def _dates(fault: Fault) -> Problem | None:
    if "date or datetime" not in fault.message:
        return None
    return fault.problem("toml-date", "this date does not exist", expected="a date such as 2024-05-31")


_SLIPS: Final[tuple[Callable[[Fault], Problem | None], ...]] = (
    _repeated,
    _old_line_ends,
    smart_quotes,
    value_slip,
    open_quote,
    statement_slip,
    lone_quote,
    bracket_slip,
    after_value,
    character_slip,
    _dates,
)
_LONG_LINE: Final = 2000
_READ_LINES: Final = (value_slip, lone_quote, statement_slip)
"""Slips that look for patterns in the whole line, which takes too long when it has no end."""


def _plain(message: str) -> str:
    return message[:1].lower() + message[1:]


def _dotted(path: KeyPath) -> str:
    return ".".join(str(part) for part in path if isinstance(part, str))
