"""A rulebook as read: every limit in mm, g, rad or a count, every word from a closed list.

How limits are read. A measured value is first rounded, halves to even, to the rule's resolution, and
then compared; limits are inclusive. With a resolution of 0.1 mm and a least of 26 mm, 25.96 reads 26.0
and passes, 25.9 fails. A value that is inside as it stands is never rounded out of a limit that lies
between two marks of the resolution.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from pathlib import PurePath

from bodyshop.car.design.model import Kit
from bodyshop.car.measures.catalogue import MeasuringState, QuantityKind
from bodyshop.car.stock.cautions import Operation
from bodyshop.foundation.problems import Problem, Span
from bodyshop.foundation.toml import KeyPath, Source
from bodyshop.foundation.units import LengthUnit, MassUnit

__all__ = [
    "SIDES_OF_A_WHEEL",
    "ClauseChange",
    "CheckedBy",
    "Doubt",
    "BreachEffects",
    "Limits",
    "ReadingSteps",
    "Rounding",
    "Rule",
    "Rulebook",
    "Score",
    "RulebookPlace",
    "Times",
    "CountedAs",
]

SIDES_OF_A_WHEEL = (".left", ".right")
"""What stands behind a wheel's measure for one wheel of the pair, where the two were measured apart."""


class BreachEffects(Enum):
    """What follows when a rule is broken."""

    DISQUALIFY = "disqualify"
    SHOW_ONLY = "show only"
    BALLAST = "ballast"
    POINTS_PER_UNIT = "points per unit"
    POINTS_ONCE = "points once"
    NO_AWARD = "no award"
    """The car races, but an award is barred to it."""
    ADVICE = "advice"


class CheckedBy(Enum):
    """Who has the last word on the finished car."""

    PROGRAM = "program"
    GAUGE = "gauge"
    EYES = "eyes"


class Rounding(Enum):
    """How a part of a unit counts where points are taken per unit."""

    UP = "up"
    DOWN = "down"
    NEAREST = "nearest"


class CountedAs(Enum):
    """How a rule over several measures counts."""

    WORST = "worst"
    """Once, for the measure that is worst."""
    EACH = "each"
    """For each measure that is outside."""


class Times(Enum):
    """For how many things the measure of a rule stands."""

    ONCE = "once"
    WHEEL = "wheel"
    """For each wheel: the measure of an axle's wheels stands for two."""


class Doubt(Enum):
    """How a reading of the finished car is decided that lies within its instrument's step of a limit."""

    FOR_THE_CAR = "for the car"
    OPEN = "open"
    FAIL = "fail"


@dataclass(frozen=True, slots=True)
class RulebookPlace:
    """A key in a rulebook file. Its span is found only when asked for: that needs a second parser."""

    source: Source = field(repr=False)
    path: KeyPath

    @property
    def file(self) -> str:
        """The file, as it was named."""
        return self.source.name

    @property
    def span(self) -> Span:
        """Where the value stands."""
        return self.source.span(self.path)

    def beside(self, label: str, source: Source) -> tuple[tuple[str, Span], ...]:
        """This place as one that matters to a problem in `source`; none where it is in another file."""
        return ((label, self.span),) if self.source is source else ()

    def elsewhere(self, source: Source) -> str:
        """` (our-event.toml, line 12)` where it is in another file than `source`, else nothing."""
        return "" if self.source is source else f" ({PurePath(self.file).name}, line {self.span.line})"


@dataclass(frozen=True, slots=True)
class Limits:
    """What a value must lie in: from `low` to `high`, both included, or equal to one of `one_of`.

    An end left open is None. `exact` and `tolerance` are set when the rule was written so; then `low`
    and `high` hold the ends.
    """

    low: float | None = None
    high: float | None = None
    exact: float | None = None
    tolerance: float = 0.0
    one_of: tuple[float, ...] = ()

    @property
    def is_point(self) -> bool:
        """Whether single values are asked for, so that no value is well inside."""
        return bool(self.one_of) or (self.low is not None and self.low == self.high)

    @property
    def ends(self) -> tuple[float, float]:
        """The least and the greatest value that is inside; infinite where an end is open."""
        if self.one_of:
            return self.one_of[0], self.one_of[-1]
        return -math.inf if self.low is None else self.low, math.inf if self.high is None else self.high


@dataclass(frozen=True, slots=True)
class ReadingSteps:
    """How the book reads limits: per kind the resolution, and the margin under which a pass is near; and
    how a reading is decided that its instrument cannot tell from a limit.
    """

    resolution: Mapping[QuantityKind, float]
    near: Mapping[QuantityKind, float]
    doubt: Doubt = Doubt.OPEN


@dataclass(frozen=True, slots=True)
class Rule:
    """One clause.

    A rule names a `measure` of the catalogue or is an `item` for an inspector (then `measure` is empty
    and the words of `item` say what). `kind` is None for an item without limits. `unit` is the one its
    lengths were written in. `resolution` and `near` are in the unit of the kind; zero means none.
    `past` is a length that a reading is counted from: what lies past a plane set off that far. `source`
    says where the figures come from, where the book tells it.
    `spots` tells where each key of the rule stands, which may be in the book it was inherited from.

    A rule over several measures holds them all in `several`, and `together` says how they count; `measure` is
    the first of them, and in a verdict the one that it is about. With `times` per wheel what it costs counts
    for every wheel that is outside. `fails` is the gravest consequence and `also` holds the others; `ballast`
    is the mass (g) to add for each `per` that is missing, zero where it is ballast up to the limit;
    `most_points` the most that the rule can take; `award` the award that is barred. `accept` is the
    reason for which doubts about this very rule have been dismissed. `first` is the stretch (mm from the
    mouth of the bore) that a wall is measured over, zero where that is all of it; the id of the measure
    tells it too.
    """

    clause: str
    title: str
    section: str
    measure: str
    item: str
    kind: QuantityKind | None
    state: MeasuringState | None
    limits: Limits | None
    unit: LengthUnit
    resolution: float
    near: float
    fails: BreachEffects
    points: float
    per: float
    rounding: Rounding
    checked_by: CheckedBy
    reason: str
    instruction: str
    spot: RulebookPlace = field(compare=False, repr=False)
    spots: Mapping[str, RulebookPlace] = field(compare=False, repr=False)
    past: float = 0.0
    first: float = 0.0
    source: str = ""
    mass_unit: MassUnit = MassUnit.G
    several: tuple[str, ...] = ()
    together: CountedAs = CountedAs.WORST
    times: Times = Times.ONCE
    also: tuple[BreachEffects, ...] = ()
    ballast: float = 0.0
    most_points: float = math.inf
    award: str = ""
    doubt: Doubt = Doubt.OPEN
    accept: str = ""

    @property
    def consequences(self) -> tuple[BreachEffects, ...]:
        """All that follows when it is broken, the gravest first."""
        return (self.fails, *self.also)

    @property
    def measures(self) -> tuple[str, ...]:
        """All measures it bounds; none where it is an item for an inspector."""
        return self.several or ((self.measure,) if self.measure else ())

    @property
    def shown_unit(self) -> LengthUnit | MassUnit:
        """The unit in which the rule's own quantities are printed: the one they were written in."""
        return self.mass_unit if self.kind is QuantityKind.MASS else self.unit

    @property
    def by_inspector(self) -> bool:
        """Whether an inspector checks it, alone or after the program has."""
        return self.checked_by is not CheckedBy.PROGRAM


@dataclass(frozen=True, slots=True)
class ClauseChange:
    """What a book, or one of its divisions, changes in a clause it inherits: which keys, and why.

    `spot` is the place of the change, and so names the book that makes it; `before` is the rule as it was.
    """

    clause: str
    keys: tuple[str, ...]
    dropped: bool
    because: str
    divisions: tuple[str, ...]
    spot: RulebookPlace = field(compare=False)
    before: Rule | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Score:
    """Points a car starts with and the fewest it may be left with."""

    full: float
    least: float


@dataclass(frozen=True, slots=True)
class Rulebook:
    """An event's rules for one division (empty when the book has none, or none was chosen).

    `stem` is the file's name without folder and ending; `parents` are the names of the books it
    inherits from, nearest first; `track_mm` is the race's length where the book tells it;
    `fingerprint` is of the text of the file and of all it inherits from; `warnings` did not stop the
    reading; `cautions` are the operations whose cautions belong on its printed sheet.
    """

    source: Source = field(repr=False)
    stem: str
    name: str
    event: str
    note: str
    unit: LengthUnit
    division: str
    divisions: tuple[str, ...]
    parents: tuple[str, ...]
    reads: ReadingSteps
    kit: Kit
    track_mm: float | None
    score: Score | None
    rules: tuple[Rule, ...]
    changes: tuple[ClauseChange, ...]
    fingerprint: str
    warnings: tuple[Problem, ...] = ()
    cautions: tuple[Operation, ...] = (Operation.CARTRIDGE, Operation.RACE)

    @property
    def measures(self) -> tuple[str, ...]:
        """Ids of the measures its rules name, each once, in the order of the book."""
        return tuple(dict.fromkeys(name for rule in self.rules for name in rule.measures))

    def shown_unit(self, kind: QuantityKind) -> LengthUnit | MassUnit:
        """The unit in which the book's own quantities are printed: masses in ounces if it writes them so."""
        return self.mass_unit if kind is QuantityKind.MASS else self.unit

    @property
    def mass_unit(self) -> MassUnit:
        """The unit in which masses are printed under this book: ounces if it writes them so."""
        ounces = any(rule.kind is QuantityKind.MASS and rule.mass_unit is MassUnit.OZ for rule in self.rules)
        return MassUnit.OZ if ounces else MassUnit.G

    @property
    def only_advises(self) -> bool:
        """Whether nothing follows from any of its rules: shop advice, and no event's rules."""
        return all(rule.fails is BreachEffects.ADVICE for rule in self.rules)
