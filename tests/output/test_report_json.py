"""JSON: rounded, finite, in stated units, the same figures as the judgement's."""

from __future__ import annotations

import json
import math
from pathlib import Path

import jsonschema
import msgspec
import pytest

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.problems import Problem, Span
from bodyshop.output.json.check import CheckDocument, check_data, checked_data, unread_data
from bodyshop.output.json.document import json_text, number, schema_of
from bodyshop.output.json.parts import UNITS, in_unit
from tests.documents import valid
from tests.output.cars import sample


def parsed(name: str) -> dict:
    return valid(check_data([checked_data(sample(name))], 0))["designs"][0]


@pytest.mark.parametrize(
    ("value", "given"), [(1.23456789, 1.234568), (-0.0, 0.0), (-1e-9, 0.0), (5, 5.0), (None, None)]
)
def test_numbers(value: float | None, given: float | None) -> None:
    read = number(value)
    assert read == given
    assert read is None or math.copysign(1.0, read) == math.copysign(1.0, given or 0.0)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_a_fault_of_ours(value: float) -> None:
    with pytest.raises(ValueError, match="cannot stand in a report"):
        number(value)


def test_angles_are_in_degrees() -> None:
    assert in_unit(math.pi / 2, QuantityKind.ANGLE) == 90.0
    assert in_unit(2.5, QuantityKind.LENGTH) == 2.5
    assert set(UNITS) == set(QuantityKind)


def test_every_measure_and_every_rule_is_there() -> None:
    checked = sample("kestrel")
    data = parsed("kestrel")
    assert [each["id"] for each in data["measures"]] == list(checked.measures)
    assert sorted(each["clause"] for each in data["rules"]) == sorted(
        rule.clause for rule in checked.opened.rulebook.rules
    )
    for each in data["measures"]:
        reading = checked.readings[each["id"]]
        if isinstance(reading, Reading):
            assert each["value"] == in_unit(reading.value, checked.measures[each["id"]].kind)
        else:
            assert each["value"] is None
            assert each["why_not"] == reading.reason


def test_a_rule_by_hand() -> None:
    # Lapwing's bore is drawn 47 mm deep; rule C2 of the Quarry Lane Sprint asks for 51 to 53 mm.
    rule = next(each for each in parsed("lapwing")["rules"] if each["clause"] == "C2")
    assert (rule["value"], rule["read"], rule["margin"], rule["over"]) == (47.0, 47.0, -4.0, 4.0)
    assert (rule["limits"]["min"], rule["limits"]["max"], rule["unit"]) == (51.0, 53.0, "mm")
    assert (rule["outcome"], rule["side"], rule["fails"]) == ("fail", "under", "disqualify")
    assert (rule["remedy"]["amount"], rule["remedy"]["target"]) == (4.0, 51.0)
    assert rule["remedy"]["drivers"][0]["new_text"] == "51"
    # The bore runs level on the centre line, 24 mm over the underside, from the tail at x = 318.
    assert rule["place"]["points"] == [[318.0, 0.0, 24.0], [271.0, 0.0, 24.0]]
    assert rule["stands"]["file"] == "rules/quarry-lane.toml"


def test_shipped_files_are_named_the_same_everywhere(root: Path) -> None:
    text = json_text(check_data([checked_data(sample("kestrel"))], 0))
    assert str(root) not in text
    assert json.loads(text)["designs"][0]["file"] == "samples/kestrel.toml"


def test_a_broken_file_is_in_the_same_envelope() -> None:
    problem = Problem("odd", "this is odd", "car.toml", Span(3, 5, 3, 7), "bore.depth", "x", "y", "z")
    document = valid(check_data([unread_data("car.toml", [problem])], 2))
    (told,) = document["designs"][0]["problems"]
    assert (told["file"], told["line"], told["column"], told["end_column"]) == ("car.toml", 3, 5, 7)
    assert (told["code"], told["key"], told["nearest"]) == ("odd", "bore.depth", "z")


SPOILT = {
    "a later version": lambda document: document.update(version=3),
    "a key too many": lambda document: document["designs"][0].update(extra=1),
    "a key too few": lambda document: document["designs"][0]["rules"][0].pop("clause"),
    "an empty item": lambda document: document["designs"][0]["mass"].update(items=[{}]),
}


@pytest.mark.parametrize("case", SPOILT)
def test_the_schema_sees_what_is_wrong(case: str) -> None:
    document = valid(check_data([checked_data(sample("wren"))], 0))
    SPOILT[case](document)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, schema_of(CheckDocument))
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(document, CheckDocument)
