"""Names with letters that the papers' lettering does not have."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.replay import Lettering, replay, text_box
from bodyshop.foundation.problems import Severity
from bodyshop.output.papers.templates import TemplateOptions, template_sheets
from bodyshop.output.words.papers import bench_name, lettering_warnings, paper_name, words_warning
from tests.output.template_cars import PASSING, car_of, straight_text


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Kestrel", "Kestrel"),
        ("Źdźbło", "Źdźbło"),
        ("🚗 Wren", "? Wren (wren)"),
        ("שלום", "??? (wren)"),
        ("日本", "?? (wren)"),
        ("\uff37ren", "\uff37ren"),
        ("🚗" * 50 + "Wren", "??? Wren (wren)"),
    ],
)
def test_a_name_that_cannot_be_printed_is_matched_by_its_file(name: str, shown: str) -> None:
    design = car_of(straight_text(name=name)).design
    assert paper_name(design) == shown


def test_the_warning_points_at_the_name_and_tells_the_letters() -> None:
    design = car_of(straight_text(name="Wren 日🚗")).design
    (warning,) = lettering_warnings(design)
    assert warning.severity is Severity.WARNING
    assert warning.where.startswith("wren.toml:3:8")
    assert '"日" (cjk unified ideograph-65e5)' in warning.message
    assert '"🚗" (automobile)' in warning.message
    assert "wren, stands beside it" in warning.message
    assert lettering_warnings(car_of(straight_text()).design) == ()


def test_many_letters_are_told_shortly() -> None:
    design = car_of(straight_text(name="".join(chr(0x5D0 + k) for k in range(20)))).design
    (warning,) = lettering_warnings(design)
    assert "and 14 more" in warning.message
    assert len(warning.message) < 400


def test_a_bench_and_an_owner_are_told_of_too() -> None:
    design = car_of(straight_text().replace('"Bench 2"', '"Bench 日"')).design
    assert [warning.span is not None for warning in lettering_warnings(design)] == [True]
    assert bench_name(design) == "Bench ?"
    assert words_warning("Larkfield School", "the owner") is None
    told = words_warning("学校", "the owner")
    assert told is not None
    assert "the owner" in told.message


@pytest.mark.parametrize("name", ["W" * 300, "שלום עולם " * 25, "🚗🏁" * 60])
def test_long_and_strange_names_end_in_an_ellipsis_and_keep_to_themselves(name: str) -> None:
    car = car_of(straight_text())
    # Longer than a file may give; other ways in may not be as strict.
    car.design = replace(car.design, name=name[:300])
    sheets = template_sheets(car, PASSING, sheet_sizes()["a4"], TemplateOptions(gauges=(60.0, 155.0)))
    for sheet in sheets:
        for words in _words(sheet):
            assert "\u25a1" not in words.text
            assert text_width_mm(words.text, words.height_mm, bold=words.bold) < sheet.width_mm - 16
            corners = text_box(words)
            assert min(x for x, _ in corners) > 8
            assert max(x for x, _ in corners) < sheet.width_mm - 7.9
    if len(name) > 100 and name[0] in "Wi":
        assert any(words.text.endswith("…") for words in _words(sheets[0]))


def _words(sheet: Sheet) -> list[Lettering]:
    return [drawn for drawn in replay(sheet) if isinstance(drawn, Lettering) and not _is_cut(drawn, sheet)]


def _is_cut(words: Lettering, sheet: Sheet) -> bool:
    """Words of a drawing that run on to the next tile."""
    corners = text_box(words)
    return max(x for x, _ in corners) > sheet.width_mm or min(x for x, _ in corners) < 0
