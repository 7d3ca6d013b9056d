"""`bodyshop inspect` as it is typed, and the sheet it prints, read back by pypdf."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path as FilePath

import pypdf
import pytest

from bodyshop.drawing.sheet.items import Group, Item, Path, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Segment
from bodyshop.output.papers.inspection_form import BuiltMark, MeasuredCar
from bodyshop.output.papers.inspection_form.document import inspection_sheets
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, InspectedValue, Inspection
from bodyshop.records.inspection import inspect, read_words
from bodyshop.rules.checking import check_car, find_design, open_car
from tests.app.running import Ran, run_here
from tests.records.trial_books import DAY, EVENT, kestrel_book


@pytest.fixture
def shop(tmp_path: FilePath, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> Ran:
        return run_here(capsys, *words)

    return call


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> FilePath:
    place = tmp_path_factory.mktemp("ready") / "class.trials"
    kestrel_book(place)
    return place


@pytest.fixture
def begun(shop, tmp_path: FilePath, ready: FilePath):
    shutil.copy(ready, tmp_path)
    return shop


def test_without_a_book_it_is_judged_and_not_kept(shop) -> None:
    ran = shop("inspect", "kestrel", "B1=306.2@0.1")
    assert ran.code == 1
    assert "2.0 points" in ran.out or "4 points off for B1" in ran.out
    assert "Not saved" in ran.out
    assert list(FilePath().iterdir()) == []
    assert shop("inspect", "kestrel", "--history").code == 2


def test_inspections_are_kept_and_listed(begun) -> None:
    ran = begun("inspect", "Kestrel", "B1=306.2@0.1", "--by", "Bench 2")
    assert ran.code == 1
    assert "Saved as inspection 1" in ran.out
    ran = begun("inspect", "kestrel", "B1=304.1@0.1", "I1=yes", "--step", "0.05mm", "B3=35.04")
    assert ran.code == 2  # some rules are open
    words = " ".join(ran.out.split())
    assert "B1 was FAIL, is pass" in words
    assert "too close to tell" in words
    shown = begun("inspect", "Kestrel", "--history")
    assert shown.code == 0
    assert "4 points off" in " ".join(shown.out.split())
    with Book.open("class.trials") as book:
        assert book.count(Inspection) == 2
        steps = {each.record.measure: each.record.resolution for each in book.records(InspectedValue)}
        assert steps["front_axle.body_width"] == 0.05


def test_nothing_told_is_not_kept(begun) -> None:
    assert "nothing was saved" in begun("inspect", "Kestrel").out
    with Book.open("class.trials") as book:
        assert book.count(Inspection) == 0


def test_what_is_far_off_waits_for_a_word(begun) -> None:
    ran = begun("inspect", "Kestrel", "B1=30.4")
    assert ran.code == 2
    assert "30.4 measured, 285 on the drawing" in ran.err
    assert begun("inspect", "Kestrel", "B1=30.4", "--confirm").code == 1
    with Book.open("class.trials") as book:
        assert "285 on the drawing" in book.records(Inspection)[0].doubt


def test_a_car_that_is_not_in_the_book_is_told(begun) -> None:
    ran = begun("inspect", "wren", "B1=285")
    assert ran.code == 2
    assert 'no car "Wren"' in ran.err
    ran = begun("inspect", "kestrl", "B1=285")
    assert ran.code == 2
    assert "did you mean Kestrel?" in " ".join(ran.err.split())


def test_the_design_in_the_book_is_the_one_inspected(begun, tmp_path: FilePath) -> None:
    assert begun("new", "robin").code == 0
    assert begun("trial", "add", "car", "robin.toml").code == 0
    (tmp_path / "robin.toml").write_text("spoilt", encoding="utf-8")
    data = json.loads(begun("inspect", "Robin", "I1=yes", "--json").out)
    assert (data["car"], data["inspection"]) == ("Robin", 1)


def test_a_table_of_values_and_words_go_together(begun) -> None:
    FilePath("values.csv").write_text("clause;value\nB1;284,5 mm\nB3;36\n", encoding="utf-8")
    data = json.loads(begun("inspect", "Kestrel", "B3=37", "--values", "values.csv", "--json").out)
    measured = {each["clause"]: each["measured"] for each in data["rows"]}
    assert (measured["B1"], measured["B3"]) == (284.5, 37.0)
    FilePath("values.csv").write_text("clause,value\nB1,long\n", encoding="utf-8")
    ran = begun("inspect", "Kestrel", "--values", "values.csv")
    assert ran.code == 2
    assert "values.csv:2:4" in ran.err
    assert begun("inspect", "Kestrel", "--values", "none.csv").code == 2


def test_the_sheet_holds_what_was_found(begun) -> None:
    ran = begun(
        "inspect", "Kestrel", "B1=306.2@0.1", "B3=35.05@0.1", "I1=yes", "I2=no", "--pdf", "--out", "papers"
    )
    assert ran.code == 1
    file = FilePath("papers/kestrel-as-built.pdf")
    pages = pypdf.PdfReader(file).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in (
        "finished car",
        "not legal: fails I2, B1",
        "inspection no. 1 (first for this car)",
        "306.2 mm",
        "grew 21.2 mm",
        "35.05 mm",
        "too close to tell",
        "285.0 mm",
        "official",
    ):
        assert words in text
    assert "safe" not in text.casefold().replace("safety", "")


def _shifted(affine: Affine, segment: Segment) -> Segment:
    return replace(segment, end=affine.point(segment.end))  # type: ignore[arg-type]  # every segment has one


def _drawn(items: Iterable[Item], affine: Affine) -> Iterator[Item]:
    """Words and strokes where they are on the sheet; groups on a form are only shifted."""
    for item in items:
        if isinstance(item, Group):
            yield from _drawn(item.items, item.affine.then(affine))
        elif isinstance(item, Text):
            yield replace(item, at=affine.point(item.at))
        elif isinstance(item, Path):
            yield replace(item, segments=tuple(map(partial(_shifted, affine), item.segments)))


def test_the_box_that_is_crossed_is_that_of_the_verdict() -> None:
    checked = check_car(open_car(find_design("kestrel")[0]))
    found = inspect(checked, read_words(checked, ["B1=306.2@0.1", "B2=50@0.1", "B3=35@0.1"]))
    marks = {
        "B1": BuiltMark("306.2 mm", "grew 21.2 mm", passed=False),
        "B2": BuiltMark("51.37 mm", "", passed=True),
        "B3": BuiltMark("35.04 mm", "too close to tell", passed=None),
    }
    built = MeasuredCar(marks, found.standing, fails=True)
    sheet = inspection_sheets(checked.opened.rulebook, sheet_sizes()["a4"], checked, None, built)[0]
    items = list(_drawn(sheet.items, Affine()))
    written = [item for item in items if isinstance(item, Text)]
    bold = {item.text: item.at for item in written if item.weight is Weight.BOLD}
    crosses = [
        ((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2)
        for item in items
        if isinstance(item, Path) and len(item.segments) == 2 and not item.closed
        for begin, end in [(item.segments[0].end, item.segments[1].end)]
        if begin[0] != end[0] and begin[1] != end[1]
    ]
    assert len(crosses) == 4  # two strokes each
    rows = {clause: bold[clause][1] for clause in ("B1", "B2", "B3")}
    for clause, column in (("B1", "fail"), ("B2", "pass")):
        struck = [x for x, y in crosses if rows[clause] - 8.0 < y < rows[clause] + 3.0]
        assert len(struck) == 2
        assert all(x == pytest.approx(bold[column][0], abs=0.1) for x in struck)
    for words in ("306.2 mm", "grew 21.2 mm", "51.37 mm", "35.04 mm", "too close to tell"):
        (mine,) = [item for item in written if item.text == words]  # none is cut short
        assert mine.at[0] == pytest.approx(bold["measured"][0], abs=0.1)
        assert text_width_mm(words, mine.height_mm, bold=mine.weight is Weight.BOLD) < 20.0  # its column


def test_the_sheet_is_the_same_for_the_same_inspection(begun, ready: FilePath) -> None:
    words = ("inspect", "Kestrel", "B1=285.5@0.5", "--pdf", "--at", "2031-05-14T10:30+01:00")
    for folder in ("one", "two"):
        assert begun(*words, "--out", folder).code == 2
        shutil.copy(ready, "class.trials")
    one, two = (FilePath(folder, "kestrel-as-built.pdf").read_bytes() for folder in ("one", "two"))
    assert one == two


def test_a_place_that_is_taken_is_refused_before_anything_is_kept(begun) -> None:
    FilePath("papers").mkdir()
    FilePath("papers/kestrel-as-built.pdf").write_bytes(b"mine")
    ran = begun("inspect", "Kestrel", "B1=285", "--pdf", "--out", "papers")
    assert ran.code == 2
    assert FilePath("papers/kestrel-as-built.pdf").read_bytes() == b"mine"
    with Book.open("class.trials") as book:
        assert book.count(Inspection) == 0


def book_of_event(path: FilePath, rulebook: str) -> None:
    """A book that holds a Kestrel built for the second year's sheet; its event names `rulebook`."""
    text = find_design("kestrel")[0].read_text(encoding="utf-8")
    text = text.replace('rulebook = "quarry-lane"', 'rulebook = "quarry-lane-2"')
    with Book.create(path, replace(EVENT, owner="", rulebook=rulebook, division=""), at=DAY) as book:
        book.add(CarRecord("Kestrel", "Bench 4", design_text=text), at=DAY)


@pytest.mark.parametrize(
    ("of_event", "words", "judged_by"),
    [
        ("", (), "quarry-lane-2"),
        ("quarry-lane", (), "quarry-lane"),
        ("", ("--rulebook", "quarry-lane"), "quarry-lane"),
        ("quarry-lane", ("--rulebook", "quarry-lane-2"), "quarry-lane-2"),
    ],
)
def test_the_rulebook_of_the_design_judges_only_where_the_book_has_none(
    shop, of_event: str, words: tuple[str, ...], judged_by: str
) -> None:
    book_of_event(FilePath("class.trials"), of_event)
    ran = shop("inspect", "Kestrel", "B1=304.1@0.1", *words)
    assert f"({judged_by})." in " ".join(ran.out.split())
    with Book.open("class.trials") as book:
        assert [each.record.rulebook for each in book.records(Inspection)] == [judged_by]
