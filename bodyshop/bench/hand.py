"""The hand on the drawing: scenes for the page, and its movements as new texts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bodyshop.bench.desk import Desk
from bodyshop.checking import Checked
from bodyshop.report.plain_data import Data

__all__ = ["Refusal", "act", "drag", "scene_data"]


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a movement changes nothing, in a sentence for the person who made it."""

    message: str


def scene_data(checked: Checked) -> Data:
    """The views of a car with all that can be taken hold of."""
    return {"name": checked.opened.design.name}


def drag(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    """The text after a handle has been moved."""
    return Refusal(f"{message['handle']} of {desk.name} cannot be moved")


def act(desk: Desk, message: Mapping[str, Any]) -> str | Refusal:
    """The text after something else was done on the drawing."""
    return Refusal(f"{message['name']} cannot be done to {desk.name}")
