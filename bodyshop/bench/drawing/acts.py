"""What the page asks of the drawing besides dragging, by name: changes of the text, and questions.

| act | with | does |
|---|---|---|
| add | view, at [u, v], reach, snap | a point on the edge nearest to a place |
| insert | handle, snap | a point half way along the edge that leaves a point |
| delete | handle | a point or a rounding away |
| convert | handle, to | the edge to a point made a line, an arc, smooth, or a curve |
| round | handle | the corner at a point rounded |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from bodyshop.bench.drawing.model import STEPS, EditResult, Sheet, Step
from bodyshop.bench.drawing.points import (
    add_point,
    convert_point,
    delete_handle,
    insert_point,
    round_point,
)
from bodyshop.checking import Checked
from bodyshop.source import Source

__all__ = ["act"]

_FAR_MM: Final = 1e5
_REACH_MM: Final = 50.0

Message = Mapping[str, Any]


def act(source: Source, checked: Checked, message: Message) -> EditResult:
    """What an act makes of the text. Raises `KeyError`, `ValueError` or `TypeError` for one that makes no
    sense.
    """
    return _ACTS[str(message["name"])](source, checked, message)


def _add(source: Source, checked: Checked, message: Message) -> EditResult:
    u, v = (float(each) for each in message["at"])
    reach = float(message["reach"])
    if not (abs(u) < _FAR_MM and abs(v) < _FAR_MM and reach > 0):
        raise ValueError("this place is nowhere near the drawing")
    sheet = Sheet(str(message["view"]))
    return add_point(source, checked, sheet, (u, v), min(reach, _REACH_MM), _step(message))


def _insert(source: Source, checked: Checked, message: Message) -> EditResult:
    return insert_point(source, checked, str(message["handle"]), _step(message))


def _delete(source: Source, checked: Checked, message: Message) -> EditResult:
    return delete_handle(source, checked, str(message["handle"]))


def _convert(source: Source, checked: Checked, message: Message) -> EditResult:
    return convert_point(source, checked, str(message["handle"]), str(message["to"]))


def _round(source: Source, checked: Checked, message: Message) -> EditResult:
    return round_point(source, checked, str(message["handle"]))


def _step(message: Message) -> Step | None:
    asked = message.get("snap")
    return STEPS[str(asked)] if asked else None


_ACTS: Final[Mapping[str, Callable[[Source, Checked, Message], EditResult]]] = {
    "add": _add,
    "insert": _insert,
    "delete": _delete,
    "convert": _convert,
    "round": _round,
}
