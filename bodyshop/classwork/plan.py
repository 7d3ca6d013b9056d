"""What a class has to have in stock: counted, cut from rods and straws, with a share to spare."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bodyshop.classwork.cutting import CuttingPlan, cutting_plan
from bodyshop.classwork.model import CarRow, Supply
from bodyshop.classwork.supplies import Supplies
from bodyshop.stock.finish import finishes, glues
from bodyshop.stock.hardware import hardware
from bodyshop.stock.woods import woods

__all__ = ["StockLine", "StockPlan", "stock_plan"]


@dataclass(frozen=True, slots=True)
class StockLine:
    """One thing to have.

    `need` pieces are in the cars, `get` are to be had, with spares. For what is cut from rods or straws
    `need` counts the pieces, `get` the rods; `cut_mm` is all pieces end to end, `rod_mm` one rod,
    `longest_mm` the longest piece. For a finish `need` counts the cars and `area_mm2` is the wood to cover.
    """

    supply: Supply
    item: str
    label: str
    need: int
    get: int
    cut_mm: float = 0.0
    rod_mm: float = 0.0
    longest_mm: float = 0.0
    area_mm2: float = 0.0
    too_long: int = 0

    @property
    def is_cut(self) -> bool:
        """Whether it is cut from rods or straws."""
        return self.rod_mm > 0.0


@dataclass(frozen=True, slots=True)
class StockPlan:
    """The lines in the order of `Supply`, for so many cars, by these figures."""

    cars: int
    lines: tuple[StockLine, ...]
    figures: Supplies


def stock_plan(rows: Iterable[CarRow], figures: Supplies) -> StockPlan:
    """The stock for all cars that could be read, whether they pass or not."""
    cars = list(rows)
    names = _Names({item: (label, rod) for car in cars for item, label, rod in car.needs.brought})
    pieces: Counter[tuple[Supply, str]] = Counter()
    cuts: dict[tuple[Supply, str], list[float]] = {}
    skin: dict[str, float] = {}
    painted: Counter[tuple[Supply, str]] = Counter()
    for car in cars:
        for supply, item, count in car.needs.pieces:
            pieces[supply, item] += count
        for cut in car.needs.cuts:
            cuts.setdefault((cut.supply, cut.item), []).append(cut.length_mm)
        painted[Supply.FINISH, car.needs.finish] += 1
        painted[Supply.GLUE, car.needs.glue] += 1
        skin[car.needs.finish] = skin.get(car.needs.finish, 0.0) + car.needs.skin_mm2
    lines = [_counted(supply, item, count, figures, names) for (supply, item), count in pieces.items()]
    lines += [_cut(supply, item, lengths, figures, names) for (supply, item), lengths in cuts.items()]
    lines += [
        StockLine(
            supply,
            item,
            names.label(supply, item),
            count,
            0,
            area_mm2=skin[item] if supply is Supply.FINISH else 0.0,
        )
        for (supply, item), count in painted.items()
        if _is_something(supply, item)
    ]
    order = {supply: place for place, supply in enumerate(Supply)}
    return StockPlan(
        len(cars),
        tuple(sorted(lines, key=lambda line: (order[line.supply], -line.need, line.item))),
        figures,
    )


def with_spares(count: int, share: float) -> int:
    """A count and its spares, rounded up to whole pieces."""
    # A tenth of 10 is 1, whatever floats make of it.
    return count + math.ceil(round(count * share, 6))


def _counted(supply: Supply, item: str, count: int, figures: Supplies, names: _Names) -> StockLine:
    if supply is Supply.CARTRIDGE:
        count *= figures.runs
    # Spares that the designs declare are spares already.
    get = count if supply is Supply.SPARE_WHEEL else with_spares(count, figures.spare_share)
    return StockLine(supply, item, names.label(supply, item), count, get)


def _cut(supply: Supply, item: str, lengths: list[float], figures: Supplies, names: _Names) -> StockLine:
    plan: CuttingPlan
    if supply is Supply.AXLE:
        rod_mm = names.rod_mm(item, figures)
        plan = cutting_plan(lengths, rod_mm, figures.rod_cut_mm)
    else:
        # Scissors take nothing; every piece is cut a little long instead.
        rod_mm = figures.straw_mm
        plan = cutting_plan([length + figures.straw_cut_mm for length in lengths], rod_mm)
    return StockLine(
        supply,
        item,
        names.label(supply, item),
        need=len(lengths),
        get=with_spares(len(plan.rods), figures.spare_share),
        cut_mm=math.fsum(lengths),
        rod_mm=rod_mm,
        longest_mm=max(lengths),
        too_long=len(plan.too_long),
    )


class _Names:
    """What a person calls an item, and how long its rods are: of the stock tables, or of the event's own
    hardware, which is given by id with label and length.
    """

    def __init__(self, brought: Mapping[str, tuple[str, float]]) -> None:
        self._brought = brought

    def label(self, supply: Supply, item: str) -> str:
        """The label behind the name, where it has one."""
        if supply is Supply.BLANK:
            blank, _, wood = item.rpartition(", ")
            named = woods().get(wood)
            return f"{blank}, {named.label if named else wood}"
        own = self._brought.get(item)
        return _tables().get(supply, {}).get(item) or (own[0] if own is not None else item)

    def rod_mm(self, item: str, figures: Supplies) -> float:
        """The length of a rod that axles are cut from."""
        axle = hardware().axles.get(item)
        if axle is not None:
            return axle.stock_length_mm
        own = self._brought.get(item)
        return figures.straw_mm if own is None else own[1]


def _tables() -> Mapping[Supply, Mapping[str, str]]:
    ware = hardware()
    return {
        Supply.FRONT_WHEEL: {key: wheel.label for key, wheel in ware.wheels.items()},
        Supply.REAR_WHEEL: {key: wheel.label for key, wheel in ware.wheels.items()},
        Supply.AXLE: {key: axle.label for key, axle in ware.axles.items()},
        Supply.BEARING: {key: bearing.label for key, bearing in ware.bearings.items()},
        Supply.WASHER: {key: washer.label for key, washer in ware.washers.items()},
        Supply.EYE: {key: eye.label for key, eye in ware.screw_eyes.items()},
        Supply.CARTRIDGE: {key: cartridge.label for key, cartridge in ware.cartridges.items()},
        Supply.FINISH: {key: finish.label for key, finish in finishes().items()},
        Supply.GLUE: {key: glue.label for key, glue in glues().items()},
    }


def _is_something(supply: Supply, item: str) -> bool:
    """Whether a finish or a glue is more than none at all."""
    if supply is Supply.FINISH:
        finish = finishes().get(item)
        return finish is None or finish.mass_g_per_mm2 > 0.0
    glue = glues().get(item)
    return glue is None or glue.mass_g > 0.0
