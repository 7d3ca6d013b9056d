"""Brackets left open, closed too often or by the wrong mark, and commas left out between values."""

from __future__ import annotations

from bodyshop.problems import Problem, Span
from bodyshop.source.scan import Token
from bodyshop.source.slips.fault import KEY_AND_EQUALS, Fault

__all__ = ["bracket_slip"]


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
