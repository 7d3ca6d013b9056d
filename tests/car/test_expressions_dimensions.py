"""Named dimensions: any order, and every fault at once."""

import math

import pytest

from bodyshop.car.expressions import DimensionFault, Quantity, name_fault, resolve
from bodyshop.foundation.units import LengthUnit

MM, IN = LengthUnit.MM, LengthUnit.IN


def told(faults: list[DimensionFault]) -> list[tuple[str, str]]:
    return [(fault.name, fault.error.code) for fault in faults]


def test_any_order_will_do() -> None:
    values, faults = resolve(
        {
            "tail": "body - nose",
            "nose": "body / 3",
            "body": "305 mm",
            "n": 3,
            "third": "1 / n",
            "wall": 0.125,
        },
        IN,
    )
    assert faults == []
    assert values == {
        "tail": Quantity(305 - 305 / 3),
        "nose": Quantity(305 / 3),
        "body": Quantity(305.0),
        "n": Quantity(3.0, None),
        "third": Quantity(1 / 3, None),
        "wall": Quantity(0.125, None),
    }
    assert list(values) == ["tail", "nose", "body", "n", "third", "wall"]


def test_angles_ratios_and_areas_can_be_named() -> None:
    values, faults = resolve({"tilt": "5 deg", "part": "sin(tilt)", "face": "42 mm * 70 mm"}, MM)
    assert faults == []
    assert values["tilt"] == Quantity(math.radians(5), None, angle=True)
    assert values["part"] == Quantity(math.sin(math.radians(5)), 0)
    assert values["face"] == Quantity(2940.0, 2)


def test_every_fault_at_once() -> None:
    values, faults = resolve(
        {
            "a": "b + 1",
            "b": "c",
            "c": "a * 2",
            "after": "a + 1 mm",
            "lost": "bdy + wal + bdy",
            "body": "305 mm",
            "wall": "3 mm",
            "alone": "alone",
            "sin": 1,
            "in": 2,
            "x-y": 3,
            "truth": True,
            "none": math.nan,
            "list": [1],
            "broken": "2 *",
            "kinds": "body + body * wall",
            "good": "body - wall",
        },
        MM,
    )
    assert told(faults) == [
        ("a", "dimension-circle"),
        ("lost", "expression-name"),
        ("lost", "expression-name"),
        ("alone", "dimension-circle"),
        ("sin", "dimension-name"),
        ("in", "dimension-name"),
        ("x-y", "dimension-name"),
        ("truth", "length-type"),
        ("none", "length-finite"),
        ("list", "length-type"),
        ("broken", "expression-end"),
        ("kinds", "expression-kind"),
    ]
    assert faults[0].cycle == ("a", "b", "c", "a")
    assert "a -> b -> c -> a" in faults[0].error.message
    assert (faults[0].error.start, faults[0].error.end) == (0, 1)
    assert [fault.error.nearest for fault in faults[1:3]] == ["body", "wall"]
    assert [fault.error.start for fault in faults[1:3]] == [0, 6]
    assert faults[3].cycle == ("alone", "alone")
    assert [fault.name for fault in faults if fault.at_key] == ["sin", "in", "x-y"]
    assert faults[6].error.nearest == "x_y"
    assert values["good"] == Quantity(302.0)
    assert {"a", "b", "c", "after", "lost", "alone", "truth", "broken", "kinds"}.isdisjoint(values)


def test_a_circle_is_told_from_its_first_member() -> None:
    _, faults = resolve({"x": "c", "b": "c", "c": "2 * b"}, MM)
    assert [(fault.name, fault.cycle) for fault in faults] == [("b", ("b", "c", "b"))]
    assert (faults[0].error.start, faults[0].error.end) == (0, 1)


def test_two_circles_are_two_faults() -> None:
    _, faults = resolve({"a": "b", "b": "a", "c": "d + a", "d": "c"}, MM)
    assert [fault.cycle for fault in faults] == [("a", "b", "a"), ("c", "d", "c")]


def test_a_circle_beside_an_unknown_name() -> None:
    _, faults = resolve({"a": "b + zz", "b": "a"}, MM)
    assert sorted(told(faults)) == [("a", "dimension-circle"), ("a", "expression-name")]


def test_a_chain_of_thousands() -> None:
    chain: dict[str, object] = {f"x{i}": f"x{i + 1} + 1 mm" for i in range(3000)}
    values, faults = resolve({**chain, "x3000": "1 mm"}, MM)
    assert faults == []
    assert values["x0"] == Quantity(3001.0)
    values, faults = resolve({**chain, "x3000": "x0"}, MM)
    assert values == {}
    assert len(faults) == 1
    assert len(faults[0].cycle) == 3002
    assert len(faults[0].error.message) < 120


def test_the_same_letters_written_two_ways() -> None:
    values, faults = resolve({"\u00e9": "1 mm", "e\u0301": "2 mm", "x": "e\u0301"}, MM)
    assert told(faults) == [("e\u0301", "dimension-name")]
    assert values["x"] == Quantity(1.0)


@pytest.mark.parametrize("name", ["wall", "wall_2", "_x", "Wall", "größe", "高さ", "max_wall", "inner", "g"])
def test_good_names(name: str) -> None:
    assert name_fault(name) is None


@pytest.mark.parametrize(
    ("name", "piece", "near"),
    [
        ("max", "function", ""),
        ("mm", "unit", ""),
        ("Inches", "unit", ""),
        ("deg", "unit", ""),
        ("ft", "unit", ""),
        ("", "cannot name", ""),
        ("2x", "cannot name", ""),
        ("wall height", "cannot name", "wall_height"),
        ("wall-height", "cannot name", "wall_height"),
        ("a.b", "cannot name", "a_b"),
        ("\x1b[1m", "cannot name", ""),
        ("x" * 200 + " y", "cannot name", ""),
    ],
)
def test_bad_names(name: str, piece: str, near: str) -> None:
    fault = name_fault(name)
    assert fault is not None
    assert piece in fault.message
    assert fault.message.isprintable()
    assert len(fault.message) < 100
    assert fault.nearest == near
