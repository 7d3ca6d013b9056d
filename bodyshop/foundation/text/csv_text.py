"""Tables as text for spreadsheet programs: RFC 4180, UTF-8, and no cell that such a program would run.

With a byte-order mark: without it the usual programs take another code page and spoil every letter with an
accent.

A text that a program would take for a formula has an apostrophe before it, which says that it is a text. A
program that parts cells at another mark than the comma sees other cells than were meant, and no quotes: a
cell `x;=1+1` would become two, the second one a formula. So the apostrophe stands as well wherever a formula
would begin behind such a mark or on a new line. `unguarded` takes away what `guarded` put in, and no more.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Final

__all__ = ["csv_bytes", "guarded", "unguarded"]

_SIGNS: Final = "=+\\-@＝＋－＠"  # noqa: RUF001 - the wide forms are taken for formulas too
_BEGINS: Final = re.compile(rf"'?(?:\s*[{_SIGNS}]|[\t\r\n])|''")
_INSIDE: Final = re.compile(rf"""([;|\t\r\n\v\f\x1c-\x1e\x85\u2028\u2029][\s"]*)(?='*[{_SIGNS}])""")
_BEGAN: Final = re.compile(rf"'(?=\s*[{_SIGNS}]|[\t\r\n'])")
_WENT_ON: Final = re.compile(rf"""([;|\t\r\n\v\f\x1c-\x1e\x85\u2028\u2029][\s"]*)'(?='*[{_SIGNS}])""")


def csv_bytes(rows: Iterable[Sequence[str | float]]) -> bytes:
    """Rows as a file. Texts that are not ours are to be `guarded` before."""
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return ("\ufeff" + text.getvalue()).encode("utf-8")


def guarded(text: str) -> str:
    """A text that no spreadsheet program takes for a formula, whatever it parts cells at."""
    inside = _INSIDE.sub(r"\1'", text)
    return f"'{inside}" if _BEGINS.match(inside) else inside


def unguarded(text: str) -> str:
    """The text that was guarded."""
    return _WENT_ON.sub(r"\1", text[1:] if _BEGAN.match(text) else text)
