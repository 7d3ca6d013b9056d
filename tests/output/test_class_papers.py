"""The papers of a class as one PDF, read back with pypdf and PDFium."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdf
import pypdfium2
import pytest

from bodyshop.drawing.layout.printer import Printer
from bodyshop.drawing.sheet.paper import sheet_size
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.papers.class_set import (
    CarPapers,
    FailedPapers,
    PaperKind,
    PaperRequest,
    class_papers_pdf,
    make_papers,
)
from bodyshop.output.papers.class_set.making import usual_unit
from bodyshop.records.classroom import class_files
from bodyshop.rules.checking import check_car
from tests.app.running import run_here

CARS = ("dipper", "kestrel", "lapwing")
A4 = sheet_size("a4")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three cars, one of which fails, on two benches; a rulebook; and a file that is broken."""
    place = tmp_path / "larkfield"
    for bench, name in zip(("bench-2", "bench-2", "bench-10"), CARS, strict=True):
        (place / bench).mkdir(parents=True, exist_ok=True)
        shutil.copy(samples_folder() / f"{name}.toml", place / bench)
    (place / "book.toml").write_text('name = "x"\n[[rule]]\nmeasure = "mass"\n', encoding="utf-8")
    (place / "broken.toml").write_text('format = 1\nname = "Wren\n', encoding="utf-8")
    return place


@cache
def _cars() -> dict[str, CarPapers]:
    """The papers of the three cars, drawn once."""
    found = class_files(samples_folder())
    made = make_papers(
        [each for each in found.files if Path(each.path).stem in CARS], PaperRequest(A4), jobs=1
    )
    return {Path(each.file).stem: each for each in made if isinstance(each, CarPapers)}


def outline(reader: pypdf.PdfReader) -> list[tuple[int, str, int]]:
    """Depth, title and page (from 1) of every bookmark."""
    found: list[tuple[int, str, int]] = []

    def walk(entries: list[object], depth: int) -> None:
        for entry in entries:
            if isinstance(entry, list):
                walk(entry, depth + 1)
            else:
                page = reader.get_destination_page_number(entry)  # type: ignore[arg-type]
                assert page is not None
                found.append((depth, str(entry.title), page + 1))  # type: ignore[attr-defined]

    walk(reader.outline, 0)  # type: ignore[arg-type]
    return found


def texts(data: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(data)
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def test_index_pages_and_bookmarks_agree(folder: Path) -> None:
    found = class_files(folder)
    asked = PaperRequest(A4)
    made = make_papers(found.files, asked, jobs=1)
    data = class_papers_pdf(found.folder, made, asked)
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    words = texts(data)
    cars = [each for each in made if isinstance(each, CarPapers)]
    # In the order of the class's files, bench 2 before bench 10.
    assert [Path(car.file).stem for car in cars] == ["dipper", "kestrel", "lapwing"]
    (broken,) = (each for each in made if isinstance(each, FailedPapers) and each.problem is not None)
    assert broken.file == "broken.toml"
    assert sum(isinstance(each, FailedPapers) and each.problem is None for each in made) == 1  # the rulebook
    assert len(words) == 1 + sum(len(car.pages) for car in cars)

    index = words[0]
    assert "Class papers: larkfield" in index
    assert "4 designs: 2 pass, 1 fail, 1 cannot be read." in index
    assert "No papers: 1 file cannot be read" in index
    assert "line 2: " in index
    assert "1 of 3 FAIL" in index
    marks = outline(reader)
    assert marks[0] == (0, "Index", 1)
    at = 2
    for car in cars:
        last = at + len(car.pages) - 1
        for needed in (car.name, car.bench, car.verdict, car.fingerprint, f"{at}–{last}"):
            assert needed in index
        assert (0, f"{car.name}, {car.bench}: {car.verdict}", at) in marks
        for number, name in enumerate(car.pages):
            assert (1, name, at + number) in marks
            page = words[at + number - 1]
            assert car.fingerprint in page
            assert f"{number + 1} of {len(car.pages)}" in page
            assert f"page {at + number} of {len(words)}" in page
            assert ("DO NOT CUT: fix the design first" in page) == car.fails
        at = last + 1
    assert len(marks) == 1 + len(cars) + sum(len(car.pages) for car in cars)
    assert reader.metadata is not None
    assert reader.metadata.title == "larkfield: class papers"


def test_the_same_class_makes_the_same_bytes_in_one_process_or_two(folder: Path) -> None:
    files = [each for each in class_files(folder).files if "dipper" not in each.path]
    asked = PaperRequest(sheet_size("a2"))
    one, two = (make_papers(files, asked, jobs=jobs) for jobs in (1, 2))
    assert one == two
    first, second = (class_papers_pdf("larkfield", made, asked) for made in (one, two))
    differing = [k for k, (a, b) in enumerate(zip(first, second, strict=False)) if a != b]
    assert not differing, (first[differing[0] - 200 :][:300], second[differing[0] - 200 :][:300])
    assert len(first) == len(second)


def test_what_a_car_alone_gets_it_gets_in_class() -> None:
    from tests.output.template_cars import sample_set

    for name, car in _cars().items():
        assert car.sheets == sample_set(name, "a4").for_paper


def test_build_sheets_come_behind_the_templates() -> None:
    entry = next(each for each in class_files(samples_folder()).files if each.shown == "kestrel.toml")
    asked = PaperRequest(
        sheet_size("roll:600"), (PaperKind.TEMPLATES, PaperKind.BUILD_SHEET), printer=Printer(99.5, 100)
    )
    (car,) = make_papers([entry], asked, jobs=1)
    assert isinstance(car, CarPapers)
    kinds = [name.startswith("build sheet") for name in car.pages]
    assert kinds == sorted(kinds)
    assert 0 < sum(kinds) < len(kinds)
    words = texts(class_papers_pdf("", [car], asked))
    assert len(words) == 1 + len(car.pages)
    assert "CORRECTED for one printer" in words[0]
    assert all("CORRECTED" in page for page, is_build in zip(words[1:], kinds, strict=True) if not is_build)


def test_a_long_class_has_an_index_of_several_pages() -> None:
    whole = _cars()["kestrel"]
    car = replace(whole, sheets=whole.sheets[-1:], pages=whole.pages[-1:])
    many = [car] * 70
    data = class_papers_pdf("larkfield", many, PaperRequest(A4))
    reader = pypdf.PdfReader(io.BytesIO(data))
    marks = outline(reader)
    front = sum(title.startswith("contents, ") for _, title, _ in marks)
    assert front >= 2
    words = texts(data)
    assert len(words) == front + 70 * len(car.pages)
    for number, (page, entry) in enumerate(zip(words[:front], marks[1:], strict=False), 1):
        assert f"page {number} of {len(words)}" in page
        assert entry == (1, f"contents, sheet {number} of {front}", number)
    assert f"kestrel 1 {front + 1} " in words[0]
    assert f"kestrel 1 {len(words)} " in words[front - 1]


def test_a_fault_of_ours_costs_one_car(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stumble(opened: object) -> object:
        if opened.design.name == "Kestrel":  # type: ignore[attr-defined]
            raise ZeroDivisionError("float division by zero")
        return check_car(opened)  # type: ignore[arg-type]

    monkeypatch.setattr("bodyshop.output.papers.class_set.making.check_car", stumble)
    made = make_papers(class_files(folder).files, PaperRequest(A4), jobs=1)
    lost = [each for each in made if isinstance(each, FailedPapers) and each.problem is not None]
    assert sorted(Path(each.file).stem for each in lost) == ["broken", "kestrel"]
    told = next(each.problem for each in lost if each.file.endswith("kestrel.toml"))
    assert told is not None
    assert told.code == "program-fault"
    assert sum(isinstance(each, CarPapers) for each in made) == 2


def test_the_unit_of_most_of_a_class(folder: Path) -> None:
    found = class_files(folder)
    assert usual_unit(found.files) is LengthUnit.MM
    inches = [each for each in found.files if "dipper" in each.path]
    assert usual_unit([*inches, found.files[-1]]) is LengthUnit.IN
    assert usual_unit([]) is LengthUnit.MM


def test_the_command(folder: Path, capsys, monkeypatch) -> None:
    monkeypatch.chdir(folder.parent)
    ran = run_here(
        capsys, "classpapers", "larkfield", "--jobs", "1", "--sheet", "a3", "--calibrate", "99.5", "100"
    )
    assert ran.code == 2
    assert "4 designs: 2 pass, 1 fail, 1 cannot be read." in ran.out
    assert "broken.toml:2" in ran.err
    file = Path("templates_out/larkfield/larkfield-papers.pdf")
    assert "sheets on A3 behind an index" in " ".join(ran.out.split())
    first = file.read_bytes()
    assert all("CORRECTED for one printer" in page for page in texts(first))
    assert "more problem" not in ran.err
    (folder / "broken.toml").unlink()
    ran = run_here(capsys, "classpapers", "larkfield", "--jobs", "1", "--sheet", "a3")
    assert ran.code == 1
    assert file.read_bytes() != first
    # Somebody's notes in it are not written over.
    file.write_bytes(file.read_bytes() + b"%")
    ran = run_here(capsys, "classpapers", "larkfield", "--jobs", "1")
    assert ran.code == 2
    assert "this file was changed since we wrote it" in " ".join(ran.err.split())


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("nowhere",), "there is no such folder"),
        (("empty",), "there is no design in this folder"),
        (("larkfield", "--contents", "template"), "did you mean templates?"),
        (("larkfield", "--contents", ","), "no papers are named"),
        (("larkfield", "--calibrate", "0", "100"), "bar X is said to measure 0 mm"),
        (("larkfield", "--sheet", "a5"), 'there is no sheet "a5"'),
        (("larkfield", "--jobs", "0"), '"0" is not a number of jobs'),
        (("many",), "401 designs are too many for one PDF; expected at most 400"),
    ],
)
def test_what_cannot_be_is_told_before_the_work(
    folder: Path, capsys, monkeypatch, options: tuple[str, ...], told: str
) -> None:
    monkeypatch.chdir(folder.parent)
    Path("empty").mkdir()
    Path("many").mkdir()
    for number in range(401 if "many" in options else 0):
        Path("many", f"{number}.toml").touch()
    ran = run_here(capsys, "classpapers", *options)
    assert ran.code == 2
    assert told in " ".join(ran.err.split())
    assert not Path("templates_out").exists()


def test_it_says_how_many_problems_a_file_has_besides_the_first(tmp_path: Path, capsys, monkeypatch) -> None:
    place = tmp_path / "larkfield"
    place.mkdir()
    wren = (samples_folder() / "wren.toml").read_text(encoding="utf-8")
    worse = wren.replace("basswood", "baswood").replace("x = 50", "x = true")
    (place / "wren.toml").write_text(worse, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    ran = run_here(capsys, "classpapers", "larkfield", "--jobs", "1")
    assert ran.code == 2
    assert "wren.toml: 1 more problem, told by: bodyshop check" in " ".join(ran.err.split())
