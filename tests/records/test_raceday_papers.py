from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.output.papers.raceday.class_data import CSV_HEADER, PLOTS, class_csv, dots_of
from bodyshop.output.papers.raceday.documents import DayHead, day_pdf, heat_sheets
from bodyshop.output.papers.raceday.files import day_files
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, Event, FrozenPrediction, MassReading, RunEnd, WeighingStage
from bodyshop.records.raceday.class_summary import CarLine, PlotQuantity
from bodyshop.records.raceday.day import RaceDay
from bodyshop.records.raceday.model import LaneEntry, read_said
from bodyshop.records.raceday.reading import DayState
from bodyshop.records.raceday.standings import ordinal


@pytest.fixture(scope="module")
def day(
    tmp_path_factory: pytest.TempPathFactory, pytestconfig: pytest.Config
) -> Iterator[tuple[Book, DayState]]:
    book = Book.create(
        tmp_path_factory.mktemp("day") / "class.trials",
        Event(
            "Quarry Lane Sprint", "quarry-lane", track_mm=20000.0, lanes=2, owner="Larkfield School workshop"
        ),
    )
    with book:
        for name in ("kestrel", "wren", "dipper"):
            text = (pytestconfig.rootpath / "samples" / f"{name}.toml").read_text(encoding="utf-8")
            book.add(CarRecord(name.title(), "Bench 1", design_text=text))
        book.add(CarRecord("=Osprey", "Bench 9"))
        book.add(MassReading("Kestrel", WeighingStage.COMPLETE, 101.3))
        book.add(FrozenPrediction("Wren", 1.2, 1.0, 1.4))
        actions = RaceDay(book)
        actions.enter()
        actions.draw_trials(2, seed=5)
        for held in actions.state.open_heats:
            for k, car in enumerate(held.heat.cars):
                actions.record(
                    held.heat.number, car, RunEnd.FINISHED, 1.1 + 0.01 * k + 0.001 * held.heat.number
                )
        actions.rule_out("Dipper", "lost a wheel")
        yield book, actions.state


@pytest.fixture(scope="module")
def files(day: tuple[Book, DayState]) -> dict[str, bytes]:
    return day_files(*day, sheet_sizes()["a4"], date="2031-05-14")[0]


def _text(data: bytes) -> str:
    document = pypdfium2.PdfDocument(data)
    return " ".join(page.get_textpage().get_text_range() for page in document)


def test_all_papers_are_made_and_read_back(files: dict[str, bytes]) -> None:
    assert set(files) == {
        "heats.pdf", "standings.pdf", "final.pdf", "class-data.pdf", "class-data.csv", "certificates.pdf",
    }  # fmt: skip
    for name in ("heats.pdf", "standings.pdf", "final.pdf"):
        text = _text(files[name])
        assert all(car in text for car in ("Kestrel", "Wren", "Dipper"))
    assert "lost a wheel" in _text(files["final.pdf"])
    assert len(pypdfium2.PdfDocument(files["certificates.pdf"])) == 3


def test_every_sheet_of_the_day_carries_the_cautions_and_no_certificate_does(
    files: dict[str, bytes],
) -> None:
    beginnings = [c.text.split(":")[0][:24] for c in cautions_for(Operation.CARTRIDGE, Operation.RACE)]
    for name, data in files.items():
        if name in ("class-data.csv", "certificates.pdf"):
            continue
        for page in pypdfium2.PdfDocument(data):
            words = " ".join(page.get_textpage().get_text_range().split())
            assert all(begin in words for begin in beginnings), name
            assert "safe" not in words.casefold()
    for page in pypdfium2.PdfDocument(files["certificates.pdf"]):
        assert "eye protection" not in " ".join(page.get_textpage().get_text_range().split())


def test_the_same_day_makes_the_same_bytes(day: tuple[Book, DayState], files: dict[str, bytes]) -> None:
    assert day_files(*day, sheet_sizes()["a4"], date="2031-05-14")[0] == files


def test_the_csv_is_one_that_the_standard_library_reads_and_holds_no_formula(files: dict[str, bytes]) -> None:
    # Format: RFC 4180; reader: Python's csv module.
    rows = list(csv.DictReader(io.StringIO(files["class-data.csv"].decode("utf-8-sig"))))
    assert [row["car"] for row in rows] == ["Kestrel", "Wren", "Dipper", "'=Osprey"]
    assert float(rows[0]["mass g value"]) == pytest.approx(101.3)
    assert "mass_g" in rows[0]["measured on this car"]
    assert rows[1]["predicted time s low"] == "1.0"
    assert rows[2]["out because"] == "lost a wheel"
    # A car of which nothing was drawn has no estimates.
    assert rows[3]["drag area cm2 value"] == ""
    assert set(rows[0]) == set(CSV_HEADER)


@pytest.mark.parametrize(("limit", "unit", "shown"), [("2 oz", "oz", "3.57"), ("50 g", "g", "101.3")])
def test_the_class_is_told_in_the_unit_of_its_rulebook(
    tmp_path: Path, limit: str, unit: str, shown: str
) -> None:
    # 101.3 g are 101.3 / 28.349523125 = 3.573 oz (NIST Handbook 44, appendix C).
    (tmp_path / "ours.toml").write_text(
        'format = 1\nname = "Ours"\nunits = "mm"\n[reading]\nresolution = "0.1 mm"\n\n'
        '[[rule]]\nclause = "1"\n'
        f'measure = "car.mass"\nmin = "{limit}"\nfails = "disqualify"\nreason = "Because."\n',
        encoding="utf-8",
    )
    event = Event("Quarry Lane Sprint", "ours", track_mm=20000.0, lanes=2)
    with Book.create(tmp_path / "class.trials", event) as book:
        book.add(CarRecord("Kestrel"))
        book.add(MassReading("Kestrel", WeighingStage.COMPLETE, 101.3))
        actions = RaceDay(book)
        actions.enter()
        actions.draw_trials(1, seed=5)
        (held,) = actions.state.open_heats
        actions.record(held.heat.number, "Kestrel", RunEnd.FINISHED, 1.1)
        made, _ = day_files(book, actions.state, sheet_sizes()["letter"])
    words = " ".join(_text(made["class-data.pdf"]).split())
    assert words.count(f"car without cartridge, {unit}") == 2  # the table and the plot
    assert shown in words
    # the table for spreadsheets says its unit in the heading, and keeps it
    assert "mass g value" in made["class-data.csv"].decode("utf-8-sig")


def test_a_car_without_a_design_is_told(day: tuple[Book, DayState]) -> None:
    _, notes = day_files(*day, sheet_sizes()["letter"])
    assert len(notes) == 1
    assert "=Osprey" in notes[0]


def test_heats_of_eight_lanes_stay_on_their_sheet() -> None:
    from bodyshop.records.raceday import draw_trials

    heats = draw_trials([f"The car number {k} of the class" for k in range(40)], 8, 3, 1)
    sheets = heat_sheets(heats, DayHead("Quarry Lane Sprint"), sheet_sizes()["a4"])
    document = pypdfium2.PdfDocument(day_pdf(sheets, DayHead("Quarry Lane Sprint"), "heats"))
    for page in document:
        words = page.get_textpage()
        for k in range(words.count_rects()):
            left, bottom, right, top = words.get_rect(k)
            assert 0 < left < right < page.get_width()
            assert 0 < bottom < top < page.get_height()


def test_points_of_a_plot_are_cars_with_both_figures() -> None:
    whole = CarLine(1, "Kestrel", mass_g=(60.0, 59.0, 61.0), measured_s=(1.1, 1.1, 1.2))
    lines = [whole, CarLine(2, "Wren", mass_g=(70.0, 70.0, 70.0)), CarLine(3, "Heron")]
    (dot,) = dots_of(lines, PLOTS[0])
    assert (dot.label, dot.x, dot.y, dot.hollow) == ("1", whole.mass_g, whole.measured_s, True)
    assert dots_of(lines, PLOTS[1]) == []
    assert class_csv(lines).startswith(b"\xef\xbb\xbf")
    assert whole.figure(PlotQuantity.CDA) is None


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (1, "1st"),
        (2, "2nd"),
        (3, "3rd"),
        (4, "4th"),
        (11, "11th"),
        (12, "12th"),
        (13, "13th"),
        (21, "21st"),
        (112, "112th"),
    ],
)
def test_ordinals(place: int, words: str) -> None:
    # English ordinals, common knowledge, from memory.
    assert ordinal(place) == words


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("1.042", LaneEntry(RunEnd.FINISHED, 1.042)),
        (" 1,042 s ", LaneEntry(RunEnd.FINISHED, 1.042)),
        ("2", LaneEntry(RunEnd.FINISHED, 2.0)),
        ("DNF", LaneEntry(RunEnd.STOPPED)),
        ("dns", LaneEntry(RunEnd.NO_START)),
        ("void", LaneEntry(RunEnd.VOID)),
        ("", LaneEntry(leaves=True)),
    ],
)
def test_what_is_typed(typed: str, meant: LaneEntry) -> None:
    assert read_said(typed) == meant


@pytest.mark.parametrize("typed", ["1.0.4", "fast", "-1", "1e3", "nan", "1.1234567", "０.９", "1'042", "\0"])
def test_what_makes_no_sense_is_told(typed: str) -> None:
    said = read_said(typed)
    assert not isinstance(said, LaneEntry)
    assert "dnf" in said.sentence


def test_a_book_that_is_none_is_refused(tmp_path: Path) -> None:
    from bodyshop.foundation.problems import ProblemsError

    (tmp_path / "class.trials").write_bytes(b"not a book")
    with pytest.raises(ProblemsError):
        Book.open(tmp_path / "class.trials")


def test_heats_name_cars_that_are_out_and_what_they_repeat() -> None:
    from bodyshop.records.raceday.draw import draw_trials

    heats = draw_trials(["Kestrel", "Wren"], 2, 1, 1)
    head, a4 = DayHead("Quarry Lane Sprint"), sheet_sizes()["a4"]
    plain = _text(day_pdf(heat_sheets(heats, head, a4), head, "heats"))
    told = _text(day_pdf(heat_sheets(heats, head, a4, out=["Wren"], repeats={1: 7}), head, "heats"))
    assert plain.count("____ s") == 2
    assert told.count("____ s") == 1
    assert "1 for 7" in told
    assert "1 for 7" not in plain


def test_a_prediction_made_after_the_first_run_is_left_off_and_strange_letters_are_told(
    tmp_path: Path,
) -> None:
    with Book.create(tmp_path / "class.trials", Event("Quarry Lane Sprint 🏁", track_mm=20000.0)) as book:
        for name in ("Wren", "Heron"):
            book.add(CarRecord(name))
        book.add(FrozenPrediction("Wren", 1.2, 1.0, 1.4))
        day = RaceDay(book)
        day.enter()
        day.draw_trials(1, seed=5)
        for car in ("Wren", "Heron"):
            day.record(1, car, RunEnd.FINISHED, 1.1)
        book.add(FrozenPrediction("Wren", 1.11, 1.09, 1.13))
        book.add(FrozenPrediction("Heron", 1.11, 1.09, 1.13))
        made, notes = day_files(book, day.state, sheet_sizes()["a4"])
    rows = list(csv.DictReader(io.StringIO(made["class-data.csv"].decode("utf-8-sig"))))
    assert [row["predicted time s value"] for row in rows] == ["1.2", ""]
    assert any("the event's name" in note for note in notes)
