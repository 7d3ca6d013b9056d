"""The hand on the drawing: what the page says that it did, as a change of the text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from bodyshop.bench.desk import Desk
from bodyshop.bench.drawing import STEPS, EditResult, Snap, Step, drag, nudge, set_value

__all__ = ["moved"]

_NOT_NOW: Final = "The text cannot be read just now: put it right first, then the car can be moved again."
_FAR_MM: Final = 1e5


def moved(desk: Desk, message: Mapping[str, Any]) -> EditResult:
    """What a movement makes of the text.

    `message` is a `drag` (handle, x, y, snap) or an `act` of one of these names: `nudge` (handle, by, snap)
    and `set` (handle, number, text). Raises `KeyError`, `ValueError` or `TypeError` for one that makes no
    sense.
    """
    state = desk.state
    if not state.fresh or state.checked is None:
        return EditResult(None, refusal=_NOT_NOW)
    checked, handle = state.checked, str(message["handle"])
    source = checked.opened.source
    match "drag" if message["kind"] == "drag" else message["name"]:
        case "drag":
            return drag(source, checked, handle, (_mm(message["x"]), _mm(message["y"])), _snap(message))
        case "nudge":
            u, v = message["by"]
            step = _step(message) or STEPS["0.1 mm"]
            return nudge(source, checked, handle, (int(u), int(v)), step)
        case "set":
            return set_value(source, checked, handle, int(message["number"]), str(message["text"])[:200])
        case other:
            raise ValueError(f"nothing is called {other}")


def _mm(value: object) -> float:
    """A coordinate that a car can have. Raises `ValueError` and `TypeError`."""
    number = float(value)  # type: ignore[arg-type]
    if not -_FAR_MM < number < _FAR_MM:
        raise ValueError(f"{number} is far off")
    return number


def _step(message: Mapping[str, Any]) -> Step | None:
    asked = message.get("snap")
    name = asked.get("step") if isinstance(asked, Mapping) else asked
    return STEPS[name] if name else None


def _snap(message: Mapping[str, Any]) -> Snap:
    asked = message.get("snap")
    exact = asked.get("exact", (False, False)) if isinstance(asked, Mapping) else (False, False)
    return Snap(_step(message), (bool(exact[0]), bool(exact[1])))
