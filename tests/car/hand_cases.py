"""Cars for cases worked by hand: Dunlin with some of its tables replaced or left out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.foundation.toml import parse_source
from tests.car.kits import TEST_KIT

__all__ = ["CASES", "HandCase", "car_from", "changed", "read_cases"]

HERE = Path(__file__).parent
CASES = HERE / "cases"
_HEADER = re.compile(r"^\[\[?([A-Za-z_.]+)\]\]?", re.MULTILINE)


@dataclass(frozen=True)
class HandCase:
    """One worked value; `change` holds whole tables of the design file that replace Dunlin's."""

    measure: str
    number: int
    value: float
    unit: str
    tolerance: float
    worked: str
    source: str
    change: str
    drop: tuple[str, ...]

    @property
    def name(self) -> str:
        return f"{self.measure}-{self.number}"


def read_cases() -> list[HandCase]:
    """Every case of every file in `cases`; a file is called after its measure."""
    found = []
    for file in sorted(CASES.glob("*.toml")):
        for number, row in enumerate(tomllib.loads(file.read_text(encoding="utf-8"))["case"], start=1):
            extra = set(row) - {"value", "unit", "tolerance", "worked", "source", "change", "drop"}
            assert not extra, (file.name, extra)
            found.append(
                HandCase(
                    file.stem,
                    number,
                    float(row["value"]),
                    row["unit"],
                    float(row["tolerance"]),
                    row["worked"],
                    row["source"],
                    row.get("change", ""),
                    tuple(row.get("drop", ())),
                )
            )
    return found


def _tables(text: str) -> list[tuple[str, str]]:
    """The text's tables by name, the part ahead of the first header as an empty name."""
    starts = [0, *(m.start() for m in _HEADER.finditer(text)), len(text)]
    names = ["", *(m.group(1) for m in _HEADER.finditer(text))]
    return [(name, text[a:b]) for name, a, b in zip(names, starts, starts[1:], strict=False)]


def changed(change: str, drop: Sequence[str] = ()) -> str:
    """Dunlin's text with the tables of `change` in the place of its own, those of `drop` left out."""
    base = (HERE / "dunlin.toml").read_text(encoding="utf-8")
    new = [(name, text) for name, text in _tables(change) if name]
    gone = {name for name, _ in new} | set(drop)
    kept = [text for name, text in _tables(base) if name not in gone]
    return "".join(kept) + "".join(text.rstrip() + "\n" for _, text in new)


def car_from(change: str = "", drop: Sequence[str] = ()) -> Car:
    """The car."""
    return Car(read_design(parse_source(changed(change, drop), "dunlin.toml"), TEST_KIT))
