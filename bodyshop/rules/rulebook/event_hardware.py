"""The kit that a rulebook names, and hardware of the event's own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from enum import Enum
from typing import Final, TypeVar

from bodyshop.car.design.model import Kit
from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.car.stock.blanks import blanks
from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import NOTHING, PART_SHELVES, Hardware, Material, Part, WheelEnd, hardware
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.problems import Problem, nearest
from bodyshop.foundation.text.values import quoted, shown
from bodyshop.foundation.toml.declared import ID
from bodyshop.foundation.toml.rows import Confidence, TomlRow, made_of
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook.language import STOCK, stock_keys
from bodyshop.rules.rulebook.quantities import read_quantity
from bodyshop.rules.rulebook.table_reader import PlacedValue, ProblemList, RulebookTable
from bodyshop.rules.rulebook.words import amount_text

__all__ = ["figures_of", "read_brought", "read_kit"]


_MOST_WASHERS: Final = 20


def read_kit(form: RulebookTable, brought: Hardware = NOTHING) -> Kit:
    """The kit that the table states, with what the event brings; a name that is neither in stock nor brought
    is noted.
    """
    parts = hardware().and_also(brought)
    front = (item.id for item in parts.wheels.values() if item.end is not WheelEnd.REAR)
    rear = (item.id for item in parts.wheels.values() if item.end is not WheelEnd.FRONT)
    stock: Mapping[str, Iterable[str]] = {
        "blank": blanks(),
        "wood": woods(),
        "axle": parts.axles,
        "bearing": parts.bearings,
        "front_wheel": front,
        "rear_wheel": rear,
        "washer": parts.washers,
        "screw_eye": parts.screw_eyes,
        "cartridge": parts.cartridges,
        "finish": finishes(),
        "glue": glues(),
    }
    named = {key: _item(form, key, tuple(names)) for key, names in stock.items()}
    return Kit(
        blank=named["blank"],
        wood=named["wood"],
        axle=named["axle"],
        bearing=named["bearing"],
        front_wheel=named["front_wheel"],
        rear_wheel=named["rear_wheel"],
        washer=named["washer"],
        washers=form.whole("washers", 0, _MOST_WASHERS, Kit().washers),
        screw_eye=named["screw_eye"],
        cartridge=named["cartridge"],
        finish=named["finish"],
        glue=named["glue"],
        brought=brought,
    )


def _item(form: RulebookTable, key: str, names: tuple[str, ...]) -> str:
    name = form.text(key)
    cell = form.cell(key)
    if not name or cell is None or name in names:
        return name
    close = nearest(name, names)
    thing = key.replace("_", " ")
    form.note(
        cell.problem(
            "rulebook-kit",
            f'no {thing} in stock is called "{name}"',
            found=name,
            expected=""
            if close
            else "one of " + ", ".join(names[:12]) + (", ..." if len(names) > 12 else ""),
            near=close,
        )
    )
    return ""


_KINDS: Final = {"_mm": QuantityKind.LENGTH, "_g": QuantityKind.MASS}

Word = TypeVar("Word", bound=Enum)
Made = TypeVar("Made")


def _plain(key: str) -> str:
    """The key of a stock table without its unit."""
    return key.removesuffix("_mm").removesuffix("_g")


def read_brought(cells: Iterable[PlacedValue], problems: ProblemList) -> Hardware:
    """The hardware that the tables state, those of inherited books first; every problem is noted.

    A book may say anew what it inherits; within one file, and against what is in stock, an id stands once.
    """
    found: dict[str, dict[str, Part]] = {shelf: {} for shelf in PART_SHELVES}
    said: dict[str, PlacedValue] = {}
    for cell in cells:
        made = _one(cell, found, said, problems)
        if made is not None:
            shelf, part = made
            found[shelf][part.id] = part
    if not any(found.values()):
        return NOTHING
    empty: dict[str, Mapping[str, Part]] = {name.replace("-", "_"): parts for name, parts in found.items()}
    return NOTHING.and_also(Hardware(materials={}, **empty))  # type: ignore[arg-type]


def figures_of(part: Part, unit: LengthUnit) -> Iterator[str]:
    """The figures of a part in words: `diameter 31 mm`, `mass 1.4 g`, `material mild steel`."""
    for each in fields(part):
        value = getattr(part, each.name)
        name = _plain(each.name)
        kind = next((kind for ending, kind in _KINDS.items() if each.name.endswith(ending)), None)
        if isinstance(value, float) and kind is not None:
            yield f"{name.replace('_', ' ')} {amount_text(value, kind, unit)}"
        elif isinstance(value, float):
            yield f"{name.replace('_', ' ')} {value:g}"
        elif isinstance(value, Material):
            yield value.label
        elif isinstance(value, WheelEnd):
            yield f"for the {value.value}" if value is not WheelEnd.EITHER else "for either end"


def _one(
    cell: PlacedValue,
    found: Mapping[str, Mapping[str, Part]],
    said: dict[str, PlacedValue],
    problems: ProblemList,
) -> tuple[str, Part] | None:
    shelf = _shelf(cell, problems)
    if shelf is None:
        return None
    faults: list[Problem] = []
    form = RulebookTable.of(cell, stock_keys(shelf), faults, f"an item of the {shelf}")
    form.require("source", "hardware of the event's own", "where its figures come from")
    like = _like(form, shelf, found[shelf])
    row = _BookRow(form, like)
    part = made_of(row, PART_SHELVES[shelf], {"material": tuple(hardware().materials.values())})
    for problem in (*faults, *row.problems):
        problems.append(problem)
    if part.id and _is_new(form, shelf, part.id, said, problems) and not (faults or row.problems):
        return shelf, part
    return None


def _shelf(cell: PlacedValue, problems: ProblemList) -> str | None:
    """The shelf that an item is for: what keys it may have depends on it."""
    if not isinstance(cell.value, dict):
        RulebookTable.of(cell, STOCK.names, problems, "[[stock]]")
        return None
    words = ", ".join(f'"{shelf}"' for shelf in PART_SHELVES)
    named = RulebookTable(cell, _cells(cell), problems).require("shelf", "[[stock]]", f"one of {words}")
    if named is None:
        return None
    if isinstance(named.value, str) and named.value in PART_SHELVES:
        return named.value
    close = nearest(str(named.value), PART_SHELVES) if isinstance(named.value, str) else ""
    message = f"shelf is {quoted(named.value)}"
    expected = f"one of {words}"
    problems.append(
        named.problem("rulebook-word", message, found=shown(named.value), expected=expected, near=close)
    )
    return None


def _cells(cell: PlacedValue) -> dict[str, PlacedValue]:
    values = cell.value if isinstance(cell.value, dict) else {}
    return {
        key: PlacedValue(value, cell.source, (*cell.path, key), cell.unit) for key, value in values.items()
    }


def _like(form: RulebookTable, shelf: str, brought: Mapping[str, Part]) -> Part | None:
    """The item that fills in what is not said."""
    cell = form.cell("like")
    name = form.text("like")
    if cell is None or not name:
        return None
    known = {**hardware().shelf(shelf), **brought}
    if name in known:
        return known[name]
    close = nearest(name, known)
    form.note(
        cell.problem(
            "rulebook-stock",
            f'"{shown(name)}" is not among the {shelf}',
            found=name,
            expected="" if close else "one of " + ", ".join(known),
            near=close,
        )
    )
    return None


def _is_new(
    form: RulebookTable, shelf: str, name: str, said: dict[str, PlacedValue], problems: ProblemList
) -> bool:
    cell = form.cells["id"]
    earlier = said.get(f"{shelf} {name}")
    message = ""
    if name in hardware().shelf(shelf):
        message = f'"{name}" is in stock already, and designs of other events name it'
    elif earlier is not None and earlier.source is cell.source:
        message = f'"{name}" stands here twice'
    said[f"{shelf} {name}"] = cell
    if not message:
        return True
    related = earlier.spot.beside("the first is here", cell.source) if earlier is not None else ()
    problems.append(
        cell.problem(
            "rulebook-stock",
            message,
            found=name,
            expected=f"another id, with like = {quoted(name)}",
            related=related,
        )
    )
    return False


class _BookRow(TomlRow):
    """A row of a stock table as a rulebook writes it: keys without units, texts with units."""

    def __init__(self, form: RulebookTable, like: Part | None) -> None:
        values = {key: cell.value for key, cell in form.cells.items()}
        super().__init__(form.home.source, form.home.path, values)
        self._form = form
        self._like = like

    def id(self) -> str:
        cell = self._form.require("id", "[[stock]]", 'a name such as id = "lane-wheel"')
        word = self._form.text("id")
        if cell is not None and word and not ID.fullmatch(word):
            self._form.note(
                cell.problem(
                    "rulebook-stock",
                    f'"{shown(word)}" cannot be an id',
                    found=word,
                    expected="small letters, digits and single hyphens",
                )
            )
            return ""
        return word

    def text(self, key: str, *, empty: bool = False) -> str:  # noqa: ARG002 - none is ever empty here
        if key == "label" and not self._form.has(key):
            return str(getattr(self._like, key, "")) or self._form.text("id")
        return self._form.text(key)

    def number(self, key: str, low: float, high: float) -> float:
        name = _plain(key)
        cell = self._form.cell(name)
        if cell is None:
            return self._from_like(key, name, low)
        kind = next((kind for ending, kind in _KINDS.items() if key.endswith(ending)), None)
        if kind is None:
            return self._form.number(name, low, high, low)
        read = read_quantity(cell, kind, name)
        if isinstance(read, Problem):
            self._form.note(read)
            return low
        if low <= read <= high:
            return read
        unit = cell.unit if kind is QuantityKind.LENGTH else LengthUnit.MM
        ends = [amount_text(end, kind, unit) for end in (low, high)]
        self._form.note(
            cell.problem(
                "rulebook-range",
                f"{name} is {shown(cell.value)}",
                found=shown(cell.value),
                expected=f"{ends[0]} to {ends[1]}",
            )
        )
        return low

    def word(self, key: str, kind: type[Word]) -> Word:
        first = next(iter(kind))
        if kind is Confidence:
            # What a teacher writes beside its source was read there.
            return self._form.word(key, kind, first)
        default = getattr(self._like, key, first)
        return self._form.word(key, kind, default)

    def one_of(self, key: str, choices: Mapping[str, Made]) -> Made:
        cell = self._form.cell(key)
        if cell is None:
            known: Made | None = getattr(self._like, key, None)
            if known is None:
                self._missing(key)
            return known or next(iter(choices.values()))
        if isinstance(cell.value, str) and cell.value in choices:
            return choices[cell.value]
        close = nearest(str(cell.value), choices) if isinstance(cell.value, str) else ""
        self._form.note(
            cell.problem(
                "rulebook-word",
                f"{key} is {quoted(cell.value)}",
                found=shown(cell.value),
                expected="one of " + ", ".join(choices),
                near=close,
            )
        )
        return next(iter(choices.values()))

    def disagree(self, key: str, message: str, expected: str = "") -> None:
        name = _plain(key)
        cell = self._form.cell(name) or self._form.home
        self._form.note(cell.problem("rulebook-stock", message, expected=expected))

    def _from_like(self, key: str, name: str, low: float) -> float:
        if self._like is None:
            self._missing(name)
            return low
        return float(getattr(self._like, key))

    def _missing(self, name: str) -> None:
        if self._form.has("like"):
            return  # what it is like is told already
        self._form.note(
            self._form.home.problem(
                "rulebook-missing-key",
                f"{name} is missing",
                expected=f"{name}, or like with an item that it shares the rest with",
            )
        )
