"""Lines that are not `name = value`, and what is left over behind a value."""

from __future__ import annotations

import re

from bodyshop.problems import Problem
from bodyshop.source.slips.fault import COMMENTS, KEY_AND_EQUALS, Fault, clip, quoted

__all__ = ["after_value", "statement_slip"]


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
        f"this is left over behind the value: {clip(rest.strip())}",
        fault.offset,
        end,
        found=clip(rest.strip()),
        expected="one value on a line, in quotes when it is not a plain number",
    )


def _stray_bracket(fault: Fault, mark: str) -> Problem:
    return fault.problem(
        "toml-bracket", f"there is a {mark} too many", found=mark, expected=f"no {mark} here"
    )
