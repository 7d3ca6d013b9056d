"""What the page asks of the drawing, by name: drags, changes of the text, and questions."""

from __future__ import annotations

from typing import Final

from bodyshop.app.bench import messages
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
from bodyshop.rules.checking import RulebookCache

__all__ = ["asked", "moved"]


_REACH_MM: Final = 50.0
_LONGEST: Final = 200
_NOT_NOW: Final = "The text cannot be read just now: put it right first, then the car can be moved again."


def moved(document: DesignDocument, message: messages.DragMessage | messages.Act) -> EditResult:
    """What a movement makes of the text. Raises `MalformedError` for a step that no grid has."""
    state = document.state
    if not state.fresh or state.checked is None:
        return EditResult(None, refusal=_NOT_NOW)
    checked = state.checked
    source, (step, exact) = checked.opened.source, _snap(getattr(message, "snap", ""))
    match message:
        case messages.DragMessage():
            made = drag(source, checked, message.handle, (message.x, message.y), Snap(step, exact))
        case messages.NudgeAct():
            if step is None:
                raise messages.MalformedError("a nudge has no step")
            made = nudge(source, checked, message.handle, message.by, step)
        case messages.SetAct():
            made = set_value(source, checked, message.handle, message.number, message.text[:_LONGEST])
        case messages.AddPointAct():
            view, reach = DrawingView(message.view), min(message.reach, _REACH_MM)
            made = add_point(source, checked, view, message.at, reach, step)
        case messages.InsertAct():
            made = insert_point(source, checked, message.handle, step)
        case messages.DeleteAct():
            made = delete_handle(source, checked, message.handle)
        case messages.ConvertAct():
            made = convert_point(source, checked, message.handle, message.to)
        case _:
            made = round_point(source, checked, message.handle)
    return made


def asked(text: str, name: str, question: messages.Question | None) -> dict[str, Data]:
    """The answer to what the drawing asks of a text.

    This takes its time and is done in a process of its own. Empty where it cannot be answered.
    """
    checked = judge_text(text, name, RulebookCache()).checked
    if checked is None:
        return {}
    match question:
        case messages.LimitsQuestion(handle=handle):
            return {"lines": limit_lines(checked, handle)}
        case messages.SolidQuestion():
            return {"solid": solid_data(checked.opened.car)}
        case messages.SectionQuestion(x=x):
            return {"section": section_data(checked.opened.car, x)}
        case None:
            return {}


def _snap(wanted: messages.SnapWanted | str) -> tuple[GridStep | None, tuple[bool, bool]]:
    """The step of the grid, None for no name, and the axes that are meant as they are."""
    name, exact = (wanted, (False, False)) if isinstance(wanted, str) else (wanted.step, wanted.exact)
    if name and name not in STEPS:
        raise messages.MalformedError("there is no such step")
    return STEPS.get(name), exact
