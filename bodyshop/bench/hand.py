"""The hand on the drawing: scenes for the page, and its movements as new texts.

What the page sends. `drag`: `handle`, `to` [u, v] in mm of its view, `grid` the name of a step or "",
`exact` [bool, bool] for what lies on a limit. `act`: `name` and what goes with it.

| name | with | does |
|---|---|---|
| nudge | handle, by [steps, steps], grid | an arrow key |
| type | handle, number, typed | one of the handle's numbers typed |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from bodyshop.bench.desk import Desk
from bodyshop.bench.drawing import STEPS, EditResult, Snap, nudge, scene, set_value
from bodyshop.bench.drawing import drag as dragged
from bodyshop.checking import Checked
from bodyshop.outline import Point
from bodyshop.report.plain_data import Data
from bodyshop.source import Source

__all__ = ["Refusal", "act", "drag", "scene_data"]

_FURTHEST_MM: Final = 10_000.0
_MOST_STEPS: Final = 10_000


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a movement changes nothing, in a sentence for the person who made it."""

    message: str


def scene_data(checked: Checked) -> Data:
    """The views of a car with all that can be taken hold of."""
    return scene(checked)


def drag(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    """The text after a handle has been moved. Raises `ValueError`, `KeyError`, `TypeError` for nonsense."""
    handle, to = str(message["handle"]), _point(message["to"])
    along, up = message.get("exact") or (False, False)
    snap = Snap(STEPS.get(str(message.get("grid", ""))), (bool(along), bool(up)))
    return _done(desk, lambda source, checked: dragged(source, checked, handle, to, snap))


def act(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    """The text after something else was done on the drawing. Raises as `drag`."""
    return _ACTS[str(message["name"])](desk, message)


def _nudge(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    handle, step = str(message["handle"]), STEPS[str(message["grid"])]
    along, up = (int(each) for each in message["by"])
    if max(abs(along), abs(up)) > _MOST_STEPS:
        raise ValueError("too many steps")
    return _done(desk, lambda source, checked: nudge(source, checked, handle, (along, up), step))


def _type(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    handle, number, typed = str(message["handle"]), int(message["number"]), str(message["typed"])[:200]
    return _done(desk, lambda source, checked: set_value(source, checked, handle, number, typed))


_ACTS: Final[Mapping[str, Callable[[Desk, Mapping[str, Any]], str | Refusal]]] = {
    "nudge": _nudge,
    "type": _type,
}


def _done(desk: Desk, work: Callable[[Source, Checked], EditResult]) -> str | Refusal:
    state = desk.state
    if not state.fresh or state.checked is None:
        return Refusal("The text cannot be read just now: mend it first, or undo.")
    result = work(state.checked.opened.source, state.checked)
    return Refusal(result.refusal) if result.text is None else result.text


def _point(given: Any) -> Point:
    u, v = (float(each) for each in given)
    if not (abs(u) <= _FURTHEST_MM and abs(v) <= _FURTHEST_MM):
        raise ValueError("this place is nowhere near the drawing")
    return u, v
