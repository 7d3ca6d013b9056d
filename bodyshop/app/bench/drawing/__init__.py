"""The drawing of a design on the bench: three views at one scale, and what a hand does to them.

`scene` tells the page what to draw, `drag` and its like put a movement into the text. The page's own part
is in `page`: plain JavaScript and a style sheet.
"""

from bodyshop.app.bench.drawing.edits import drag, nudge, read_again, set_value
from bodyshop.app.bench.drawing.limits import limit_lines
from bodyshop.app.bench.drawing.model import (
    STEPS,
    DrawingView,
    EditResult,
    GridStep,
    Handle,
    HandleKind,
    NumberChange,
    Snap,
)
from bodyshop.app.bench.drawing.points import (
    EDGES,
    add_point,
    convert_point,
    delete_handle,
    insert_point,
    round_point,
)
from bodyshop.app.bench.drawing.scene import scene

__all__ = [
    "EDGES",
    "STEPS",
    "NumberChange",
    "EditResult",
    "Handle",
    "HandleKind",
    "DrawingView",
    "Snap",
    "GridStep",
    "add_point",
    "convert_point",
    "delete_handle",
    "drag",
    "insert_point",
    "limit_lines",
    "nudge",
    "read_again",
    "round_point",
    "scene",
    "set_value",
]
