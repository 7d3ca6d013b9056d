"""The usual paper follows the rulebook's unit: A4, and letter for a rulebook in inches, however it is made.

Outside source: sizes of a page as pypdf reads them; letter is 8.5 by 11 in (ANSI/ASME Y14.1), A4 is 210 by
297 mm (ISO 216).
"""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from bodyshop.app.bench.jobs import Job, JobKind, do_job
from bodyshop.app.bench.trialbook.inspecting import last_sheet
from bodyshop.app.cli import main
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.units import LengthUnit
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Event
from bodyshop.records.raceday.reading import event_unit

A4, LETTER = (210.0, 297.0), (215.9, 279.4)
SAMPLES = {"kestrel": A4, "dipper": LETTER}


def size_of(data: bytes) -> tuple[float, float]:
    box = pypdf.PdfReader(io.BytesIO(data)).pages[0].mediabox
    sides = sorted(float(side) / 72 * 25.4 for side in (box.width, box.height))
    return (round(sides[0], 1), round(sides[1], 1))


@pytest.mark.parametrize("name", ["kestrel", "dipper"])
@pytest.mark.parametrize("kind", [JobKind.TEMPLATES, JobKind.BUILD_SHEET, JobKind.REPORT])
def test_papers_of_the_bench(name: str, kind: JobKind) -> None:
    file = samples_folder() / f"{name}.toml"
    job = Job(kind, file.read_text(encoding="utf-8"), str(file), root=str(file.parent), day="2031-05-14")
    files = do_job(job).files
    pdf = next(data for name_, data in files.items() if name_.endswith(".pdf"))
    assert size_of(pdf) == SAMPLES[name]


@pytest.mark.parametrize(("rulebook", "size"), [("quarry-lane", A4), ("quarry-lane-inch", LETTER), ("", A4)])
def test_papers_of_the_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rulebook: str, size: tuple[float, float]
) -> None:
    monkeypatch.chdir(tmp_path)
    book = tmp_path / "class.trials"
    Book.create(book, Event("Quarry Lane Sprint", rulebook, track_mm=20000.0)).close()
    name = "dipper" if size == LETTER else "kestrel"
    assert main(["trial", "add", "car", str(samples_folder() / f"{name}.toml"), "--book", str(book)]) == 0
    assert main(["raceday", "enter", "--book", str(book)]) == 0
    assert main(["raceday", "draw", "--rounds", "1", "--seed", "1", "--book", str(book)]) == 0
    assert main(["raceday", "papers", "--book", str(book), "--out", str(tmp_path / "papers")]) == 0
    pdfs = list((tmp_path / "papers").glob("*.pdf"))
    assert pdfs
    assert {size_of(file.read_bytes()) for file in pdfs} <= {size, size[::-1]}


def test_a_rulebook_that_is_not_there_counts_as_mm(tmp_path: Path) -> None:
    with Book.create(tmp_path / "a.trials", Event("Quarry Lane Sprint", "no-such-book")) as book:
        assert event_unit(book) is LengthUnit.MM


@pytest.mark.parametrize("name", ["kestrel", "dipper"])
def test_the_sheet_of_an_inspection_at_the_bench(tmp_path: Path, name: str) -> None:
    design = samples_folder() / f"{name}.toml"
    place = tmp_path / "class.trials"
    rulebook = "quarry-lane-inch" if name == "dipper" else "quarry-lane"
    Book.create(place, Event("Quarry Lane Sprint", rulebook)).close()
    assert main(["trial", "add", "car", str(design), "--book", str(place)]) == 0
    main(["inspect", str(design), "car.mass=60 g", "--confirm", "--book", str(place)])
    with Book.open(place) as book:
        car = book.cars()[0].record.name
        sheet = last_sheet(book, car, "", "2031-05-14")
    assert sheet is not None
    assert size_of(sheet) == SAMPLES[name]
