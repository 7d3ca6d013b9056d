"""What the page asks of the drawing, by name: drags, changes of the text, and questions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from bodyshop.app.bench.document import DesignDocument, judge_text
from bodyshop.app.bench.drawing import Snap, drag, nudge, set_value
from bodyshop.app.bench.drawing.limits import limit_lines
from bodyshop.app.bench.drawing.model import STEPS, DrawingView, EditResult, GridStep
from bodyshop.app.bench.drawing.points import (
    add_point,
    convert_point,
    delete_handle,
    insert_point,
    round_point,
)
from bodyshop.app.bench.drawing.solid import section_data, solid_data
from bodyshop.app.bench.messages import Data
from bodyshop.foundation.toml import Source
from bodyshop.rules.checking import Checked, RulebookCache

__all__ = ["act", "asked", "moved"]


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
    sheet = DrawingView(str(message["view"]))
    return add_point(source, checked, sheet, (u, v), min(reach, _REACH_MM), _step(message))


def _insert(source: Source, checked: Checked, message: Message) -> EditResult:
    return insert_point(source, checked, str(message["handle"]), _step(message))


def _delete(source: Source, checked: Checked, message: Message) -> EditResult:
    return delete_handle(source, checked, str(message["handle"]))


def _convert(source: Source, checked: Checked, message: Message) -> EditResult:
    return convert_point(source, checked, str(message["handle"]), str(message["to"]))


def _round(source: Source, checked: Checked, message: Message) -> EditResult:
    return round_point(source, checked, str(message["handle"]))


def _step(message: Message) -> GridStep | None:
    asked = message.get("snap")
    return STEPS[str(asked)] if asked else None


_ACTS: Final[Mapping[str, Callable[[Source, Checked, Message], EditResult]]] = {
    "add": _add,
    "insert": _insert,
    "delete": _delete,
    "convert": _convert,
    "round": _round,
}


_NOT_NOW: Final = "The text cannot be read just now: put it right first, then the car can be moved again."
_MOST_STEPS: Final = 1000


def moved(document: DesignDocument, message: Mapping[str, Any]) -> EditResult:
    """What a movement makes of the text.

    `message` is a `drag` (handle, x, y, snap), or an `act`: `nudge` (handle, by, snap), `set` (handle,
    number, text), or one of `drawing.acts`. Raises `KeyError`, `ValueError` or `TypeError` for one that makes
    no sense.
    """
    state = document.state
    if not state.fresh or state.checked is None:
        return EditResult(None, refusal=_NOT_NOW)
    checked, handle = state.checked, str(message.get("handle", ""))
    source = checked.opened.source
    match "drag" if message["kind"] == "drag" else message["name"]:
        case "drag":
            to = _mm(message["x"]), _mm(message["y"])
            return drag(source, checked, handle, to, _snap(message["snap"]))
        case "nudge":
            u, v = message["by"]
            return nudge(source, checked, handle, (_few(u), _few(v)), STEPS[str(message["snap"])])
        case "set":
            return set_value(source, checked, handle, int(message["number"]), str(message["text"])[:200])
        case _:
            return act(source, checked, message)


def asked(text: str, name: str, question: Mapping[str, Any]) -> dict[str, Data]:
    """The answer to what the drawing asks of a text: `limits` (handle), where rules are just met while a part
    is held; `solid`, the car in space; `section` (x), its wood at a station in mm.

    This takes its time and is done in a process of its own. Empty where it cannot be answered.
    """
    checked = judge_text(text, name, RulebookCache()).checked
    if checked is None:
        return {}
    match question.get("name"):
        case "limits":
            return {"lines": limit_lines(checked, str(question.get("handle")))}
        case "solid":
            return {"solid": solid_data(checked.opened.car)}
        case "section":
            return {"section": section_data(checked.opened.car, _mm(question.get("x")))}
        case _:
            return {}


def _mm(value: object) -> float:
    """A coordinate that a car can have. Raises `ValueError` and `TypeError`."""
    number = float(value)  # type: ignore[arg-type]
    if not -_FAR_MM < number < _FAR_MM:
        raise ValueError(f"{number} is far off")
    return number


def _few(count: object) -> int:
    """So many steps at once. Raises `ValueError` and `TypeError`."""
    number = int(count)  # type: ignore[call-overload]
    if abs(number) > _MOST_STEPS:
        raise ValueError(f"{number} steps are too many")
    return int(number)


def _snap(asked: object) -> Snap:
    """`{step, exact}`, or the step alone."""
    step, exact = (asked["step"], asked["exact"]) if isinstance(asked, Mapping) else (asked, (False, False))
    u, v = exact
    return Snap(STEPS[str(step)] if step else None, (bool(u), bool(v)))
