"""The files of a class found, and what a class report holds."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Final

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.units import MassUnit

__all__ = [
    "AppliedRulebook",
    "CarRow",
    "CarState",
    "CheckOptions",
    "ClassFile",
    "ClassFolder",
    "Clause",
    "Cut",
    "MOST_FILES",
    "Row",
    "SUFFIX",
    "SkippedRow",
    "StockNeeds",
    "SupplyShelf",
    "Thumbnail",
    "UnreadRow",
    "class_files",
]


class CarState(Enum):
    """How a car stands, worst first."""

    FAILS = "fails"
    SHOW_ONLY = "show only"
    POINTS_OFF = "points off"
    PROBABLY_FAILS = "probably fails"
    """An estimate is outside a limit, but not with its whole range."""
    NOT_JUDGED = "not judged"
    """A rule with a consequence could not be judged."""
    PASSES = "passes"

    @property
    def passes(self) -> bool:
        """Whether no rule is broken, or probably broken."""
        return self in (CarState.NOT_JUDGED, CarState.PASSES)

    @property
    def rank(self) -> int:
        """Place in the order worst first."""
        return _ORDER[self]


_ORDER = {standing: place for place, standing in enumerate(CarState)}


class SupplyShelf(Enum):
    """Shelves of the stock plan, in the order in which they are told."""

    BLANK = "blanks"
    FRONT_WHEEL = "front wheels"
    REAR_WHEEL = "rear wheels"
    SPARE_WHEEL = "spare wheels declared"
    AXLE = "axles"
    BEARING = "bearings"
    WASHER = "washers"
    EYE = "screw eyes"
    CLIP = "clips"
    CARTRIDGE = "cartridges"
    FINISH = "finish"
    GLUE = "glue"


@dataclass(frozen=True, slots=True)
class CheckOptions:
    """How every file is checked: `rulebook` and `division` as typed (empty for each design's own);
    `thumbnails` says that outlines are wanted.
    """

    rulebook: str = ""
    division: str = ""
    thumbnails: bool = False


@dataclass(frozen=True, slots=True)
class Clause:
    """One rule of a book as far as a summary needs it."""

    clause: str
    title: str
    judged: bool
    """Whether the program judges it."""


@dataclass(frozen=True, slots=True)
class AppliedRulebook:
    """A rulebook for a division. `key` is short, and the same for the same rules."""

    key: str
    name: str
    division: str
    file: str
    fingerprint: str
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece cut from a rod or a straw: which one, and how long (mm)."""

    supply: SupplyShelf
    item: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class StockNeeds:
    """The stock that one car takes: pieces by shelf and item, pieces cut to length, skin to cover (mm²).

    An item is the word that a design uses for it, with what the student changed about it. `brought` holds the
    label of each item that the event brings, and the length of its rods (mm; 0 for what is no rod).
    """

    pieces: tuple[tuple[SupplyShelf, str, int], ...]
    cuts: tuple[Cut, ...]
    finish: str
    glue: str
    skin_mm2: float
    brought: tuple[tuple[str, str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Thumbnail:
    """A car drawn small: SVG path data in whole half millimetres, the side above and the top below.

    `box` is x, y, width and height of both together; `wheels` are the circles of the side view as x, y, r.
    """

    box: tuple[int, int, int, int]
    side: str
    top: str
    wheels: tuple[tuple[int, int, int], ...]
    treads: str
    """The wheels of the top view, as path data."""


@dataclass(frozen=True, slots=True)
class CarRow:
    """A car that was judged.

    Clauses are given worst first. `shape` is the same for two bodies of one geometry; masses in g, printed in
    `mass_unit`, which is that of its rulebook.
    """

    file: str
    name: str
    bench: str
    units: str
    book: str
    by_default: bool
    standing: CarState
    failed: tuple[str, ...]
    too_close: tuple[str, ...]
    near: tuple[str, ...]
    advised: tuple[str, ...]
    unjudged: tuple[str, ...]
    points_off: float
    mass_g: float
    low_g: float
    high_g: float
    loaded_g: float
    mass_unit: MassUnit
    fingerprint: str
    shape: str
    warnings: tuple[Problem, ...]
    needs: StockNeeds
    thumbnail: Thumbnail | None = None


@dataclass(frozen=True, slots=True)
class UnreadRow:
    """A file that could not be read or judged: its first problems, and how many there are in all."""

    file: str
    problems: tuple[Problem, ...]
    count: int


@dataclass(frozen=True, slots=True)
class SkippedRow:
    """A file that is no design, and what it is instead."""

    file: str
    what: str


Row = CarRow | UnreadRow | SkippedRow


SUFFIX: Final = ".toml"
MOST_FILES: Final = 20_000
"""More designs than this are no class: somebody named the wrong folder."""

_MOST_ENTRIES: Final = 500_000
_DEEPEST: Final = 12
_NUMBER: Final = re.compile(r"([0-9]+)")


@dataclass(frozen=True, slots=True)
class ClassFile:
    """One file: where it is, and its name below the class's folder, with `/` on every system."""

    path: str
    shown: str


@dataclass(frozen=True, slots=True)
class ClassFolder:
    """The files of a class in the order of their names, numbers in them by size; and what could not be
    looked into.
    """

    folder: str
    files: tuple[ClassFile, ...]
    closed: tuple[Problem, ...]


def class_files(folder: Path | str) -> ClassFolder:
    """Every `*.toml` in a folder and below it.

    Raises:
        ProblemsError: it is no folder, may not be read, or holds far too much.
    """
    top = Path(folder)
    files: list[ClassFile] = []
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
                files.append(ClassFile(place, f"{below}{name}"))
        if len(files) > MOST_FILES or seen > _MOST_ENTRIES:
            raise ProblemsError([_too_much(str(top))])
    return ClassFolder(
        str(folder), tuple(sorted(files, key=lambda entry: natural(entry.shown))), tuple(closed)
    )


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
