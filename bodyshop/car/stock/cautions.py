"""Cautions, by the operation they belong to. None says that a thing is without danger; each defers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.rows import Confidence, read_rows

__all__ = ["Authority", "Caution", "Operation", "cautions", "cautions_for", "read_cautions"]


class Operation(Enum):
    """What is being done when the caution matters."""

    WORKSHOP = "workshop"
    TEMPLATES = "templates"
    DRILL_PRESS = "drill press"
    BANDSAW = "bandsaw"
    SCROLL_SAW = "scroll saw"
    KNIFE = "knife"
    SANDING = "sanding"
    FINISHING = "finishing"
    ASSEMBLY = "assembly"
    CARTRIDGE = "cartridge"
    RACE = "race"


class Authority(Enum):
    """Whose word goes before ours."""

    TEACHER = "your teacher"
    LOCAL_RULES = "local rules"
    MANUAL = "the machine's manual"
    LABEL = "the maker's label"
    OFFICIALS = "the race officials"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution: one or two short sentences, and whose word goes before ours."""

    id: str
    operation: Operation
    text: str
    defer_to: tuple[Authority, ...]
    source: str
    confidence: Confidence

    @property
    def sentence(self) -> str:
        """The text, and who to follow."""
        names = [authority.value for authority in self.defer_to]
        listed = names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
        return f"{self.text} Follow {listed}."


@cache
def cautions() -> tuple[Caution, ...]:
    """All the cautions that come with the program, in the order of the work."""
    return read_cautions(stock_folder() / "cautions.toml")


def cautions_for(*operations: Operation) -> tuple[Caution, ...]:
    """Those of the cautions that belong to any of `operations`, in the order of the work."""
    return tuple(caution for caution in cautions() if caution.operation in operations)


def read_cautions(file: Path) -> tuple[Caution, ...]:
    """The cautions of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    return read_rows(file, "caution", Caution)
