"""The kit that an event hands out: names of stock items, checked against the stock tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from bodyshop.design.model import Kit
from bodyshop.problems import nearest
from bodyshop.rulebook.cells import Form
from bodyshop.stock.blanks import blanks
from bodyshop.stock.finish import finishes, glues
from bodyshop.stock.hardware import NOTHING, Hardware, WheelEnd, hardware
from bodyshop.stock.woods import woods

__all__ = ["read_kit"]

_MOST_WASHERS: Final = 20


def read_kit(form: Form, brought: Hardware = NOTHING) -> Kit:
    """The kit that the table states, with what the event brings; a name that is neither in stock nor brought
    is noted.
    """
    parts = hardware().and_also(brought)
    front = (item.id for item in parts.wheels.values() if item.end is not WheelEnd.REAR)
    rear = (item.id for item in parts.wheels.values() if item.end is not WheelEnd.FRONT)
    stock: Mapping[str, Iterable[str]] = {
        "blank": blanks(),
        "wood": woods(),
        "axle": parts.axles,
        "bearing": parts.bearings,
        "front_wheel": front,
        "rear_wheel": rear,
        "washer": parts.washers,
        "screw_eye": parts.screw_eyes,
        "cartridge": parts.cartridges,
        "finish": finishes(),
        "glue": glues(),
    }
    named = {key: _item(form, key, tuple(names)) for key, names in stock.items()}
    return Kit(
        blank=named["blank"],
        wood=named["wood"],
        axle=named["axle"],
        bearing=named["bearing"],
        front_wheel=named["front_wheel"],
        rear_wheel=named["rear_wheel"],
        washer=named["washer"],
        washers=form.whole("washers", 0, _MOST_WASHERS, Kit().washers),
        screw_eye=named["screw_eye"],
        cartridge=named["cartridge"],
        finish=named["finish"],
        glue=named["glue"],
        brought=brought,
    )


def _item(form: Form, key: str, names: tuple[str, ...]) -> str:
    name = form.text(key)
    cell = form.cell(key)
    if not name or cell is None or name in names:
        return name
    close = nearest(name, names)
    thing = key.replace("_", " ")
    form.note(
        cell.problem(
            "rulebook-kit",
            f'no {thing} in stock is called "{name}"',
            found=name,
            expected=""
            if close
            else "one of " + ", ".join(names[:12]) + (", ..." if len(names) > 12 else ""),
            near=close,
        )
    )
    return ""
