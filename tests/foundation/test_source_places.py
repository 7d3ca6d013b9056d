"""Places of keys and values: every path that the standard reader has, and no other, at the right spot."""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.problems import Span
from bodyshop.foundation.toml import KeyPath, Source, dotted, parse_source
from bodyshop.foundation.toml.places import find_places

ODD = sorted((Path(__file__).parent / "odd").glob("*.toml"))


def paths_of(value: object, path: KeyPath = ()) -> set[KeyPath]:
    found: set[KeyPath] = {path} if path else set()
    if isinstance(value, dict):
        for key, inner in value.items():
            found |= paths_of(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            found |= paths_of(inner, (*path, index))
    return found


def value_at(values: object, path: KeyPath) -> object:
    for part in path:
        values = values[part]  # type: ignore[index]
    return values


def cut(source: Source, span: Span) -> str:
    """The text that a span covers, found by counting lines and columns afresh."""
    lines = source.text.split("\n")
    if span.line == span.end_line:
        return lines[span.line - 1][span.column - 1 : span.end_column - 1]
    first = lines[span.line - 1][span.column - 1 :]
    last = lines[span.end_line - 1][: span.end_column - 1]
    return "\n".join([first, *lines[span.line : span.end_line - 1], last])


def test_there_are_odd_files() -> None:
    assert len(ODD) >= 15


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\ufeff"], ids=["lf", "crlf", "bom"])
@pytest.mark.parametrize("path", ODD, ids=lambda path: path.stem)
def test_paths_are_those_of_the_standard_reader(path: Path, ends: str) -> None:
    text = path.read_text(encoding="utf-8")
    text = ends + text if ends == "\ufeff" else text.replace("\n", ends)
    source = parse_source(text, path.name)
    assert set(find_places(source.text).at) == paths_of(source.values)
    assert find_places(source.text).repeats == []


@pytest.mark.parametrize("ends", ["\n", "\r\n"], ids=["lf", "crlf"])
@pytest.mark.parametrize("path", ODD, ids=lambda path: path.stem)
def test_each_value_reads_the_same_where_it_stands(path: Path, ends: str) -> None:
    source = parse_source(path.read_text(encoding="utf-8").replace("\n", ends), path.name)
    checked = 0
    for where in paths_of(source.values):
        value = value_at(source.values, where)
        text = cut(source, source.span(where))
        key = cut(source, source.key_span(where))
        if isinstance(where[-1], str) and not isinstance(value, list):
            assert list(tomllib.loads(f"{key} = 0")) == [where[-1]]
        if isinstance(value, dict) and not text.startswith("{"):
            assert text.startswith("[") or list(tomllib.loads(f"{text} = 0")) == [where[-1]]
        elif not (isinstance(value, list) and text.startswith("[[") and not text.endswith("]")):
            shown = tomllib.loads(f"v = {text}")["v"] if not text.startswith("[[") else value
            assert repr(shown) == repr(value)
            checked += 1
    assert checked or not paths_of(source.values)


def test_spans_in_a_plain_file() -> None:
    source = parse_source(
        '# remark\nname = "Wren"\n\n[bore]\n\tdiameter = 19.5 # é\n[[eye]]\nx = "3 inchs"\n[[eye]]\n'
        "points = [[0, 1], [22, 3]]\n",
        "wren.toml",
    )
    assert source.span(("name",)) == Span(2, 8, 2, 14)
    assert source.key_span(("name",)) == Span(2, 1, 2, 5)
    assert source.span(("bore",)) == Span(4, 1, 4, 7)
    assert source.key_span(("bore",)) == Span(4, 2, 4, 6)
    assert source.span(("bore", "diameter")) == Span(5, 13, 5, 17)
    assert source.span(("eye",)) == Span(6, 1, 6, 8)
    assert source.span(("eye", 1)) == Span(8, 1, 8, 8)
    assert source.span(("eye", 1, "points", 1, 0)) == Span(9, 20, 9, 22)
    assert source.key_span(("eye", 1, "points", 1, 0)) == Span(9, 20, 9, 22)
    # What is not there stands at the nearest thing above it.
    assert source.span(("bore", "depth")) == source.span(("bore",))
    assert source.span(("eye", 1, "points", 7)) == source.span(("eye", 1, "points"))
    assert source.key_span(("bore", "depth", "x")) == source.span(("bore",))
    assert source.span(("nothing", "here")) == Span(1, 1, 1, 2)
    assert source.span(()) == Span(1, 1, 1, 2)


def test_columns_count_characters() -> None:
    source = parse_source('\t"é🚗" = [ "車", 12 ] # 車\nx = { "ß" = 5 }', "f")
    assert source.key_span(("é🚗",)) == Span(1, 2, 1, 6)
    assert source.span(("é🚗", 0)) == Span(1, 11, 1, 14)
    assert source.span(("é🚗", 1)) == Span(1, 16, 1, 18)
    assert source.span(("x", "ß")) == Span(2, 13, 2, 14)


def test_a_part_of_a_text_value() -> None:
    source = parse_source(
        'a = "3 inchs"\nb = \'3 inchs\'\nc = "\\u00e9\\t3 \\"x"\nd = """3 inchs"""\ne = 5', "f"
    )
    assert source.inner_span(("a",), 2, 7) == Span(1, 8, 1, 13)
    assert source.inner_span(("b",), 2, 7) == Span(2, 8, 2, 13)
    # é is written in six characters, the tab in two
    assert source.inner_span(("c",), 0, 1) == Span(3, 6, 3, 12)
    assert source.inner_span(("c",), 2, 3) == Span(3, 14, 3, 15)
    assert source.inner_span(("c",), 4, 6) == Span(3, 16, 3, 19)
    assert source.inner_span(("d",), 2, 7) == source.span(("d",))
    assert source.inner_span(("e",), 0, 1) == source.span(("e",))
    assert source.inner_span(("a",), 7, 7) == Span(1, 13, 1, 14)
    assert source.inner_span(("a",), 3, 3) == Span(1, 9, 1, 10)
    assert source.inner_span(("a",), 0, 999) == Span(1, 6, 1, 13)
    assert source.inner_span(("f",), 0, 1) == Span(1, 1, 1, 2)


def test_paths_are_written_as_people_do() -> None:
    assert dotted(("profile", "points", 3, "x")) == "profile.points[3].x"
    assert dotted(("a b", "", "é")) == "'a b'.''.é"
    assert dotted(()) == ""


def test_places_are_not_sought_before_they_are_asked_for() -> None:
    source = parse_source("a = 1\n", "f")
    assert "_places" not in source.__dict__
    assert source.span(("a",)) == Span(1, 5, 1, 6)
    assert "_places" in source.__dict__


@pytest.mark.parametrize(
    ("text", "first", "second"),
    [
        ("a = 1\nb = 2\na = 3", "a", "a"),
        ("[a]\nb = 1\n[c]\n[a]", "[a]", "a"),
        ("a = 1\na.b = 2", "a", "b"),
        ("a.b = 1\n[a]\nc = 1", "a", "a"),
        ("[a]\nx = { y = 1, y = 2 }", "y", "y"),
        ("[[a]]\n[a]", "[[a]]", "a"),
        ("[a]\n[[a]]", "[a]", "a"),
        ("a = [1]\n[[a]]", "a", "a"),
        ("x = [ { y = 1, y = 2 } ]", "y", "y"),
        ('"é" = 1\n"\\u00e9" = 2', '"é"', '"\\u00e9"'),
    ],
)
def test_repeats(text: str, first: str, second: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(text)
    repeat = find_places(text).repeats[0]
    assert text[slice(*repeat.first)] == first
    assert text[slice(*repeat.second)] == second
    assert repeat.first < repeat.second


NAMES = st.text(alphabet="ab é🚗.\"'#=[", max_size=4)
VALUES = st.recursive(
    st.integers(-99, 99) | st.booleans() | st.text(alphabet="ab é🚗\"'#=[]{}\\", max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=8,
)


def written(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return '"' + re.sub(r'(["\\])', r"\\\1", value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(written, value)) + "]"
    assert isinstance(value, dict)
    return "{" + ", ".join(f"{written(key)} = {written(inner)}" for key, inner in value.items()) + "}"


@given(st.dictionaries(NAMES, VALUES, min_size=1, max_size=4))
def test_any_value_is_found_where_it_stands(values: dict[str, object]) -> None:
    source = parse_source("".join(f"{written(k)} = {written(v)}\n" for k, v in values.items()), "f")
    assert source.values == values
    assert set(find_places(source.text).at) == paths_of(values)
    for where in paths_of(values):
        assert cut(source, source.span(where)) == written(value_at(values, where))
