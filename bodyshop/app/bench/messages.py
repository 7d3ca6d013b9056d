"""What the bench's pages and its server say to each other, and the one place where a page's words are read.

Everything behind it may count on the types declared here, on texts that can be written down as UTF-8 and on
finite numbers. A page that runs here sends nothing else; somebody who has got hold of the key might, or a
person pastes half of a character.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Annotated, Literal, NoReturn, TypeAlias, TypeVar

import msgspec
from msgspec import Meta

from bodyshop.output.json.document import JsonRecord, whole

__all__ = [
    "ActMessage",
    "AddPointAct",
    "AddRecordDeed",
    "AddDesignsDeed",
    "AllowDeed",
    "AskMessage",
    "Act",
    "BackDeed",
    "BookDeed",
    "BeginDesignForm",
    "BeginBookForm",
    "ConditionsDeed",
    "ConvertAct",
    "CopyDesignForm",
    "Data",
    "DeedMessage",
    "DeleteAct",
    "DifferenceMessage",
    "DragMessage",
    "DrawDeed",
    "EliminateDeed",
    "EnterDeed",
    "FixMessage",
    "ForetellDeed",
    "FreezeDeed",
    "InsertAct",
    "InspectDeed",
    "LimitsQuestion",
    "MalformedError",
    "NoteDeed",
    "NudgeAct",
    "OutDeed",
    "PageMessage",
    "Question",
    "RaceDeed",
    "RerunDeed",
    "RoundAct",
    "SectionQuestion",
    "SetAct",
    "SnapWanted",
    "SolidQuestion",
    "StrikeDeed",
    "TypeMessage",
    "read_as",
    "read_deed",
    "read_message",
]

Data: TypeAlias = "Mapping[str, Data] | Sequence[Data] | JsonRecord | str | int | float | bool | None"
"""What a page is told."""

_Mm = Annotated[float, Meta(gt=-1e5, lt=1e5)]
"""A coordinate that a car can have."""
_Steps = Annotated[int, Meta(ge=-1000, le=1000)]
"""So many steps of the grid at once."""
_Number = int | str
"""A whole number as a page has it, or as it was typed."""
_Gesture = int | str | None
"""What tells one gesture of a hand from the next."""


class PageMessage(JsonRecord, frozen=True):
    """A message on a design's wire that holds nothing but its kind; the base of those that hold more."""

    kind: str


class TypeMessage(PageMessage, frozen=True):
    """Words typed: (start, end, text) with offsets in 16-bit units of the text of revision `base`."""

    base: int
    splices: tuple[tuple[int, int, str], ...]


class DifferenceMessage(PageMessage, frozen=True, rename={"against": "with"}):
    """Asks how the text differs from the file, or from the draft."""

    against: Literal["disk", "draft"] = "disk"


class FixMessage(PageMessage, frozen=True):
    """Asks for remedies of one clause, or of all."""

    clause: str | None = None


class SnapWanted(JsonRecord, frozen=True):
    """A step of the grid by its name, empty for none, and which axes are meant as they are."""

    step: str = ""
    exact: tuple[bool, bool] = (False, False)


class DragMessage(PageMessage, frozen=True):
    """A handle at another place of its view, mm."""

    handle: str
    x: _Mm
    y: _Mm
    snap: SnapWanted | str
    step: _Gesture = None


class ActMessage(PageMessage, frozen=True, tag_field="name"):
    """A change by the drawing that is no drag. The `tag` of each is its name on the page."""


class NudgeAct(ActMessage, frozen=True, tag="nudge"):
    """A handle moved by steps of the grid."""

    handle: str
    by: tuple[_Steps, _Steps]
    snap: str
    step: _Gesture = None


class SetAct(ActMessage, frozen=True, tag="set"):
    """One of a handle's numbers typed; `number` counts them from 0."""

    handle: str
    number: int
    text: str
    step: _Gesture = None


class AddPointAct(ActMessage, frozen=True, tag="add"):
    """A point on the edge that passes nearest, within `reach` mm."""

    view: Literal["side", "top", "tail"]
    at: tuple[_Mm, _Mm]
    reach: Annotated[float, Meta(gt=0.0, lt=1e9)]
    snap: str = ""


class InsertAct(ActMessage, frozen=True, tag="insert"):
    """A point half way along the edge that leaves a handle."""

    handle: str
    snap: str = ""


class DeleteAct(ActMessage, frozen=True, tag="delete"):
    """A point or a rounding taken away."""

    handle: str


class ConvertAct(ActMessage, frozen=True, tag="convert"):
    """The edge to a point made another one."""

    handle: str
    to: Literal["line", "arc", "smooth", "curve"]


class RoundAct(ActMessage, frozen=True, tag="round"):
    """The corner at a point rounded."""

    handle: str


class AskMessage(PageMessage, frozen=True, tag_field="name"):
    """A question of the drawing, answered beside everything else."""


class LimitsQuestion(AskMessage, frozen=True, tag="limits"):
    """Where rules are just met while a handle is moved."""

    handle: str


class SolidQuestion(AskMessage, frozen=True, tag="solid"):
    """The car in space."""


class SectionQuestion(AskMessage, frozen=True, tag="section"):
    """The wood at a station, mm."""

    x: _Mm


class CopyDesignForm(JsonRecord, frozen=True, rename={"target": "as"}):
    """A copy of a design to be made."""

    file: str
    target: str


class BeginDesignForm(JsonRecord, frozen=True):
    """A design to begin with."""

    name: str
    style: str = ""
    unit: str = ""


class BeginBookForm(JsonRecord, frozen=True):
    """A trial book to begin with, every field as it was typed."""

    name: str = ""
    rulebook: str = ""
    track: str = ""
    lanes: str = "2"
    timing: str = ""


class DeedMessage(JsonRecord, frozen=True, tag_field="deed"):
    """Something to be done with a trial book."""


class AddDesignsDeed(DeedMessage, frozen=True, tag="add_designs"):
    """Designs of the folder taken in."""


class AddRecordDeed(DeedMessage, frozen=True, tag="add"):
    """A record of a car, its fields as they were typed."""

    kind: str
    car: str
    fields: dict[str, str]
    confirmed: bool = False


class StrikeDeed(DeedMessage, frozen=True, tag="strike"):
    """A record that does not count."""

    kind: str
    id: _Number
    because: str = ""


class InspectDeed(DeedMessage, frozen=True, tag="inspect"):
    """What was measured or seen by its clause; `keep` puts it into the book."""

    car: str
    found: dict[str, str]
    step: str = ""
    balance: str = ""
    instrument: str = ""
    keep: bool = False
    confirmed: bool = False


class ConditionsDeed(DeedMessage, frozen=True):
    """The race that is asked about; each may be empty."""

    length: str = ""
    temperature: str = ""
    pressure: str = ""
    cartridge: str = ""


class ForetellDeed(ConditionsDeed, frozen=True, tag="foretell", kw_only=True):
    """A race of one car."""

    car: str


class FreezeDeed(ConditionsDeed, frozen=True, tag="freeze"):
    """Predictions of all cars."""


class EnterDeed(DeedMessage, frozen=True, tag="enter"):
    """All cars enter."""


class DrawDeed(DeedMessage, frozen=True, tag="draw"):
    """Time trials drawn."""

    rounds: _Number
    counts: str = ""


class NoteDeed(DeedMessage, frozen=True, tag="note"):
    """What was typed for a lane."""

    heat: _Number
    car: str
    result: str
    because: str = ""
    confirmed: bool = False


class RerunDeed(DeedMessage, frozen=True, tag="rerun"):
    """A heat run again."""

    heat: _Number
    because: str


class OutDeed(DeedMessage, frozen=True, tag="out"):
    """A car that does not race any more."""

    car: str
    because: str


class BackDeed(DeedMessage, frozen=True, tag="back"):
    """A car that races again."""

    car: str
    because: str


class AllowDeed(DeedMessage, frozen=True, tag="allow"):
    """Cars that an official lets race; all that wait where none is named."""

    because: str
    cars: tuple[str, ...] = ()


class EliminateDeed(DeedMessage, frozen=True, tag="eliminate"):
    """The next round of eliminations."""

    runs: _Number = ""
    best: _Number = ""
    chance: bool = False


Act: TypeAlias = NudgeAct | SetAct | AddPointAct | InsertAct | DeleteAct | ConvertAct | RoundAct
Question: TypeAlias = LimitsQuestion | SolidQuestion | SectionQuestion
RaceDeed: TypeAlias = (
    EnterDeed | DrawDeed | NoteDeed | RerunDeed | OutDeed | BackDeed | AllowDeed | EliminateDeed
)
BookDeed: TypeAlias = AddDesignsDeed | AddRecordDeed | StrikeDeed | InspectDeed | ForetellDeed | FreezeDeed

_BY_KIND: Mapping[str, object] = {
    "type": TypeMessage,
    "drag": DragMessage,
    "act": Act,
    "ask": Question,
    "difference": DifferenceMessage,
    "fix": FixMessage,
}
"""Messages that hold more than their kind."""

T = TypeVar("T")


class MalformedError(ValueError):
    """What was sent is no message of the page; nothing was done."""


def read_deed(data: bytes) -> BookDeed | RaceDeed:
    """What is to be done with a trial book. Raises `MalformedError`."""
    found: BookDeed | RaceDeed = _converted(_read(data), BookDeed | RaceDeed)  # type: ignore[arg-type]
    return found


def read_as(data: str | bytes, wanted: type[T]) -> T:
    """What a page sent, every text in it whole.

    Raises:
        MalformedError: it is no JSON, or says something else than what is wanted.
    """
    return _converted(_read(data), wanted)


def read_message(data: str | bytes) -> PageMessage:
    """A message on a design's wire. Raises `MalformedError`."""
    found = _read(data)
    kind = found.get("kind") if isinstance(found, dict) else None
    wanted = _BY_KIND.get(kind, PageMessage) if isinstance(kind, str) else PageMessage
    return _converted(found, wanted)  # type: ignore[arg-type]  # unions are types to msgspec


def _read(data: str | bytes) -> object:
    try:
        return whole(json.loads(data, parse_constant=_refuse))
    except (ValueError, RecursionError):
        raise MalformedError("this is no JSON") from None


def _converted(found: object, wanted: type[T]) -> T:
    try:
        return msgspec.convert(found, wanted)
    except msgspec.ValidationError as error:
        raise MalformedError(str(error)[:200]) from None


def _refuse(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")
