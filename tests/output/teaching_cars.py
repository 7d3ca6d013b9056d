"""Cars for the tests of the report: random ones, most of which break many rules, and texts of a design."""

from __future__ import annotations

import json

from hypothesis import assume
from hypothesis import strategies as st

from bodyshop.car.assembly import Car
from bodyshop.car.body import body_faults
from bodyshop.car.design import read_design
from bodyshop.foundation.problems import ProblemsError, Severity
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.checking import Checked, LoadedCar, RulebookCache, check_car

__all__ = ["checked_text", "failing_car", "random_texts", "rewritten"]

_DESIGN = """
format = 1
name = "{name}"
bench = "Bench 9"
units = "mm"

[blank]
stock = "larkfield-block"
wood = "{wood}"

[profile]
points = [[0, {nose_low}], [20, 0], [{length}, 0], [{length}, {tail}], [{hump_x}, {hump}], [0, {nose}]]

[plan]
points = [[0, {half_nose}], [{waist_x}, {half_waist}], [{length}, {half_tail}]]

[bore]
diameter = {bore}
depth = {depth}
height = {bore_height}
offset = {bore_offset}

[axles.front]
x = {front}
height = {front_height}

[axles.rear]
x = {rear}
height = {rear_height}

[[screw_eye]]
axle = "front"
behind = {eye_front}
offset = {eye_offset}

[[screw_eye]]
axle = "rear"
ahead = {eye_rear}
"""

_shelf = RulebookCache()


def checked_text(text: str, name: str = "car.toml") -> Checked:
    """A judged car from the text of its design, by the default rulebook.

    Raises `ProblemsError` when the design cannot be read or made.
    """
    source = parse_source(text, name)
    book = _shelf.default()
    design = read_design(source, book.kit, book.stem)
    car = Car(design)
    faults = body_faults(car.body)
    if any(fault.severity is Severity.ERROR for fault in faults):
        raise ProblemsError(faults)
    return check_car(LoadedCar(source, book, design, car, by_default=True))


def _numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(int(low * 4), int(high * 4)).map(lambda n: n / 4)


@st.composite
def random_texts(draw: st.DrawFn) -> str:
    """The text of a design with sizes in and out of the usual."""
    length = draw(_numbers(180, 330))
    front = draw(_numbers(16, 0.45 * length))
    rear = draw(_numbers(front + 42, length - 14))
    return _DESIGN.format(
        name="Ouzel",
        wood=draw(st.sampled_from(("basswood", "american-beech", "balsa"))),
        length=length,
        nose_low=draw(_numbers(1, 6)),
        nose=draw(_numbers(14, 30)),
        tail=draw(_numbers(30, 50)),
        hump=draw(_numbers(26, 60)),
        hump_x=draw(_numbers(0.4 * length, 0.7 * length)),
        half_nose=draw(_numbers(8, 20)),
        half_waist=draw(_numbers(9, 20)),
        waist_x=draw(_numbers(0.3 * length, 0.7 * length)),
        half_tail=draw(_numbers(11.5, 20)),
        bore=draw(_numbers(17, 22)),
        depth=draw(_numbers(40, 60)),
        bore_height=draw(_numbers(14, 36)),
        bore_offset=draw(st.sampled_from((0, 0, 0.5, 2))),
        front=front,
        front_height=draw(_numbers(4, 12)),
        rear=rear,
        rear_height=draw(_numbers(4, 20)),
        eye_front=draw(_numbers(5, 30)),
        eye_offset=draw(st.sampled_from((0, 0, 1.5, 4))),
        eye_rear=draw(_numbers(5, 30)),
    )


def failing_car(text: str) -> Checked:
    """The judged car of a random text; texts of cars that cannot be made or break no rule are passed over."""
    try:
        checked = checked_text(text)
    except ProblemsError:
        checked = None
    assume(checked is not None and checked.judgement.failed)
    assert checked is not None
    return checked


def rewritten(text: str, name: str) -> str:
    """A design with another name."""
    lines = text.splitlines()
    at = next(k for k, line in enumerate(lines) if line.startswith("name ="))
    lines[at] = f"name = {json.dumps(name, ensure_ascii=False)}"
    return "\n".join(lines) + "\n"
