"""The same car with another number, wood or share of a figure: what each change is worth."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.editing.numbers import Numbers, RefusedError
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.toml import KeyPath, Source
from bodyshop.foundation.toml.places import dotted
from bodyshop.foundation.toml.splice import scalars
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.prediction import SAMPLES, Difference, compare_all
from bodyshop.rules.checking import LoadedCar, RulebookCache, open_source

__all__ = [
    "LEVERS",
    "Lever",
    "Reach",
    "TimeEffect",
    "TriedValue",
    "effects",
    "in_wood",
    "read_setting",
    "redesigned",
]


class Reach(Enum):
    """Who can pull a lever."""

    BUILDER = "the builder"
    DAY = "the day"


@dataclass(frozen=True, slots=True)
class Lever:
    """A change of one figure: a name, what is done in a few words, what it takes, and whose it is."""

    id: str
    action: str
    reach: Reach
    pull: Callable[[Setup], Setup]
    note: str = ""


@dataclass(frozen=True, slots=True)
class TimeEffect:
    """What a lever does: seconds gained (negative) or lost."""

    lever: Lever
    difference: Difference


def _step(factor: Factor, step: float) -> Callable[[Setup], Setup]:
    return lambda setup: setup.having(factor, setup.figure(factor).shifted(step))


def _times(factor: Factor, ratio: float) -> Callable[[Setup], Setup]:
    return lambda setup: setup.having(factor, setup.figure(factor).scaled(ratio))


def _tread_gram(setup: Setup) -> Setup:
    return _step(Factor.INERTIA, -1.0)(_step(Factor.MASS, -1.0)(setup))


LEVERS: Final = (
    Lever("gram", "1 g off the body", Reach.BUILDER, _step(Factor.MASS, -1.0)),
    Lever(
        "tread-gram",
        "1 g off the treads of the wheels",
        Reach.BUILDER,
        _tread_gram,
        "it counts as mass and again as inertia",
    ),
    Lever("drag", "10 % less drag area", Reach.BUILDER, _times(Factor.DRAG, 0.9)),
    Lever("rolling", "10 % less rolling friction", Reach.BUILDER, _times(Factor.ROLLING, 0.9)),
    Lever("inertia", "10 % less inertia of the wheels", Reach.BUILDER, _times(Factor.INERTIA, 0.9)),
    Lever("line", "half the drag of the guide line", Reach.BUILDER, _times(Factor.LINE, 0.5)),
    Lever("degree", "cartridge 1 °C warmer", Reach.DAY, _step(Factor.TEMPERATURE, 1.0)),
    Lever("charge", "0.1 g more gas", Reach.DAY, _step(Factor.CHARGE, 0.1)),
    Lever("hole", "puncture 0.1 mm wider", Reach.DAY, _step(Factor.HOLE, 0.1)),
    Lever("impulse", "1 % more impulse", Reach.DAY, _times(Factor.IMPULSE, 1.01)),
    Lever("air", "1 % thinner air", Reach.DAY, _times(Factor.AIR, 0.99)),
)
"""The steps are about what one evening's work, or one race day, may change."""


def effects(setup: Setup, samples: int = SAMPLES) -> tuple[TimeEffect, ...]:
    """Every lever that moves this car at all, the strongest first."""
    levers = [lever for lever in LEVERS if _can_be_pulled(lever, setup)]
    differences = compare_all(setup, (lever.pull(setup) for lever in levers), samples=samples)
    found = [
        TimeEffect(lever, difference)
        for lever, difference in zip(levers, differences, strict=True)
        if math.isfinite(difference.seconds.value) and difference.seconds.value
    ]
    return tuple(sorted(found, key=lambda effect: -abs(effect.difference.seconds.value)))


def _can_be_pulled(lever: Lever, setup: Setup) -> bool:
    """Whether there is a gram to take off."""
    if lever.id not in ("gram", "tread-gram"):
        return True
    if lever.id == "tread-gram" and setup.figure(Factor.INERTIA).value <= 1.0:
        return False
    return setup.figure(Factor.MASS).value > 2.0


_STEP: Final = re.compile(r"([^.\[\]]+)((?:\[[0-9]{1,4}\])*)")
_LONGEST: Final = 200


@dataclass(frozen=True, slots=True)
class TriedValue:
    """One value to try: the path of its key, and what stands there instead, as it would be typed."""

    path: KeyPath
    text: str

    @property
    def key(self) -> str:
        """The key as people write it."""
        return dotted(self.path)


def read_setting(text: str) -> TriedValue:
    """`bore.height=26`, `profile.points[3][1]=41`, `dimensions.tail="1 5/8 in"`; points count from 0.

    Raises:
        ProblemsError: it is not a key and a value.
    """
    key, sign, value = text.partition("=")
    key, value = key.strip(), value.strip().strip("\"'")
    path = _path(key)
    if not sign or not value or path is None or len(text) > _LONGEST or not value.isprintable():
        shown = text if text.isprintable() and len(text) <= 60 else "this"
        message = f'"{shown}" is not a key and a value'
        raise ProblemsError([Problem("race-set", message, found=shown, expected="such as bore.height=26")])
    return TriedValue(path, value)


def _path(text: str) -> KeyPath | None:
    path: list[str | int] = []
    for part in text.split("."):
        match = _STEP.fullmatch(part.strip())
        if match is None:
            return None
        path.append(match[1].strip())
        path.extend(int(index) for index in re.findall("[0-9]+", match[2]))
    return tuple(path)


def redesigned(opened: LoadedCar, settings: Iterable[TriedValue], shelf: RulebookCache) -> LoadedCar:
    """The car with other values, held against the same rulebook. What the file does not say, and so leaves to
    its kit or to a default, can be set as well.

    Raises:
        ProblemsError: there is no such key, or the car cannot be made so.
    """
    tried = tuple(settings)
    numbers = Numbers(opened.source)
    try:
        for setting in tried:
            try:
                numbers.put_text(setting.path, setting.text)
            except RefusedError:
                raise _no_such_key(opened.source, setting) from None
        return open_source(_changed(numbers, tried), shelf)
    except ProblemsError as error:
        # The text that the problems are in is in no file, so a line of it would mislead.
        words = " and ".join(f"{setting.key} = {setting.text}" for setting in tried)
        name = f"{opened.source.name} with {words}"
        raise ProblemsError(
            replace(problem, file=name, span=None) if problem.file == opened.source.name else problem
            for problem in error.problems
        ) from None


def _changed(numbers: Numbers, tried: Sequence[TriedValue]) -> Source:
    try:
        return numbers.changed()
    except RefusedError:
        message = " and ".join(f'"{setting.text}" cannot stand for {setting.key}' for setting in tried)
        raise ProblemsError([numbers.source.problem(tried[0].path, "race-set", message)]) from None


def _no_such_key(source: Source, setting: TriedValue) -> ProblemsError:
    known = [dotted(path) for path, value in scalars(source.values) if not isinstance(value, bool)]
    near = nearest(setting.key, known)
    problem = Problem(
        "race-set",
        f"the design has no number or word at {setting.key}",
        file=source.name,
        key=setting.key,
        found=setting.key,
        expected="" if near else "a key with a number or a word",
        nearest=near,
    )
    return ProblemsError([problem])


def in_wood(opened: LoadedCar, name: str) -> Car:
    """The same car from another wood; what its blank weighed is left out, as it is another blank.

    Raises:
        ProblemsError: no wood has that name.
    """
    known = woods()
    wood = known.get(name.strip().casefold())
    if wood is None:
        near = nearest(name, known)
        message = f'"{name}" is not among the woods'
        expected = "" if near else "a name that bodyshop stock lists"
        raise ProblemsError([Problem("unknown-stock", message, found=name, nearest=near, expected=expected)])
    return Car(replace(opened.design, wood=wood, weighed_blank_g=None))
