"""How a drilling jig is built: the figures of jigs.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

__all__ = ["JigSizes", "jig_sizes"]


@dataclass(frozen=True, slots=True)
class JigSizes:
    """Lengths in mm; the table tells what each is."""

    wall: float
    floor: float
    end: float
    guide_bore: float
    skirt: float
    rim: float
    fit: float
    clearance: float
    groove: float
    groove_depth: float
    letter: float
    letter_depth: float
    bed: float
    chord: float


@cache
def jig_sizes() -> JigSizes:
    """The sizes that come with the program."""
    text = (Path(__file__).resolve().parent / "jigs.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)["jig"]
    return JigSizes(**{field.name: float(table[field.name]) for field in fields(JigSizes)})
