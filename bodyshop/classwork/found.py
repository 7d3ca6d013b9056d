"""Which files of a folder are designs of a class, and in which order.

Sub-folders are looked into, since most classes keep one for each bench. Names that begin with a dot, and
folders that are links, are left out: they lead out of the class, or in a circle.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError, nearest

__all__ = ["MOST_FILES", "SUFFIX", "Entry", "Found", "class_files"]

SUFFIX: Final = ".toml"
MOST_FILES: Final = 20_000
"""More designs than this are no class: somebody named the wrong folder."""

_MOST_ENTRIES: Final = 500_000
_DEEPEST: Final = 12
_NUMBER: Final = re.compile(r"([0-9]+)")


@dataclass(frozen=True, slots=True)
class Entry:
    """One file: where it is, and its name below the class's folder, with `/` on every system."""

    path: str
    shown: str


@dataclass(frozen=True, slots=True)
class Found:
    """The files of a class in the order of their names, numbers in them by size; and what could not be
    looked into.
    """

    folder: str
    files: tuple[Entry, ...]
    closed: tuple[Problem, ...]


def class_files(folder: Path | str) -> Found:
    """Every `*.toml` in a folder and below it.

    Raises:
        ProblemsError: it is no folder, may not be read, or holds far too much.
    """
    top = Path(folder)
    files: list[Entry] = []
    closed: list[Problem] = []
    seen = 0
    waiting: list[tuple[str, str, int]] = [(str(top), "", 0)]
    while waiting:
        path, below, depth = waiting.pop()
        try:
            with os.scandir(path) as entries:
                listed = [(entry.name, entry.path, _is_folder(entry)) for entry in entries]
        except (OSError, ValueError) as error:
            problem = _unreadable(path, error)
            if not depth:
                raise ProblemsError([problem]) from None
            closed.append(problem)
            continue
        seen += len(listed)
        for name, place, is_folder in listed:
            if name.startswith("."):
                continue
            if is_folder:
                if depth < _DEEPEST:
                    waiting.append((place, f"{below}{name}/", depth + 1))
            elif name.casefold().endswith(SUFFIX):
                files.append(Entry(place, f"{below}{name}"))
        if len(files) > MOST_FILES or seen > _MOST_ENTRIES:
            raise ProblemsError([_too_much(str(top))])
    return Found(str(folder), tuple(sorted(files, key=lambda entry: natural(entry.shown))), tuple(closed))


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key to sort by: capitals do not count, and 2 comes before 10."""
    parts = _NUMBER.split(text.casefold())
    return (
        *((1, int(part[:18]), part) if part.isdecimal() else (0, 0, part) for part in parts),
        (0, 0, text),
    )


def _is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether to look into it: a folder, not a link to one."""
    try:
        return entry.is_dir(follow_symlinks=False)
    except OSError:
        return False


def _unreadable(path: str, error: OSError | ValueError) -> Problem:
    shown = path if path.isprintable() else repr(path)[1:-1]
    if isinstance(error, FileNotFoundError | ValueError):
        return Problem(
            "file-missing",
            "there is no such folder",
            file=shown,
            expected="a folder with design files in it",
            nearest=_neighbour(path),
        )
    if isinstance(error, NotADirectoryError):
        return Problem(
            "file-not-folder", "this is not a folder", file=shown, expected="a folder with design files in it"
        )
    if isinstance(error, PermissionError):
        return Problem("file-unreadable", "the folder may not be read", file=shown)
    reason = os.strerror(error.errno).lower() if error.errno else "unknown reason"
    return Problem("file-unreadable", f"the folder cannot be read ({reason})", file=shown)


def _neighbour(path: str) -> str:
    try:
        folder = Path(path)
        names = [entry.name for entry in os.scandir(folder.parent) if entry.is_dir()]
    except (OSError, ValueError):
        return ""
    close = nearest(folder.name, sorted(names))
    return str(folder.with_name(close)) if close else ""


def _too_much(folder: str) -> Problem:
    return Problem(
        "class-size",
        "this folder holds far more than a class",
        file=folder,
        expected=f"at most {MOST_FILES} design files",
    )
