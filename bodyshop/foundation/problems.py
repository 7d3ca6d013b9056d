"""Everything a user can get wrong, as data.

A `Problem` says that a file cannot be understood: where, what was found, what was expected and the
nearest valid name. It holds data only; `sentence` and the reports turn it into words.

Two exceptions leave the low rooms for a person to see:

    Exception
    ├── ProblemsError      one or more problems in what the user gave us (exit code 2)
    └── WriteRefusedError  a file or folder we may not, or cannot, write (exit code 2)

Anything else that is raised is a fault in this program.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

__all__ = ["Problem", "ProblemsError", "Severity", "Span", "WriteRefusedError", "nearest"]


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of a text file. Lines and columns count from 1, in characters; the end is exclusive."""

    line: int
    column: int
    end_line: int
    end_column: int


class Severity(Enum):
    """How much a problem matters. An error stops the work; a warning does not."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with an input.

    `code` is a short stable name such as `length-unit`; `message` is one plain clause, without the
    place and without a full stop; `found` and `expected` are quoted pieces when they help; `nearest`
    is a valid name close to the one found; `key` is the dotted path in the file; `related` points at
    other places that matter (the first use of a repeated key).
    """

    code: str
    message: str
    file: str = ""
    span: Span | None = None
    key: str = ""
    found: str = ""
    expected: str = ""
    nearest: str = ""
    severity: Severity = Severity.ERROR
    related: tuple[tuple[str, Span], ...] = ()

    @property
    def sentence(self) -> str:
        """The message with what was expected and the nearest name, without the place."""
        parts = [self.message]
        if self.expected:
            parts.append(f"; expected {self.expected}")
        if self.nearest:
            parts.append(f"; did you mean {self.nearest}?")
        return "".join(parts)

    @property
    def where(self) -> str:
        """`file:line:column`, as much of it as is known."""
        if self.span is None:
            return self.file
        return f"{self.file}:{self.span.line}:{self.span.column}"

    def sort_key(self) -> tuple[str, Span, str]:
        """Order in which people read problems: by file, then down the page."""
        return (self.file, self.span or Span(0, 0, 0, 0), self.code)


class ProblemsError(Exception):
    """One or more problems in what the user gave us, in reading order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(problems, key=Problem.sort_key))
        super().__init__("; ".join(f"{p.where}: {p.sentence}" for p in self.problems))

    def __reduce__(self) -> tuple[type[ProblemsError], tuple[tuple[Problem, ...]]]:
        """How it is sent to another process."""
        return type(self), (self.problems,)


class WriteRefusedError(Exception):
    """A file or folder that we may not, or cannot, write. `path` is as the user named it."""

    def __init__(self, path: str, reason: str) -> None:
        self.path = path
        self.reason = reason
        super().__init__(f"{path}: {reason}")


_LONGEST_WORD = 80


def nearest(word: str, choices: Iterable[str]) -> str:
    """The choice most like `word`, or an empty string when none is close."""
    if len(word) > _LONGEST_WORD:  # the comparison is slow on long text, and no name is that long
        return ""
    options: Sequence[str] = list(choices)
    by_fold = {option.casefold(): option for option in options}
    found = difflib.get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.6)
    return by_fold[found[0]] if found else ""
