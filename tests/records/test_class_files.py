"""The table, the document and the page, each read back by somebody else's reader."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import msgspec
import pytest

from bodyshop.foundation.problems import Problem
from bodyshop.output.html.classroom import class_page
from bodyshop.output.json.classroom import class_data
from bodyshop.output.spreadsheet.classroom import CSV_HEADER, class_csv
from bodyshop.records.classroom import CheckOptions, ClassReport, class_report
from bodyshop.records.classroom.discovery import AppliedRulebook, CarRow, CarState, UnreadRow
from tests.documents import valid
from tests.records.classes import car, mixed, put, report_of, rows_of, square
from tests.records.test_class_plan import FIGURES


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> ClassReport:
    return report_of(mixed(tmp_path_factory.mktemp("files")), CheckOptions(thumbnails=True))


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> CarRow:
    folder = tmp_path_factory.mktemp("wren")
    put(folder, "wren.toml", square())
    (row,) = rows_of(folder, CheckOptions(thumbnails=True))
    return car(row)


NAMES = [
    '=HYPERLINK("x")',
    "+1",
    "-2",
    "@SUM(A1)",
    "\t=1",
    "＝1",
    "Wren, the second",
    'the "fast" one',
    "two\r\nlines",
    "שלום",
    "🐦",
    "<script>alert(1)</script>",
    "a & b",
    "</style></script>",
    "half \udcff a letter",
    "\u202egnirts",
    "",
    "'quoted",
]


def strange(wren: CarRow) -> ClassReport:
    """A class of strange names, in the order given."""
    cars = [
        replace(wren, name=name, bench=name, file=f"{name}.toml", failed=tuple("x" * (len(NAMES) - place)))
        for place, name in enumerate(NAMES)
    ]
    problem = Problem("file-empty", "the file <b>is</b> empty", file="=cmd.toml")
    return class_report("=a & b", [*cars, UnreadRow("=cmd.toml", (problem,), 3)], books(wren), FIGURES)


def books(wren: CarRow) -> dict[str, AppliedRulebook]:
    """The one book of a car."""
    return {wren.book: AppliedRulebook(wren.book, "=1+1", "", "", "", ())}


# ---------------------------------------------------------------- CSV


def read_csv(data: bytes) -> list[dict[str, str]]:
    text = data.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_the_table_is_as_rfc_4180_has_it(report: ClassReport) -> None:
    data = class_csv(report)
    assert data.startswith(b"\xef\xbb\xbf" + ",".join(CSV_HEADER).encode() + b"\r\n")
    assert data.endswith(b"\r\n")
    # Line ends are CRLF and nothing else: RFC 4180, section 2.
    assert data.count(b"\n") == data.count(b"\r\n")
    widths = {len(row) for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True)}
    assert widths == {len(CSV_HEADER)}


def test_the_table_says_what_the_report_says(report: ClassReport) -> None:
    rows = read_csv(class_csv(report))
    assert [row["file"] for row in rows] == [
        *(each.file for each in report.cars),
        *(each.file for each in report.unread),
    ]
    for row, each in zip(rows, report.cars, strict=False):
        assert row["car"] == each.name
        assert row["clauses broken"] == "; ".join(each.failed)
        assert int(row["rules broken"]) == len(each.failed)
        assert float(row["mass g"]) == pytest.approx(each.mass_g, abs=0.05)
        assert float(row["mass from g"]) < float(row["mass g"]) < float(row["mass to g"])
        assert (row["passes"], row["mark"]) == ("no" if each.failed else "yes", each.fingerprint)
        assert row["rulebook"] == "Quarry Lane Sprint"
    for row, unread in zip(rows[len(report.cars) :], report.unread, strict=True):
        assert (row["verdict"], row["problems"]) == ("cannot be read", str(unread.count))
        assert unread.problems[0].message in row["first problem"]


def test_no_cell_is_taken_for_a_formula(wren: CarRow) -> None:
    report = strange(wren)
    rows = read_csv(class_csv(report))
    assert len(rows) == len(NAMES) + 1
    for row in rows:
        for cell in row.values():
            assert not cell.startswith(tuple("=+-@\t\r\n＝＋－＠")), cell
    assert [row["car"] for row in rows[:6]] == ['\'=HYPERLINK("x")', "'+1", "'-2", "'@SUM(A1)", "'=1", "'＝1"]
    assert [row["car"] for row in rows[6:8]] == ["Wren, the second", 'the "fast" one']
    assert rows[-1]["file"] == "'=cmd.toml"


def test_a_car_that_cannot_be_judged_is_neither_yes_nor_no(wren: CarRow) -> None:
    row = replace(wren, standing=CarState.NOT_JUDGED, unjudged=("4",))
    (read,) = read_csv(class_csv(class_report("here", [row], books(wren), FIGURES)))
    assert (read["passes"], read["not judged"]) == ("not known", "4")


# ---------------------------------------------------------------- JSON


def test_the_document_is_as_its_schema_says(report: ClassReport) -> None:
    data = valid(class_data(report, 2))
    assert data["counts"] == {
        "designs": 11,
        "pass": 2,
        "fail": 2,
        "probably_fail": 0,
        "not_judged": 0,
        "unread": 7,
    }
    assert [each["file"] for each in data["cars"]] == [each.file for each in report.cars]
    assert data["skipped"] == [{"file": "rules.toml", "what": "a rulebook"}]
    assert {each["rulebook"] for each in data["cars"]} == {each["key"] for each in data["rulebooks"]}
    assert data["rules_broken"][0]["cars"] == 2
    lines = {each["supply"]: each for each in data["stock"]["lines"]}
    assert lines["cartridges"]["need"] == 4 * data["stock"]["cartridges_per_car"]


def test_strange_names_are_in_the_document_as_they_are(wren: CarRow) -> None:
    report = strange(wren)
    data = valid(class_data(report, 2))
    # Half a letter is no JSON for most readers (RFC 8259, section 8.2); all else stays.
    files = [name.replace("\udcff", "\ufffd") + ".toml" for name in NAMES]
    assert [each["file"] for each in data["cars"]] == files


def test_the_schema_lets_nothing_else_in(report: ClassReport) -> None:
    spoilt = valid(class_data(report, 2))
    spoilt["cars"][0]["verdict"] = "fine"
    with pytest.raises(msgspec.ValidationError, match="cars"):
        valid(json.dumps(spoilt))
    missing = valid(class_data(report, 2))
    del missing["stock"]
    with pytest.raises(msgspec.ValidationError, match="stock"):
        valid(json.dumps(missing))


# ---------------------------------------------------------------- HTML

VOID = {"meta", "br", "hr", "img", "link", "input", "circle", "path", "rect"}


class Page(HTMLParser):
    """A page taken apart: elements balanced, texts by element, attributes by name."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append((self.open[-1] if self.open else "", data.strip()))

    def named(self, tag: str) -> Iterator[dict[str, str | None]]:
        return (attributes for name, attributes in self.elements if name == tag)


def test_the_page_stands_alone(report: ClassReport) -> None:
    page = Page(class_page(report))
    for tag in ("link", "img", "iframe", "object", "embed", "form", "base"):
        assert not list(page.named(tag)), tag
    for tag, attributes in page.elements:
        assert not {"src", "srcset", "action", "style"} & set(attributes), tag
        assert not any(name.startswith("on") for name in attributes), tag
        target = attributes.get("href")
        assert target is None or target.startswith("#"), target
    targets = {str(each["href"])[1:] for each in page.named("a")}
    ids = {str(each["id"]) for each in page.named("section")}
    assert targets == ids == {"cars", "unread", "rules", "stock"}
    style = next(text for tag, text in page.texts if tag == "style")
    assert "url(" not in style
    assert "@import" not in style
    policy = next(each for each in page.named("meta") if each.get("http-equiv") == "Content-Security-Policy")
    assert str(policy["content"]).startswith("default-src 'none'")


def test_the_page_tells_every_car_and_every_broken_file(report: ClassReport) -> None:
    page = Page(class_page(report))
    words = [text for _, text in page.texts]
    for each in report.cars:
        assert each.name in words
        assert each.file in words
        assert each.fingerprint in words
    for row in report.unread:
        assert row.file in words
    assert (
        sum(str(each.get("aria-label", "")).startswith("side and top view of ") for each in page.named("svg"))
        == 4
    )
    assert len(list(page.named("svg"))) == 4 + len(report.broken)
    assert "2 of 4" in words


def test_bars_have_the_length_of_their_share(report: ClassReport) -> None:
    page = Page(class_page(report))
    widths = [float(str(each["width"])) for each in page.named("rect") if each.get("class") == "share"]
    assert widths == [pytest.approx(180 * each.share, abs=0.05) for each in report.broken]


def test_names_are_text_whatever_is_in_them(wren: CarRow) -> None:
    text = class_page(strange(wren))
    page = Page(text)
    names = [words for tag, words in page.texts if tag == "bdi"]
    assert "<script>alert(1)</script>" in names
    assert "</style></script>" in names
    assert "a & b" in names
    assert len(list(page.named("script"))) == len(list(page.named("style"))) == 1
    assert not set("\u202e\udcff") & set(text)
    text.encode("utf-8")
    # Names may run from right to left: each is kept apart from its neighbours.
    assert sum(tag == "bdi" for tag, _ in page.elements) >= 3 * len(NAMES)


def test_the_table_can_be_sorted_by_its_keys(report: ClassReport) -> None:
    page = Page(class_page(report))
    heads = [each for each in page.named("th") if each.get("data-by")]
    assert [each["data-by"] for each in heads] == ["text", "text", "number", "number", "text"]
    keys = [str(each["data-key"]) for each in page.named("td") if "data-key" in each]
    assert keys[::3] == [each.name for each in report.cars]
    assert keys[1::3] == ["0", "1", "2", "3"]
    assert [float(key) for key in keys[2::3]] == [
        pytest.approx(each.mass_g, abs=1e-3) for each in report.cars
    ]
    # Without the script no heading is a button.
    assert not list(page.named("button"))


def test_the_page_is_the_same_for_the_same_class(report: ClassReport) -> None:
    assert class_page(report) == class_page(report)
    assert "\r" not in class_page(report)


def test_a_class_of_broken_files_has_a_page_too(tmp_path: Path) -> None:
    put(tmp_path, "empty.toml", "")
    page = Page(class_page(report_of(tmp_path, CheckOptions(thumbnails=True))))
    assert [each["id"] for each in page.named("section")] == ["unread"]
