"""How a quantity that a rule can name is declared, and the list of them all.

A measure is one function in one place, decorated with `measure`: its docstring is the sentence a person
reads. It takes a `Car`, returns a `Reading` with the place, knows no limit and formats no text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cache, partial
from types import ModuleType
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.design.model import AxleEnd
from bodyshop.foundation.place import Place

__all__ = [
    "QuantityKind",
    "Measure",
    "NotKnown",
    "Reading",
    "MeasuringState",
    "MissingError",
    "measure",
    "arrange",
    "registered",
]


class QuantityKind(Enum):
    """What sort of quantity, and so in which unit its value is held."""

    LENGTH = "length"  # mm
    MASS = "mass"  # g
    ANGLE = "angle"  # rad
    COUNT = "count"
    AREA = "area"  # mm^2
    VOLUME = "volume"  # mm^3


class MeasuringState(Enum):
    """In which state the car is measured."""

    BODY = "bare body"
    WHEELS = "on its wheels"
    NO_CARTRIDGE = "complete, without cartridge"
    WITH_CARTRIDGE = "complete, with a full cartridge"


@dataclass(frozen=True, slots=True)
class Reading:
    """A value in the unit of its kind and where it was found.

    `spread` is one standard deviation where the value is an estimate (mass), else 0.
    """

    value: float
    place: Place | None
    spread: float = 0.0


@dataclass(frozen=True, slots=True)
class NotKnown:
    """The design does not say enough, or has nothing to measure: why, in a plain clause.

    `absent` says that the thing itself is not there (no window, no screw eye), so that a limit on it has
    nothing to bite on; otherwise something is wrong that keeps it from being measured.
    """

    reason: str
    absent: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """A catalogue entry.

    `id` is the name rules use; `title` a short heading; `between` the two ends, empty where it
    is not taken between two points; `sentence` what it means;
    `more` and `less` say, as a command to the builder, how to raise or lower it ("lower the cartridge hole");
    `drivers` are the design's keys that set it most directly, dotted, first the plainest.
    """

    id: str
    title: str
    kind: QuantityKind
    state: MeasuringState
    between: tuple[str, str]
    sentence: str
    more: str
    less: str
    drivers: tuple[str, ...]
    take: Callable[..., Reading | NotKnown]
    below_zero: str = ""
    """What a reading below 0 means, for a person; `{value}` stands for how far below."""
    along_bore: bool = False
    """Whether it can be taken over the first stretch of the cartridge hole alone, from its mouth."""

    @property
    def ends(self) -> str:
        """`from the track to the highest point of the car`; empty for what has no two ends."""
        return "from {} to {}".format(*self.between) if self.between[0] else ""

    @property
    def only_drawn(self) -> bool:
        """Whether no instrument reaches it on a finished car: the block is cut away, the wall is inside."""
        return self.id.startswith(_ONLY_DRAWN)

    def at(self, end: AxleEnd) -> Measure:
        """The entry for one end of a car, where it is declared for both."""

        def say(text: str) -> str:
            return text.replace("{end}", end.value)

        return replace(
            self,
            id=say(self.id),
            title=say(self.title),
            between=(say(self.between[0]), say(self.between[1])),
            sentence=say(self.sentence),
            more=say(self.more),
            less=say(self.less),
            below_zero=say(self.below_zero),
            drivers=tuple(map(say, self.drivers)),
            take=partial(self.take, end=end),
        )

    def over_first(self, first_mm: float) -> Measure:
        """The same measure over the first `first_mm` of the cartridge hole, as if it were no deeper.

        Its id tells the stretch, so that the catalogue finds it again: `bore.wall[first 20 mm]`.
        """

        def take(car: Car) -> Reading | NotKnown:
            return self.take(car.bored(first_mm))

        stretch = f"first {first_mm:.9g} mm"
        return replace(
            self,
            id=f"{self.id}[{stretch}]",
            title=f"{self.title}, {stretch} from the mouth",
            sentence=f"{self.sentence} Only the {stretch} of the cartridge hole count, from the mouth.",
            take=take,
        )


_ONLY_DRAWN: Final = ("blank.", "bore.wall", "front_eye.wall", "rear_eye.wall", "body.volume")
"""How the ids begin of what a finished car does not show."""

_registered: dict[str, Measure] = {}
_homes: dict[str, str] = {}
_OVER_FIRST: Final = re.compile(r"(?P<id>[^\[]+)\[first (?P<first>[0-9]+(?:\.[0-9]+)?) mm\]")

Taker = Callable[..., Reading | NotKnown]
"""Takes a `Car`, and an `AxleEnd` where it measures at each."""


class MissingError(Exception):
    """What is to be measured is not there, or not to be found: `reading` says why."""

    def __init__(self, reason: str, *, absent: bool = False) -> None:
        self.reading = NotKnown(reason, absent)
        super().__init__(reason)


def measure(  # noqa: PLR0913 - the fields of an entry
    id: str,  # noqa: A002 - the word the catalogue uses
    title: str,
    kind: QuantityKind = QuantityKind.LENGTH,
    *,
    between: tuple[str, str] = ("", ""),
    more: str = "",
    less: str = "",
    below_zero: str = "",
    state: MeasuringState = MeasuringState.BODY,
    drivers: tuple[str, ...] = (),
    along_bore: bool = False,
) -> Callable[[Taker], Taker]:
    """Declare a measure. A repeated id or a missing docstring stops the import.

    With "{end}" in its id it is two, front and rear: "{end}" in the words becomes either. What raises
    `MissingError` is not known.
    """

    def declare(take: Taker) -> Taker:
        sentence = " ".join((take.__doc__ or "").split())
        entry = Measure(
            id, title, kind, state, between, sentence, more, less, drivers, take, below_zero, along_bore
        )
        for each in map(entry.at, AxleEnd) if "{end}" in id else (entry,):
            if each.id in _registered:
                raise ValueError(f"two measures are called {each.id}")
            if not sentence:
                raise ValueError(f"measure {each.id} has no docstring")
            _registered[each.id] = replace(each, take=partial(_taken, each.take))
            _homes[each.id] = take.__module__
        return take

    return declare


def arrange(modules: Sequence[ModuleType]) -> None:
    """Put the catalogue in the order of these modules, whichever of them was imported first."""
    place = {module.__name__: number for number, module in enumerate(modules)}
    ordered = sorted(_registered.items(), key=lambda item: place.get(_homes[item[0]], len(place)))
    _registered.clear()
    _registered.update(ordered)


def _taken(take: Taker, car: Car) -> Reading | NotKnown:
    try:
        return take(car)
    except MissingError as error:
        return error.reading


class _Catalogue(Mapping[str, Measure]):
    """Every declared measure by id, in the order of declaration; and, when it is asked for by its id, one of
    them over the first stretch of the bore.
    """

    def __getitem__(self, name: str) -> Measure:
        found = _registered.get(name)
        return _over_first(name) if found is None else found

    def __iter__(self) -> Iterator[str]:
        return iter(_registered)

    def __len__(self) -> int:
        return len(_registered)


@cache
def _over_first(name: str) -> Measure:
    match = _OVER_FIRST.fullmatch(name)
    entry = None if match is None else _registered.get(match["id"])
    if match is None or entry is None or not entry.along_bore:
        raise KeyError(name)
    return entry.over_first(float(match["first"]))


def registered() -> Mapping[str, Measure]:
    """Every declared measure by id, in the order of declaration.

    >>> from bodyshop.car.measures import catalogue
    >>> catalogue()["bore.wall_top"].title
    'wood over the cartridge hole'
    """
    return _Catalogue()
