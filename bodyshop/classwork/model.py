"""What is kept of each car of a class: plain and small, so that it travels between processes.

Terms: a row is one file of the class; a book is one rulebook for one division; needs are the stock that
one car takes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bodyshop.lengths import MassUnit
from bodyshop.problems import Problem

__all__ = [
    "Book",
    "CarRow",
    "CheckOptions",
    "Clause",
    "Cut",
    "Needs",
    "Row",
    "SkippedRow",
    "Standing",
    "Supply",
    "Thumbnail",
    "UnreadRow",
]


class Standing(Enum):
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
        return self in (Standing.NOT_JUDGED, Standing.PASSES)

    @property
    def rank(self) -> int:
        """Place in the order worst first."""
        return _ORDER[self]


_ORDER = {standing: place for place, standing in enumerate(Standing)}


class Supply(Enum):
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
class Book:
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

    supply: Supply
    item: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class Needs:
    """The stock that one car takes: pieces by shelf and item, pieces cut to length, skin to cover (mm²).

    An item is the word that a design uses for it, with what the student changed about it. `brought` holds the
    label of each item that the event brings, and the length of its rods (mm; 0 for what is no rod).
    """

    pieces: tuple[tuple[Supply, str, int], ...]
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
    standing: Standing
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
    needs: Needs
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
