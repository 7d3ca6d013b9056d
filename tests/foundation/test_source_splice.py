"""Changing one value of a file, and nothing else."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.toml import KeyPath, Source, parse_source
from bodyshop.foundation.toml.splice import spliced_source

TEXT = """\
# Kestrel é
name = 'Kestrel'\t# bird
width = 42
[bore]
depth   =   51.5   # mm
where = "2-3/4 in"
mark = '2-3/4"'
[[eye]]
at = [ 12, "1/2 in", { x = 3 } ]
ok = true
when = 1979-05-27
odd = nan
many = \"\"\"
12\"\"\"
"""


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize(
    ("path", "new", "before", "after"),
    [
        (("width",), "43.5", "width = 42", "width = 43.5"),
        (("width",), "-1", "width = 42", "width = -1"),
        (("width",), "1 3/4 in", "width = 42", 'width = "1 3/4 in"'),
        (("width",), '1-3/4"', "width = 42", "width = '1-3/4\"'"),
        (("bore", "depth"), "52", "depth   =   51.5   # mm", "depth   =   52   # mm"),
        (("bore", "where"), "70 mm", '"2-3/4 in"', '"70 mm"'),
        (("bore", "where"), "70", '"2-3/4 in"', '"70"'),
        (("bore", "where"), '3"', '"2-3/4 in"', '"3\\""'),
        (("bore", "mark"), '3-1/4"', "'2-3/4\"'", "'3-1/4\"'"),
        (("bore", "mark"), "3''", "'2-3/4\"'", "\"3''\""),
        (("eye", 0, "at", 0), "13", "[ 12,", "[ 13,"),
        (("eye", 0, "at", 1), "3/4 in", '"1/2 in"', '"3/4 in"'),
        (("eye", 0, "at", 2, "x"), "4", "{ x = 3 }", "{ x = 4 }"),
    ],
)
def test_one_value_changes(path: KeyPath, new: str, before: str, after: str, ends: str) -> None:
    text = TEXT.replace("\n", ends)
    assert text.count(before) == 1
    assert spliced_source(parse_source(text, "f"), {path: new}).whole == text.replace(before, after)


def test_a_byte_order_mark_stays() -> None:
    assert spliced_source(parse_source("\ufeffx = 1\n", "f"), {("x",): "2"}).whole == "\ufeffx = 2\n"


@pytest.mark.parametrize(
    ("path", "new"),
    [
        (("eye", 0, "ok"), "1"),
        (("eye", 0, "when"), "1"),
        (("many",), "1"),
        (("eye", 0, "many"), "1"),
        (("bore",), "1"),
        (("eye", 0, "at"), "1"),
        (("nothing",), "1"),
        (("bore", "nothing"), "1"),
        (("eye", 7, "ok"), "1"),
        (("width", "x"), "1"),
        ((), "1"),
        (("width",), "1\ny = 2"),
        (("width",), "1\x00"),
    ],
)
def test_what_cannot_be_changed(path: KeyPath, new: str) -> None:
    with pytest.raises(ValueError, match=r"no number|several lines|control"):
        spliced_source(parse_source(TEXT, "f"), {path: new})


def test_a_wrong_place_is_found_out() -> None:
    source = parse_source("x = 1\ny = 23\n", "f")
    wrong = Source("f", source.text, {"x": 1, "y": 24})
    with pytest.raises(ValueError, match="change something else"):
        spliced_source(wrong, {("x",): "2"})
    broken = Source("f", "x = 1\ny = = 2\n", {"x": 1})
    with pytest.raises(ValueError, match="cannot stand"):
        spliced_source(broken, {("x",): "2"})


@given(st.text(alphabet="0123456789./-' \"\\inm#]", min_size=1, max_size=12))
def test_any_new_text_stands_alone(new: str) -> None:
    for text in ('a = 1 # x\nb = [1]\nc = "1 in"\n', "c = '1'\nb = [ 1, 2 ]\na = 0x1f"):
        source = parse_source(text, "f")
        for path in (("a",), ("b", 0), ("c",)):
            after = tomllib.loads(spliced_source(source, {path: new}).whole)
            changed = after
            for part in path:
                changed = changed[part]  # type: ignore[index]
            assert str(changed) == new or float(str(changed)) == float(new)
            assert list(after) == list(source.values)
