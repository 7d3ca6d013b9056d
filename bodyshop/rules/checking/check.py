"""A car measured and judged: what every report and every sheet of paper is made from."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from bodyshop.car.measures import Measure, NotKnown, Reading, catalogue, take_all
from bodyshop.rules.checking.opening import LoadedCar
from bodyshop.rules.rulebook import Judgement, Remedy, judge, remedy

__all__ = ["Checked", "check_car"]


@dataclass(frozen=True)
class Checked:
    """Everything known about a car that could be read.

    `readings` holds every measure of the catalogue, or those that were asked for; `remedies` the smallest
    change for each clause that is broken, where one is known.
    """

    opened: LoadedCar
    measures: Mapping[str, Measure]
    readings: Mapping[str, Reading | NotKnown]
    judgement: Judgement
    remedies: Mapping[str, Remedy]


def check_car(opened: LoadedCar, only: Collection[str] | None = None) -> Checked:
    """Measure and judge a car.

    With `only` no more is measured than its rulebook and these names ask for: while somebody moves a part,
    the rest of the catalogue would cost more than all the others.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import open_car
    >>> check_car(open_car(samples_folder() / "kestrel.toml")).judgement.result.value
    'legal'
    """
    measures = catalogue()
    if only is None:
        readings = take_all(opened.car)
        # What only this rulebook measures: a wall over the first stretch of the bore.
        more = [name for name in opened.rulebook.measures if name not in readings]
        readings |= {name: measures[name].take(opened.car) for name in more}
    else:
        wanted = dict.fromkeys((*opened.rulebook.measures, *only))
        readings = {name: measures[name].take(opened.car) for name in wanted}
    judgement = judge(opened.rulebook, readings)
    remedies = {
        verdict.rule.clause: change
        for verdict in judgement.verdicts
        if verdict.rule.measure in measures
        and (change := remedy(verdict, measures[verdict.rule.measure], opened.design)) is not None
    }
    return Checked(opened, measures, readings, judgement, remedies)
