"""Why a text is not TOML, in the words of the person who wrote it.

The standard reader stops at the first error and says where; what a student most likely did is read
from the text around that place. Each slip is a function that looks at the error and either knows it or
passes it on; the reader's own words are the last resort.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Final

from bodyshop.problems import Problem
from bodyshop.source.paths import KeyPath
from bodyshop.source.places import find_places
from bodyshop.source.slips.brackets import bracket_slip
from bodyshop.source.slips.fault import Fault, locate
from bodyshop.source.slips.lines import after_value, statement_slip
from bodyshop.source.slips.quotes import character_slip, lone_quote, open_quote, smart_quotes
from bodyshop.source.slips.values import value_slip

__all__ = ["diagnose"]


def diagnose(text: str, name: str, error: tomllib.TOMLDecodeError) -> Problem:
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
