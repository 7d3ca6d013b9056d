"""Problems as a person reads them: the place, one sentence, the line itself and what to look at in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final

from bodyshop.foundation.problems import Problem, Severity, Span
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, printable, width_of, wrap

__all__ = ["MOST_TOLD", "FileLines", "LineOf", "problems_report"]

MOST_TOLD: Final = 20
"""Problems told one by one; more are only counted, since one slip often causes many."""

_READ_AT_MOST: Final = 1_000_000
_BEFORE_MARK: Final = 24
"""Columns kept in sight before the marked part of a line that is cut at its beginning."""

LineOf = Callable[[str, int], str | None]
"""The text of a line, counted from 1, of a file by the name it has in problems."""


class FileLines:
    """Lines of files, each file read once, when first asked for; None for what cannot be had."""

    def __init__(self) -> None:
        self._files: dict[str, list[str]] = {}

    def __call__(self, file: str, line: int) -> str | None:
        """The text of a line without its end."""
        if file not in self._files:
            self._files[file] = _lines(file)
        lines = self._files[file]
        return lines[line - 1] if 0 < line <= len(lines) else None


def _lines(file: str) -> list[str]:
    path = Path(file)
    try:
        if not path.is_file():
            return []
        with path.open("rb") as stream:
            data = stream.read(_READ_AT_MOST)
    except (OSError, ValueError):
        return []
    # TOML lines end in \n or \r\n; splitlines would cut at many other marks.
    text = data.decode("utf-8", errors="replace").removeprefix("\ufeff")
    return [line.removesuffix("\r") for line in text.split("\n")]


def problems_report(
    problems: Sequence[Problem],
    *,
    width: int = 80,
    ink: TextStyle | None = None,
    line_of: LineOf | None = None,
    most: int = MOST_TOLD,
) -> str:
    """The problems in the order given, ending in a newline; those beyond `most` counted."""
    ink, line_of = ink or TextStyle(), line_of or FileLines()
    lines: list[str] = []
    for problem in problems[:most]:
        lines.extend(_problem_lines(problem, width, ink, line_of))
    left = len(problems) - most
    if left > 0:
        more = "problem" if left == 1 else "problems"
        lines.append(f"... and {left} more {more}; mend these first, and some of those may go with them.")
    return "\n".join(lines) + "\n" if lines else ""


def _problem_lines(problem: Problem, width: int, ink: TextStyle, line_of: LineOf) -> Iterable[str]:
    paint = ink.bad if problem.severity is Severity.ERROR else ink.near
    where = printable(problem.where)
    kind = f"{problem.severity.value} {problem.code}:"
    head = f"{where}: {kind}" if where else kind
    sentence = printable(problem.sentence)
    if width_of(where) + 1 > width - 4:
        # An editor jumps to file:line:column, so a place longer than the line is never cut.
        yield f"{where}:"
        head = f"    {kind}"
    for line in wrap(f"{head} {sentence}", width, "", "    "):
        yield line.replace(kind, paint(kind), 1)
    if problem.span is not None:
        yield from _shown(problem.file, problem.span, width, line_of)
    for label, span in problem.related:
        yield f"    {printable(label)} (line {span.line}):"
        yield from _shown(problem.file, span, width, line_of)


def _shown(file: str, span: Span, width: int, line_of: LineOf) -> Iterable[str]:
    """The line a span begins in, and carets under the part that the span marks."""
    text = line_of(file, span.line)
    if text is None:
        return
    start = min(max(span.column - 1, 0), len(text))
    end = min(span.end_column - 1, len(text)) if span.end_line == span.line else len(text.rstrip())
    before, marked, after = (_expanded(part) for part in (text[:start], text[start:end], text[end:]))
    gutter = f"{span.line:5} | "
    room = max(20, width - len(gutter))
    if width_of(before) + max(1, width_of(marked)) > room:
        before = _end_of(before, _BEFORE_MARK)
    carets = "^" * max(1, min(width_of(marked), room - width_of(before)))
    yield (gutter + clip(before + marked + after, room)).rstrip()
    yield " " * (len(gutter) - 2) + "| " + " " * width_of(before) + carets


def _expanded(text: str) -> str:
    """Tabs as four spaces, so that the carets stand where the text does; nothing that steers a terminal."""
    return printable(text.replace("\t", "    "))


def _end_of(text: str, columns: int) -> str:
    """The last columns of a text, with dots before it."""
    kept = text
    while width_of(kept) > columns - 3:
        kept = kept[max(1, (len(kept) - columns) // 2) :] if len(kept) > 4 * columns else kept[1:]
    return "..." + kept
