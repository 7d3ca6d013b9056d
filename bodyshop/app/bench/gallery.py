"""A folder of designs as the page shows it: each with a small drawing, its verdict and its mass."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bodyshop.app.bench.file_sync import drafts_in
from bodyshop.app.bench.folder import Folder
from bodyshop.app.bench.messages import Data
from bodyshop.foundation.problems import Problem
from bodyshop.output.words.classroom import clean, mass_words, verdict_words
from bodyshop.records.classroom import CheckOptions, ClassFile, class_files
from bodyshop.records.classroom.check_file import Checker
from bodyshop.records.classroom.discovery import CarRow, CarState, Row, SkippedRow, Thumbnail, UnreadRow

__all__ = ["Gallery"]

MOST: Final = 400
"""More designs than this are not shown: a page of that many is of use to nobody."""

_SIGNS: Final = {
    CarState.PASSES: "✓",
    CarState.PROBABLY_FAILS: "≈",
    CarState.NOT_JUDGED: "?",
    CarState.POINTS_OFF: "✕",
    CarState.SHOW_ONLY: "✕",
    CarState.FAILS: "✕",
}


class Gallery:
    """The designs of a folder. A file that has not changed is not measured again."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._rows: dict[str, tuple[tuple[int, int], Data]] = {}

    def data(self) -> Data:
        """All of the page. Raises `ProblemsError` for a folder that is gone."""
        entries = self._entries()
        rows = list(self._problem_line(entries[:MOST]))
        return {
            "folder": self._folder.root.name,
            "rows": rows,
            "more": max(0, len(entries) - MOST),
            "drafts": [draft.name for draft in drafts_in(self._folder.root)],
        }

    def _entries(self) -> list[ClassFile]:
        found = class_files(self._folder.root).files
        return [entry for entry in found if self._folder.holds(self._folder.root / entry.shown)]

    def _problem_line(self, entries: list[ClassFile]) -> Iterator[Data]:
        checker: Checker | None = None
        stamps = {entry.shown: self._stamp(entry) for entry in entries}
        if any(kept[1] is None and stamps.get(name) != kept[0] for name, kept in self._rows.items()):
            self._rows.clear()  # a rulebook of the folder has changed: every design may stand differently
        for entry in entries:
            stamp = stamps[entry.shown]
            kept = self._rows.get(entry.shown)
            if kept is None or kept[0] != stamp:
                checker = checker or Checker(CheckOptions(thumbnails=True))  # its rulebooks read afresh
                row, _ = checker.row(entry)
                kept = self._rows[entry.shown] = (stamp, _row(row))
            if kept[1] is not None:
                yield kept[1]

    def _stamp(self, entry: ClassFile) -> tuple[int, int]:
        try:
            found = (self._folder.root / entry.shown).stat()
        except OSError:
            return 0, 0
        return found.st_mtime_ns, found.st_size


def _row(row: Row) -> Data:
    match row:
        case CarRow():
            return {
                "file": row.file,
                "name": clean(row.name),
                "bench": clean(row.bench),
                "sign": _SIGNS[row.standing],
                "verdict": verdict_words(row),
                "state": "pass" if row.standing is CarState.PASSES else "fail",
                "failed": list(row.failed),
                "mass": mass_words(row),
                "mark": row.fingerprint,
                "drawing": None if row.thumbnail is None else _drawing(row.thumbnail),
            }
        case UnreadRow():
            return {
                "file": row.file,
                "name": row.file,
                "bench": "",
                "sign": "✕",
                "verdict": "cannot be read",
                "state": "unread",
                "failed": [_problem_line(problem) for problem in row.problems[:2]],
                "mass": "",
                "mark": "",
                "drawing": None,
            }
        case SkippedRow():
            return None


def _problem_line(problem: Problem) -> str:
    line = f"line {problem.span.line}: " if problem.span is not None else ""
    return clean(f"{line}{problem.sentence}")


def _drawing(small: Thumbnail) -> Data:
    return {
        "box": list(small.box),
        "side": small.side,
        "top": small.top,
        "wheels": [list(wheel) for wheel in small.wheels],
        "treads": small.treads,
    }
