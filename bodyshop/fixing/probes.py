"""What each knob does to the measures of broken rules when it is moved a little."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from bodyshop.fixing.bracket import outward
from bodyshop.fixing.knobs import Knob
from bodyshop.fixing.trial import Ground
from bodyshop.measures import NotKnown, Reading
from bodyshop.source import KeyPath

__all__ = ["Probes"]

_STEP_MM: Final = 1.0


class Probes:
    """Small moves of one design, tried when first asked for and kept: each serves every broken rule."""

    def __init__(self, ground: Ground, measures: Iterable[str]) -> None:
        self._ground = ground
        self._measures = tuple(dict.fromkeys(measures))
        self._seen: dict[tuple[KeyPath, int, int], dict[str, Reading | NotKnown] | None] = {}

    def are_of(self, ground: Ground) -> bool:
        """Whether they are of this very design, not of one that it was made from."""
        return ground is self._ground

    def step_mm(self, knob: Knob) -> float:
        """How far a probe moves the knob."""
        return float(_step(knob)) * knob.mm_per_unit

    def seen(self, knob: Knob, way: int) -> dict[str, Reading | NotKnown] | None:
        """The measures after a small move up (`way` 1) or down (-1); None where that makes no car."""
        key = (knob.path, len(knob.marks), way)
        if key not in self._seen:
            trial = self._ground.trial(knob.changes(knob.value + way * _step(knob)))
            made = trial.design is not None
            self._seen[key] = {m: trial.reading(m) for m in self._measures} if made else None
        return self._seen[key]

    def base(self, measure: str) -> Reading | NotKnown:
        """The measure before any move."""
        return self._ground.readings[measure]


def _step(knob: Knob) -> Fraction:
    """About a millimetre, in the unit of the knob, on a mark of its grids."""
    whole = Fraction(_STEP_MM / knob.mm_per_unit).limit_denominator(100_000)
    return outward(whole, knob.grids[-1], 1)
