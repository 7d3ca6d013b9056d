"""Whatever is put in place of a value or a key, a design loads or is refused with placed problems."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.car.design import Design, read_design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import Source
from tests.car.kits import TEST_KIT

TEXTS = {
    name: (samples_folder() / f"{name}.toml").read_text(encoding="utf-8")
    for name in ("kestrel", "heron", "swift")
}

Path = tuple[str | int, ...]


def leaves(value: object, path: Path = ()) -> Iterator[Path]:
    """Every place in the values of a file, tables and lists too."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from leaves(inner, (*path, i))


PLACES = {name: sorted(leaves(tomllib.loads(text)), key=repr) for name, text in TEXTS.items()}

odd_values = st.one_of(
    st.none().map(lambda _: {}),
    st.booleans(),
    st.integers(min_value=-(10**30), max_value=10**30),
    st.floats(allow_nan=True, allow_infinity=True),
    st.floats(min_value=-400, max_value=400),
    st.text(max_size=12),
    st.sampled_from(["none", "basswood", "1 5/8 in", "length / 0", "3 deg", "(((", "nan", "front", '2-3/4"']),
    st.lists(st.floats(min_value=-300, max_value=300), max_size=3),
    st.lists(st.lists(st.floats(min_value=-300, max_value=300), min_size=2, max_size=2), max_size=5),
    st.just({"to": [100.0, 20.0], "round": 1e-9}),
    st.just([]),
)


@settings(max_examples=150)
@given(st.data())
def test_nothing_but_problems_comes_of_an_odd_value(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(TEXTS)))
    values = tomllib.loads(TEXTS[name])
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(PLACES[name]))
        put(values, path, data.draw(odd_values))
    source = Source("odd.toml", TEXTS[name], values)
    design, problems = outcome(source)
    assert (design is None) == bool(problems)
    for problem in problems:
        assert problem.file == "odd.toml"
        assert problem.span is not None
        assert problem.message
        assert problem.message.isprintable(), problem.message
        assert len(problem.sentence) < 500
    if design is not None:
        assert design.profile.area > 0
        assert design.plan.area > 0


def outcome(source: Source) -> tuple[Design | None, tuple[Problem, ...]]:
    try:
        return read_design(source, TEST_KIT), ()
    except ProblemsError as raised:
        return None, raised.problems


def put(values: object, path: Path, odd: object) -> None:
    """Put `odd` where `path` leads, if an earlier one has not taken the way away."""
    for part in path[:-1]:
        if not holds(values, part):
            return
        values = values[part]  # type: ignore[index]
    if isinstance(values, dict) or holds(values, path[-1]):
        values[path[-1]] = odd  # type: ignore[index]


def holds(values: object, part: str | int) -> bool:
    if isinstance(values, dict):
        return part in values
    return isinstance(values, list) and isinstance(part, int) and part < len(values)


@pytest.mark.parametrize("name", ["heron", "swift"])
def test_every_part_of_a_design_can_be_left_out_or_misspelt(name: str) -> None:
    for path in PLACES[name]:
        for misspell in (False, True):
            values = tomllib.loads(TEXTS[name])
            inner: object = values
            for part in path[:-1]:
                inner = inner[part]  # type: ignore[index]
            last = path[-1]
            if isinstance(inner, dict):
                value = inner.pop(last)
                if misspell:
                    inner[f"{last}x"] = value
            elif isinstance(inner, list) and isinstance(last, int):
                del inner[last]
            design, problems = outcome(Source("odd.toml", TEXTS[name], values))
            assert (design is None) == bool(problems)
            free = path[0] == "dimensions" or isinstance(last, int)
            assert problems or free or not misspell, path
