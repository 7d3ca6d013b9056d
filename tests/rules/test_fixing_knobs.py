"""Which numbers of a file may be changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.car.design.fields import KeyKind as Holds
from bodyshop.car.design.fields import all_fields
from bodyshop.car.design.schema import ROOT
from bodyshop.car.measures import catalogue
from bodyshop.foundation.toml import KeyPath, dotted, parse_source, read_source
from bodyshop.foundation.toml.splice import patched
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.words.remedies import action_key, actions, name_of, outcomes
from bodyshop.rules.remedies.knobs import find_knobs, shared_knobs

DESIGNS = Path(__file__).resolve().parent / "designs"


def knobs_of(name: str, unit: LengthUnit = LengthUnit.MM):
    return find_knobs(read_source(DESIGNS / f"{name}.toml"))


def test_every_number_of_a_plain_file_is_one() -> None:
    keys = {knob.key for knob in knobs_of("straight")}
    # Counted in the file by hand: 6 and 3 points, three for the bore, two an axle, one a screw eye.
    assert len(keys) == 12 + 6 + 3 + 4 + 2
    assert {"profile.points[3][1]", "bore.height", "axles.rear.x", "screw_eye[1].ahead"} <= keys
    assert "format" not in keys


def test_what_is_worked_out_is_none_but_what_it_uses_is() -> None:
    knobs = {knob.key: knob for knob in knobs_of("named")}
    assert knobs["dimensions.half_width"].named
    assert "dimensions.waist" not in knobs
    assert "axles.front.x" not in knobs
    assert "profile.points[2].round" not in knobs
    assert "profile.points[3].round" in knobs


def test_a_dimension_counts_for_the_length_that_moves_most() -> None:
    text = (DESIGNS / "named.toml").read_text(encoding="utf-8").replace("length * 0.66", "length * share")
    source = parse_source(text.replace("[dimensions]\n", "[dimensions]\nshare = 0.66\nidle = 5\n"), "t.toml")
    knobs = {knob.key: knob for knob in find_knobs(source)}
    # The wheelbase is 272 mm long for each whole one of the share.
    assert knobs["dimensions.share"].mm_per_unit == pytest.approx(272.0)
    assert float(knobs["dimensions.share"].grids[0]) * 272 <= 0.5
    assert knobs["dimensions.length"].mm_per_unit == pytest.approx(1.0)
    assert "dimensions.idle" not in knobs


def test_what_was_weighed_stays() -> None:
    keys = {knob.key for knob in knobs_of("windowed")}
    assert "blank.weighed" not in keys
    assert "axles.rear.wheel.mass" not in keys
    assert "plan.window[0].points[2].to[1]" in keys
    assert "profile.window[1].circle[0]" in keys


def test_the_ends_stand_in_several_places() -> None:
    shared = [[mark.path for mark in knob.marks] for knob in shared_knobs(knobs_of("curved"))]
    tail: list[KeyPath] = [
        ("profile", "points", 3, "to", 0),
        ("profile", "points", 4, "to", 0),
        ("plan", "points", 6, "to", 0),
    ]
    assert any(
        {dotted(p) for p in paths} >= {dotted(p) for p in tail[1:]}
        and {p[0] for p in paths} == {"profile", "plan"}
        for paths in shared
    )
    for knob in shared_knobs(knobs_of("curved")):
        assert len(knob.marks) > 1


def test_patching_copies_what_it_changes_and_shares_the_rest() -> None:
    values = {"a": {"b": [1, {"c": 2}]}, "d": [3]}
    new = patched(values, {("a", "b", 1, "c"): 9})
    assert new == {"a": {"b": [1, {"c": 9}]}, "d": [3]}
    assert values == {"a": {"b": [1, {"c": 2}]}, "d": [3]}
    assert new["d"] is values["d"]
    with pytest.raises(ValueError, match="no b"):
        patched({"a": 1}, {("a", "b"): 2})


def leaf_paths() -> list[KeyPath]:
    """A path for each key of the design file that holds a number."""
    lists = (Holds.TABLES, Holds.POINTS)
    kinds = {path: field.kind for path, field in all_fields(ROOT)}
    found: list[KeyPath] = []
    for path, field in all_fields(ROOT):
        full: list[str | int] = []
        for depth in range(1, len(path) + 1):
            full.append(path[depth - 1])
            if depth < len(path) and kinds[path[:depth]] in lists:
                full.append(0)
        if field.kind in (Holds.LENGTH, Holds.ANGLE, Holds.COUNT):
            found.append(tuple(full))
        elif field.kind is Holds.POINT:
            found += [(*full, 0), (*full, 1)]
        elif field.kind is Holds.HANDLES:
            found.append((*full, 0, 1))
        elif field.kind is Holds.LENGTHS:
            found.append((*full, "name"))
    return [path for path in found if path != ("format",)]


@pytest.mark.parametrize("path", leaf_paths(), ids=dotted)
def test_every_number_has_a_deed(path: KeyPath) -> None:
    key = action_key(path)
    assert key, f"deeds.toml has nothing for {dotted(path)}"
    words = actions()[key]
    assert bool(words.more and words.less) != bool(words.nearer and words.farther)


def test_shared_numbers_have_deeds() -> None:
    assert action_key(("profile", "points", 3, "to", 0), shared=True) == "shared.x"
    assert action_key(("profile", "points", 3, 1), shared=True) == "shared.height"
    assert action_key(("plan", "points", 3, 1), shared=True) == "shared.y"


def test_outcomes_are_of_known_measures_and_hold_the_value() -> None:
    assert set(outcomes()) <= set(catalogue())
    assert all("{value}" in words for words in outcomes().values())


@pytest.mark.parametrize(
    ("path", "name"),
    [
        (("bore", "height"), "bore.height"),
        (("dimensions", "half_width"), "dimensions.half_width"),
        (("profile", "points", 3, "to", 1), "profile point 4, height"),
        (("profile", "points", 3, 0), "profile point 4, x"),
        (("plan", "points", 0, 1), "plan point 1, y"),
        (("plan", "points", 2, "round"), "plan point 3, round"),
        (("profile", "points", 9, "handles", 1, 1), "profile point 10, handle 2, height"),
        (("profile", "window", 0, "points", 2, "to", 0), "profile window 1, point 3, x"),
        (("profile", "window", 1, "circle", 1), "profile window 2, circle, height"),
        (("profile", "window", 1, "diameter"), "profile window 2, diameter"),
        (("screw_eye", 1, "ahead"), "screw_eye 2, ahead"),
    ],
)
def test_names_count_from_one(path: KeyPath, name: str) -> None:
    assert name_of(path) == name
