from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import width_of
from bodyshop.output.terminal.classroom import bar, class_table
from bodyshop.records.classroom import CheckOptions, ClassReport, class_report
from bodyshop.records.classroom.discovery import AppliedRulebook, CarRow, CarState, Clause
from tests.records.classes import car, mixed, put, report_of, rows_of, square
from tests.records.test_class_plan import FIGURES


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> ClassReport:
    return report_of(mixed(tmp_path_factory.mktemp("summary")))


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> CarRow:
    folder = tmp_path_factory.mktemp("wren")
    put(folder, "wren.toml", square())
    (row,) = rows_of(folder)
    return car(row)


def test_cars_are_counted_and_worst_first(report: ClassReport) -> None:
    assert [each.name for each in report.cars] == ["Finch", "Wagtail", "Wren", "Robin"]
    assert (report.passing, report.failing, report.unknown, len(report.unread)) == (2, 2, 0, 7)
    assert report.designs == 11
    assert not report.all_read


def test_the_rules_broken_most_come_first(report: ClassReport) -> None:
    counts = [each.cars for each in report.broken]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] == 2
    assert all(each.of == 4 for each in report.broken)
    named = {each.clause: each for each in report.broken}
    # Both wide cars are too wide at both axles; one has too wide a bore.
    assert named["B3"].cars == named["B4"].cars == 2
    assert named["C1"].cars == 1
    assert named["B3"].title == "body width at the front axle"
    assert named["B3"].share == 0.5


def test_shares_are_of_the_cars_under_the_same_book(wren: CarRow) -> None:
    clauses = (Clause("1", "one", judged=True), Clause("2", "two", judged=True))
    books = {key: AppliedRulebook(key, key, "", "", "", clauses) for key in ("yard", "hall", "unused")}
    cars = [
        replace(wren, book="yard", standing=CarState.FAILS, failed=("2", "1")),
        replace(wren, book="yard", standing=CarState.FAILS, failed=("2",)),
        replace(wren, book="hall", standing=CarState.FAILS, failed=("1",)),
    ]
    report = class_report("here", cars, books, FIGURES)
    assert [(each.book.key, each.clause, each.cars, each.of) for each in report.broken] == [
        ("yard", "2", 2, 2),
        ("hall", "1", 1, 1),
        ("yard", "1", 1, 2),
    ]
    assert [book.key for book in report.books] == ["yard", "hall"]


def test_cars_of_one_shape_are_found(tmp_path: Path) -> None:
    put(tmp_path, "wren.toml", square())
    put(tmp_path, "copy/wren.toml", square())
    put(tmp_path, "renamed.toml", square("Robin", bench="Bench 8", wood="balsa"))
    put(tmp_path, "other.toml", square(tail=41))
    shape, same = report_of(tmp_path).alike
    assert [each.file for each in shape.cars] == ["copy/wren.toml", "renamed.toml", "wren.toml"]
    assert not shape.same
    assert [each.file for each in same.cars] == ["copy/wren.toml", "wren.toml"]
    assert same.same


def test_cars_that_differ_are_not_alike(report: ClassReport) -> None:
    assert report.alike == ()


# ---------------------------------------------------------------- on a terminal


@pytest.mark.parametrize("width", [60, 80, 100])
def test_no_line_is_wider_than_the_page(report: ClassReport, width: int) -> None:
    text = class_table(report, width=width)
    assert max(map(width_of, text.splitlines())) <= width
    assert text.endswith("\n")


def test_what_the_table_tells(report: ClassReport) -> None:
    text = class_table(report)
    lines = text.splitlines()
    assert " ".join(lines[:3]).startswith(f"11 designs in {report.folder}: 2 pass, 2 fail, 7 cannot be read.")
    wren = next(line for line in lines if line.startswith("Wren"))
    row = next(each for each in report.cars if each.name == "Wren")
    assert f"{row.mass_g:.0f} g ({row.low_g:.0f} to {row.high_g:.0f})" in wren
    assert wren.endswith(row.fingerprint)
    assert "passes" in wren
    finch = lines.index(next(line for line in lines if line.startswith("Finch")))
    assert "FAILS" in lines[finch]
    assert lines[finch + 1].startswith("    breaks B3, B4")
    assert "three-slips.toml" in text
    assert "more problems)" in text
    assert "Left out, because they are rulebooks: rules.toml." in text
    assert "2 of 4  ##########.........." in text


def test_the_order_of_broken_clauses_is_worst_first(report: ClassReport) -> None:
    finch = report.cars[0]
    line = next(line for line in class_table(report).splitlines() if line.startswith("    breaks"))
    told = line.removeprefix("    breaks ").split(", ")
    assert told == list(finch.failed[: len(told)])


def test_many_broken_clauses_are_counted(wren: CarRow) -> None:
    failed = tuple(f"{number}.{number}" for number in range(1, 60))
    clauses = tuple(Clause(name, "", judged=True) for name in failed)
    row = replace(wren, standing=CarState.FAILS, failed=failed)
    text = class_table(
        class_report("here", [row], {row.book: AppliedRulebook(row.book, "", "", "", "", clauses)}, FIGURES)
    )
    lines = text.splitlines()
    start = next(number for number, line in enumerate(lines) if line.startswith("    breaks"))
    told = " ".join(lines[start : start + 2])
    shown = told.count(".")
    assert told.endswith(f" +{59 - shown}")
    assert "+" not in "".join(lines[start + 2 : start + 4])


def test_cars_of_one_name_are_told_apart_by_their_files(tmp_path: Path) -> None:
    put(tmp_path, "a/wren.toml", square())
    put(tmp_path, "b/wren.toml", square("WREN"))
    put(tmp_path, "robin.toml", square("Robin"))
    text = class_table(report_of(tmp_path))
    assert "    a/wren.toml" in text
    assert "    b/wren.toml" in text
    assert "    robin.toml" not in text


def test_strange_names_keep_to_their_columns(wren: CarRow) -> None:
    names = [
        "שלום עולם",
        "🐦🐦🐦",
        "a" * 200,
        "\x1b[31mred",
        "two\nlines",
        "\u202egnirts",
        "e\u0301" * 30,
        "",
    ]
    cars = [replace(wren, name=name, bench=name, file=f"{name}.toml") for name in names]
    text = class_table(class_report("here", cars, {}, FIGURES))
    assert max(map(width_of, text.splitlines())) <= 80
    assert not set("\x1b\u202e") & set(text)
    rows = [line for line in text.splitlines() if line.endswith(wren.fingerprint)]
    assert len(rows) == len(names)
    assert {width_of(line) for line in rows} == {width_of(rows[0])}


def test_colour_is_an_extra(report: ClassReport) -> None:
    plain, painted = class_table(report), class_table(report, ink=TextStyle(on=True))
    assert "\x1b[" in painted
    for code in ("1", "1;31", "31", "32", "33", "2", "0"):
        painted = painted.replace(f"\x1b[{code}m", "")
    assert painted == plain


def test_what_could_not_be_judged_is_told(wren: CarRow) -> None:
    row = replace(wren, standing=CarState.NOT_JUDGED, unjudged=("4.1", "4.2"))
    report = class_report("here", [row], {}, FIGURES)
    text = class_table(report)
    assert text.startswith("1 design in here: 0 pass, 0 fail, 1 cannot be judged.")
    assert "    not judged 4.1, 4.2" in text
    assert not report.all_read


def test_points_and_close_calls_are_told(wren: CarRow) -> None:
    cars = [
        replace(wren, standing=CarState.POINTS_OFF, points_off=1.0, failed=("1",), near=()),
        replace(wren, standing=CarState.POINTS_OFF, points_off=2.5, failed=("1",), near=()),
        replace(wren, standing=CarState.SHOW_ONLY, failed=("1",)),
        replace(wren, near=("2", "3")),
    ]
    text = class_table(class_report("here", cars, {}, FIGURES))
    for words in ("1 point off", "2.5 points off", "show only", "passes (2 close)"):
        assert words in text


@pytest.mark.parametrize(("share", "full"), [(0.0, 0), (0.001, 1), (0.5, 10), (0.999, 20), (1.0, 20)])
def test_bars_show_whatever_is_not_zero(share: float, full: int) -> None:
    assert bar(share) == "#" * full + "." * (20 - full)


def test_a_class_in_inches_has_its_stock_in_inches(tmp_path: Path) -> None:
    put(tmp_path, "dipper.toml", (Path(__file__).parents[2] / "samples" / "dipper.toml").read_bytes())
    text = class_table(report_of(tmp_path))
    assert "from rods of 12 in" in text
    assert "in² of wood" in text
    assert " mm" not in text.partition("To have in stock")[2]


def test_nothing_is_said_of_books_nobody_was_judged_by(tmp_path: Path) -> None:
    put(tmp_path, "empty.toml", "")
    text = class_table(report_of(tmp_path, CheckOptions()))
    assert " ".join(text.split()).startswith(f"1 design in {tmp_path}: 0 pass, 0 fail, 1 cannot be read.")
    assert "By the rules" not in text
    assert "To have in stock" not in text
