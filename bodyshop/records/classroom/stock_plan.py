"""What a class has to have in stock: counted, cut from rods and straws, with a share to spare."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Final

from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import hardware
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, by_id, read_rows
from bodyshop.records.classroom.discovery import CarRow, SupplyShelf

__all__ = [
    "CuttingPlan",
    "StockLine",
    "StockPlan",
    "Supplies",
    "SupplyFigure",
    "cutting_plan",
    "read_supplies",
    "stock_plan",
    "supplies",
]


_MOST: Final = 3000.0


@dataclass(frozen=True, slots=True)
class Supplies:
    """Spare share (0.1 is a tenth), cartridges for each car, what cutting takes, a straw's length (mm)."""

    spare_share: float
    runs: int
    rod_cut_mm: float
    straw_cut_mm: float
    straw_mm: float


@dataclass(frozen=True, slots=True)
class SupplyFigure:
    """One figure of the table, by its id."""

    id: str
    value: Annotated[float, TomlKey(low=0.0, high=_MOST)]
    source: str
    confidence: Confidence


@cache
def supplies() -> Supplies:
    """The figures that come with the program."""
    return read_supplies(Path(__file__).with_name("supplies.toml"))


def read_supplies(file: Path) -> Supplies:
    """The figures of a file like the shipped one.

    Raises:
        ProblemsError: the file is damaged.
    """
    figures = by_id(read_rows(file, "figure", SupplyFigure))
    needed = ("spare-share", "runs", "rod-cut", "straw-cut", "straw-length")
    missing = [name for name in needed if name not in figures]
    if missing:
        raise ProblemsError(
            [Problem("stock-missing-key", f"there is no figure {name}", file=str(file)) for name in missing]
        )
    share, runs, rod_cut, straw_cut, straw = (figures[name].value for name in needed)
    return Supplies(share, round(runs), rod_cut, straw_cut, max(straw, 1.0))


_DUST_MM = 1e-6


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Pieces by rod, longest first; `too_long` are those that no rod is long enough for. All mm."""

    rods: tuple[tuple[float, ...], ...]
    too_long: tuple[float, ...]

    @property
    def length_mm(self) -> float:
        """All pieces that can be cut, end to end, without what the saw takes."""
        return sum(sum(rod) for rod in self.rods)


def cutting_plan(pieces_mm: Iterable[float], rod_mm: float, saw_mm: float = 0.0) -> CuttingPlan:
    """Cut pieces from rods of one length, the saw taking `saw_mm` between two pieces.

    Raises `ValueError` for a rod without length or a saw that adds some.
    """
    if rod_mm <= 0.0 or saw_mm < 0.0:
        raise ValueError(f"a rod of {rod_mm} mm cannot be cut with a saw of {saw_mm} mm")
    ordered = sorted(pieces_mm, reverse=True)
    fitting = [piece for piece in ordered if piece <= rod_mm + _DUST_MM]
    # n pieces need n - 1 cuts between them: a rod that is one cut longer, a cut with every piece.
    room = _Rooms(len(fitting), rod_mm + saw_mm)
    rods: list[list[float]] = []
    for piece in fitting:
        rod = room.first_with(piece + saw_mm - _DUST_MM)
        if rod == len(rods):
            rods.append([])
        rods[rod].append(piece)
        room.take(rod, piece + saw_mm)
    return CuttingPlan(tuple(tuple(rod) for rod in rods), tuple(ordered[: len(ordered) - len(fitting)]))


class _Rooms:
    """What is left of each rod, kept as a tree of greatest rooms: the first that fits in log n steps."""

    def __init__(self, count: int, full: float) -> None:
        self._leaves = 1
        while self._leaves < max(1, count):
            self._leaves *= 2
        self._most = [full] * (2 * self._leaves)

    def first_with(self, room: float) -> int:
        """The first rod with that much room left. There is one: no piece is longer than a rod."""
        at = 1
        while at < self._leaves:
            at *= 2
            if self._most[at] < room:
                at += 1
        return at - self._leaves

    def take(self, rod: int, room: float) -> None:
        """Take a piece and its cut off a rod."""
        at = rod + self._leaves
        self._most[at] -= room
        while at > 1:
            at //= 2
            self._most[at] = max(self._most[2 * at], self._most[2 * at + 1])


@dataclass(frozen=True, slots=True)
class StockLine:
    """One thing to have.

    `need` pieces are in the cars, `get` are to be had, with spares. For what is cut from rods or straws
    `need` counts the pieces, `get` the rods; `cut_mm` is all pieces end to end, `rod_mm` one rod,
    `longest_mm` the longest piece. For a finish `need` counts the cars and `area_mm2` is the wood to cover.
    """

    supply: SupplyShelf
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
    """The lines in the order of `SupplyShelf`, for so many cars, by these figures."""

    cars: int
    lines: tuple[StockLine, ...]
    figures: Supplies


def stock_plan(rows: Iterable[CarRow], figures: Supplies) -> StockPlan:
    """The stock for all cars that could be read, whether they pass or not."""
    cars = list(rows)
    names = _Names({item: (label, rod) for car in cars for item, label, rod in car.needs.brought})
    pieces: Counter[tuple[SupplyShelf, str]] = Counter()
    cuts: dict[tuple[SupplyShelf, str], list[float]] = {}
    skin: dict[str, float] = {}
    painted: Counter[tuple[SupplyShelf, str]] = Counter()
    for car in cars:
        for supply, item, count in car.needs.pieces:
            pieces[supply, item] += count
        for cut in car.needs.cuts:
            cuts.setdefault((cut.supply, cut.item), []).append(cut.length_mm)
        painted[SupplyShelf.FINISH, car.needs.finish] += 1
        painted[SupplyShelf.GLUE, car.needs.glue] += 1
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
            area_mm2=skin[item] if supply is SupplyShelf.FINISH else 0.0,
        )
        for (supply, item), count in painted.items()
        if _is_something(supply, item)
    ]
    order = {supply: place for place, supply in enumerate(SupplyShelf)}
    return StockPlan(
        len(cars),
        tuple(sorted(lines, key=lambda line: (order[line.supply], -line.need, line.item))),
        figures,
    )


def with_spares(count: int, share: float) -> int:
    """A count and its spares, rounded up to whole pieces."""
    # A tenth of 10 is 1, whatever floats make of it.
    return count + math.ceil(round(count * share, 6))


def _counted(supply: SupplyShelf, item: str, count: int, figures: Supplies, names: _Names) -> StockLine:
    if supply is SupplyShelf.CARTRIDGE:
        count *= figures.runs
    # Spares that the designs declare are spares already.
    get = count if supply is SupplyShelf.SPARE_WHEEL else with_spares(count, figures.spare_share)
    return StockLine(supply, item, names.label(supply, item), count, get)


def _cut(supply: SupplyShelf, item: str, lengths: list[float], figures: Supplies, names: _Names) -> StockLine:
    plan: CuttingPlan
    if supply is SupplyShelf.AXLE:
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

    def label(self, supply: SupplyShelf, item: str) -> str:
        """The label behind the name, where it has one."""
        if supply is SupplyShelf.BLANK:
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


def _tables() -> Mapping[SupplyShelf, Mapping[str, str]]:
    ware = hardware()
    return {
        SupplyShelf.FRONT_WHEEL: {key: wheel.label for key, wheel in ware.wheels.items()},
        SupplyShelf.REAR_WHEEL: {key: wheel.label for key, wheel in ware.wheels.items()},
        SupplyShelf.AXLE: {key: axle.label for key, axle in ware.axles.items()},
        SupplyShelf.BEARING: {key: bearing.label for key, bearing in ware.bearings.items()},
        SupplyShelf.WASHER: {key: washer.label for key, washer in ware.washers.items()},
        SupplyShelf.EYE: {key: eye.label for key, eye in ware.screw_eyes.items()},
        SupplyShelf.CARTRIDGE: {key: cartridge.label for key, cartridge in ware.cartridges.items()},
        SupplyShelf.FINISH: {key: finish.label for key, finish in finishes().items()},
        SupplyShelf.GLUE: {key: glue.label for key, glue in glues().items()},
    }


def _is_something(supply: SupplyShelf, item: str) -> bool:
    """Whether a finish or a glue is more than none at all."""
    if supply is SupplyShelf.FINISH:
        finish = finishes().get(item)
        return finish is None or finish.mass_g_per_mm2 > 0.0
    glue = glues().get(item)
    return glue is None or glue.mass_g > 0.0
