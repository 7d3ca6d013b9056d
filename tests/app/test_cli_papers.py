"""`make`, `templates`, `solid` and `new`: which files come of them, and what they say."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path
from typing import Any

import pypdf
import pytest
import trimesh
from ezdxf.filemanagement import readfile as read_dxf

from bodyshop.car.design.starters import starters
from bodyshop.foundation.files.manifest import MANIFEST
from bodyshop.output.bundle import BundlePart, write_parts
from bodyshop.output.bundle.files import part_of
from tests.app.running import run_here
from tests.documents import valid


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with copies of the samples."""
    shutil.copytree(root / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()} - {MANIFEST}


@pytest.mark.parametrize(("name", "code"), [("wren", 0), ("lapwing", 1)])
def test_make_writes_everything(here: Path, capsys, name: str, code: int) -> None:
    ran = run_here(capsys, "make", f"samples/{name}.toml")
    assert ran.code == code
    folder = here / "templates_out" / name
    made = names(folder)
    always = {
        f"{name}-report.txt",
        f"{name}-report.json",
        f"{name}-templates.pdf",
        f"{name}-templates.dxf",
        f"{name}.stl",
        f"{name}.step",
        f"{name}.3mf",
    }
    sheets = {each for each in made if each.endswith(".svg")}
    machine = {each.replace(".svg", ".dxf") for each in sheets}
    assert made == always | sheets | machine
    assert {part_of(each, name) for each in made} == set(BundlePart)

    document = valid((folder / f"{name}-report.json").read_text(encoding="utf-8"))
    assert document["exit_code"] == code
    fingerprint = document["designs"][0]["fingerprint"]

    # Read back with someone else's parsers: pypdf for the PDF, trimesh for the STL.
    pages = pypdf.PdfReader(io.BytesIO((folder / f"{name}-templates.pdf").read_bytes())).pages
    assert len(pages) == len(sheets)
    verdict = f"FAILS {document['designs'][0]['counts']['fail']} rules" if code else "PASSES"
    for page in pages:
        text = page.extract_text()
        assert fingerprint in text
        assert verdict in text
    for sheet in sheets:
        text = (folder / sheet).read_text(encoding="utf-8")
        assert fingerprint in text
        assert verdict in text
    for each in (*machine, f"{name}-templates.dxf"):
        lines = [text.dxf.text for text in read_dxf(folder / each).modelspace().query("TEXT")]
        assert any(fingerprint in line for line in lines)
        assert any(verdict in line for line in lines)
    mesh: Any = trimesh.load(folder / f"{name}.stl")
    assert mesh.is_watertight
    volume = {each["id"]: each["value"] for each in document["designs"][0]["measures"]}["body.volume"]
    assert mesh.volume == pytest.approx(volume, rel=1e-3)
    assert (folder / f"{name}.step").read_text(encoding="utf-8").startswith("ISO-10303-21;")

    assert f"In {Path('templates_out') / name}:" in ran.out
    for each in always:
        assert each in ran.out
    assert "[2/2] building the solid" in ran.err
    if code:
        assert "fails, and every sheet says so" in ran.out
    else:
        assert "Print at actual size (100 %)" in ran.out

    # The report on paper is told in full, without colour, with one kind of newline.
    report = (folder / f"{name}-report.txt").read_bytes()
    assert b"\x1b" not in report
    assert b"\r" not in report
    assert report.count(b"    Where     ") == report.count(b"    Measured  ")

    # Made again, nothing changes.
    before = {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    again = run_here(capsys, "make", f"samples/{name}.toml")
    assert {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()} == before
    assert again.out.count("as it was") >= 5


def test_templates_alone(here: Path, capsys) -> None:
    ran = run_here(
        capsys, "templates", "samples/lapwing.toml", "--format", "pdf", "--sheet", "A3", "--out", "papers"
    )
    assert ran.code == 1
    assert names(here / "papers") == {"lapwing-templates.pdf"}
    (first, *_) = pypdf.PdfReader(here / "papers" / "lapwing-templates.pdf").pages
    # ISO 216: A3 is 297 by 420 mm; a point is 1/72 in.
    assert sorted(float(side) / 72 * 25.4 for side in first.mediabox[2:]) == pytest.approx(
        [297, 420], abs=0.01
    )
    assert ran.out.splitlines()[0].startswith("Lapwing does not pass yet")


@pytest.mark.parametrize(("design", "size"), [("wren", (210, 297)), ("dipper", (215.9, 279.4))])
def test_the_usual_paper_follows_the_unit(here: Path, capsys, design: str, size: tuple[float, float]) -> None:
    run_here(capsys, "templates", f"samples/{design}.toml", "--format", "pdf", "--out", "papers")
    (first, *_) = pypdf.PdfReader(here / "papers" / f"{design}-templates.pdf").pages
    # ISO 216 A4, and letter of ANSI/ASME Y14.1.
    assert sorted(float(side) / 72 * 25.4 for side in first.mediabox[2:]) == pytest.approx(size, abs=0.01)


def test_the_date_and_owner_are_printed(here: Path, capsys) -> None:
    options = ["--format", "svg", "--date", "2031-05-14", "--owner", "Larkfield School"]
    assert run_here(capsys, "templates", "samples/wren.toml", *options).code == 0
    for sheet in (here / "templates_out" / "wren").glob("*.svg"):
        text = sheet.read_text(encoding="utf-8")
        assert "2031-05-14" in text
        assert "Larkfield School" in text


def test_one_part_leaves_the_others_alone(here: Path, capsys) -> None:
    run_here(capsys, "make", "samples/wren.toml")
    folder = here / "templates_out" / "wren"
    solid = (folder / "wren.stl").read_bytes()
    assert run_here(capsys, "templates", "samples/wren.toml", "--sheet", "a2", "--format", "svg").code == 0
    assert (folder / "wren.stl").read_bytes() == solid
    assert (folder / "wren-templates.pdf").exists()  # of the same design
    assert (folder / "wren-report.txt").exists()


def test_solid_at_a_coarse_chord_is_smaller_and_still_closed(here: Path, capsys) -> None:
    sizes = []
    for chord in ("0.02", "0.5mm"):
        ran = run_here(capsys, "solid", "samples/kestrel.toml", "--chord", chord, "--out", "solid")
        assert ran.code == 0
        assert f"within {chord.removesuffix('mm')} mm of the true shape" in ran.out
        mesh: Any = trimesh.load(here / "solid" / "kestrel.stl")
        assert mesh.is_watertight
        sizes.append(len(mesh.faces))
    assert sizes[1] < sizes[0] / 2


def test_what_cannot_be_built_does_not_stop_the_papers(here: Path, capsys, monkeypatch) -> None:
    from bodyshop.foundation.problems import Problem, ProblemsError

    def none(*_: object, **__: object) -> dict[str, bytes]:
        raise ProblemsError([Problem("solid", "the 3D kernel cannot drill this body")])

    run_here(capsys, "make", "samples/wren.toml")
    monkeypatch.setattr("bodyshop.app.cli.make.solid_files", none)
    ran = run_here(capsys, "make", "samples/wren.toml")
    assert ran.code == 2
    assert "the 3D kernel cannot drill this body" in ran.err
    made = names(here / "templates_out" / "wren")
    assert "wren-templates.pdf" in made
    assert not {"wren.stl", "wren.step"} & made  # the solid of before is not that of these papers
    assert "Taken away, as it is not made any more" in ran.out


# ---------------------------------------------------------------- a folder that several things are written to


def test_several_designs_in_one_folder(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write_parts(folder, "wren", {BundlePart.SOLID}, {"wren.stl": b"w"})
    write_parts(folder, "wren-2", {BundlePart.SOLID}, {"wren-2.stl": b"2"})
    write_parts(
        folder, "wren", {BundlePart.TEMPLATES}, {"wren-templates-1.svg": b"1", "wren-templates-2.svg": b"2"}
    )
    done = write_parts(folder, "wren", {BundlePart.TEMPLATES}, {"wren-templates-1.svg": b"1"})
    assert done.removed == ("wren-templates-2.svg",)
    assert done.unchanged == ("wren-templates-1.svg",)
    assert names(folder) == {"wren.stl", "wren-2.stl", "wren-templates-1.svg"}


def test_a_changed_file_of_another_part_is_let_go(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write_parts(folder, "wren", set(BundlePart), {"wren.stl": b"w", "wren-templates.pdf": b"p"})
    (folder / "wren.stl").write_bytes(b"mine now")
    write_parts(folder, "wren", {BundlePart.TEMPLATES}, {"wren-templates.pdf": b"q"})
    assert (folder / "wren.stl").read_bytes() == b"mine now"


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("wren-templates.pdf", BundlePart.TEMPLATES),
        ("wren-templates-12.svg", BundlePart.TEMPLATES),
        ("wren-report.json", BundlePart.REPORT),
        ("wren.step", BundlePart.SOLID),
        ("wren-2-templates.pdf", None),
        ("wren-2.stl", None),
        ("robin.stl", None),
        ("wren-templates-x.svg", None),
    ],
)
def test_which_part_a_name_belongs_to(name: str, part: BundlePart | None) -> None:
    assert part_of(name, "wren") is part


# ---------------------------------------------------------------- new


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("style", starters())
def test_a_new_design_passes_as_it_is(here: Path, capsys, style: str, units: str) -> None:
    made = run_here(capsys, "new", "Robin", "--style", style, "--units", units)
    assert made.code == 0
    assert "robin.toml is ready." in made.out
    text = (here / "robin.toml").read_text(encoding="utf-8")
    assert 'name = "Robin"' in text
    assert text.count("#") > 15
    assert f'units = "{units}"' in text
    checked = run_here(capsys, "check", "robin.toml")
    assert checked.code == 0
    assert checked.err == ""
    assert checked.out.startswith("Robin passes")


@pytest.mark.parametrize(
    ("name", "file", "told"),
    [
        ("robin", "robin.toml", "Robin"),
        ("robin.toml", "robin.toml", "Robin"),
        ("Grünspecht 2", "grünspecht-2.toml", "Grünspecht 2"),
        ('Say "hi"', "say-hi.toml", 'Say "hi"'),
        ("con", "con-car.toml", "Con"),
        ("車", "車.toml", "車"),
        ("???", "car.toml", "???"),
    ],
)
def test_the_name_of_a_new_design(here: Path, capsys, name: str, file: str, told: str) -> None:
    assert run_here(capsys, "new", name).code == 0
    assert (here / file).is_file()
    ran = run_here(capsys, "check", file, "--json")
    assert json.loads(ran.out)["designs"][0]["name"] == told
