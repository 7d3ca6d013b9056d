"""`bodyshop rulebook`: lint, show and print."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from bodyshop.foundation.files.manifest import MANIFEST
from bodyshop.rules.rulebook import read_rulebook, shipped_rulebooks
from tests.app.running import run_here

ROOT = Path(__file__).resolve().parents[2]
HOSTILE = ROOT / "tests" / "hostile" / "rulebooks"


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("name", shipped_rulebooks())
def test_lint_of_what_is_shipped(capsys, name: str) -> None:
    ran = run_here(capsys, "rulebook", "lint", name)
    assert (ran.code, ran.out, ran.err) == (0, f"rules/{name}.toml: nothing to find fault with.\n", "")


def test_lint_tells_place_reason_and_severity(capsys) -> None:
    file = HOSTILE / "lint" / "wheelbase-too-long-for-body.toml"
    ran = run_here(capsys, "rulebook", "lint", str(file))
    assert ran.code == 1
    assert ran.err == ""
    words = "".join(ran.out.split())
    assert "wheelbase-too-long-for-body.toml:32:7:errorlint-conflict:nocarcankeepthis" in words
    assert ran.out.endswith(": 1 error.\n")


@pytest.mark.parametrize(
    ("name", "count"),
    [
        ("lint/never-below-zero.toml", "2 warnings"),
        ("lint/lint-and-broken.toml", "1 error and 1 warning"),
        ("many-at-once.toml", "7 errors"),
    ],
)
def test_lint_counts_what_it_tells(capsys, name: str, count: str) -> None:
    ran = run_here(capsys, "rulebook", "lint", str(HOSTILE / name))
    assert ran.code == 1
    assert ran.out.endswith(f": {count}.\n")


@pytest.mark.parametrize("name", ["not-toml.toml", "no-format.toml", "newer-format.toml", "none.toml"])
def test_lint_of_what_cannot_be_read(capsys, name: str) -> None:
    ran = run_here(capsys, "rulebook", "lint", str(HOSTILE / name))
    assert (ran.code, ran.out) == (2, "")
    assert ran.err


def test_lint_of_a_name_that_is_nearly_right(capsys) -> None:
    ran = run_here(capsys, "rulebook", "lint", "quary-lane")
    assert ran.code == 2
    assert "did you mean quarry-lane?" in " ".join(ran.err.split())


def test_show(capsys) -> None:
    ran = run_here(capsys, "rulebook", "show", "quarry-lane-league", "--division", "open")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("Quarry Lane League, division open\n")
    assert "  L1   Tail overhang, past 16 mm" in ran.out


def test_show_tells_the_warnings_of_a_book(capsys) -> None:
    ran = run_here(capsys, "rulebook", "show", str(HOSTILE / "implausible-mm.toml"))
    assert ran.code == 0
    assert "rulebook-implausible" in ran.err


@pytest.mark.parametrize(
    ("words", "piece"),
    [
        (["lnt", "quarry-lane"], "did you mean lint?"),
        (["lint"], "please name a rulebook to look over"),
        (["lint", "quarry-lane", "--sheet", "a4"], "--sheet is for rulebook print alone"),
        (["show", "quarry-lane", "--design", "wren"], "--design is for rulebook print alone"),
        (["lint", "quarry-lane-league", "--division", "open"], "every division"),
        (["print", "quarry-lane", "--sheet", "a5"], "sheet"),
        (["show", "quarry-lane", "--divison", "open"], "did you mean --division?"),
    ],
)
def test_a_command_line_that_makes_no_sense(capsys, words: list[str], piece: str) -> None:
    ran = run_here(capsys, "rulebook", *words)
    assert (ran.code, ran.out) == (2, "")
    assert piece in " ".join(ran.err.split())


@pytest.mark.parametrize("action", ["show", "print"])
def test_a_division_there_is_not(capsys, elsewhere: Path, action: str) -> None:
    ran = run_here(capsys, "rulebook", action, "quarry-lane-league", "--division", "opn")
    assert ran.code == 2
    assert "did you mean open?" in " ".join(ran.err.split())
    assert list(elsewhere.iterdir()) == []


def pages_of(file: Path) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages)


def test_print_blank(capsys, elsewhere: Path) -> None:
    ran = run_here(capsys, "rulebook", "print", "quarry-lane")
    assert (ran.code, ran.err) == (0, "")
    file = elsewhere / "templates_out" / "quarry-lane" / "quarry-lane-inspection.pdf"
    assert f"In {Path('templates_out') / 'quarry-lane'}:\n  {file.name}\n" in ran.out
    pages = pages_of(file)
    assert float(pages[0].mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=0.01)
    before = file.read_bytes()
    again = run_here(capsys, "rulebook", "print", "quarry-lane")
    assert "as it was" in again.out
    assert file.read_bytes() == before


def test_print_on_letter_where_the_book_is_in_inches(capsys, elsewhere: Path) -> None:
    assert run_here(capsys, "rulebook", "print", "quarry-lane-inch", "--out", "here").code == 0
    (page, *_) = pages_of(elsewhere / "here" / "quarry-lane-inch-inspection.pdf")
    assert float(page.mediabox.width) == pytest.approx(8.5 * 72, abs=0.01)


@pytest.mark.parametrize(("design", "code"), [("wren", 0), ("lapwing", 1)])
def test_print_with_a_design(capsys, elsewhere: Path, design: str, code: int) -> None:
    ran = run_here(capsys, "rulebook", "print", "quarry-lane", "--design", design, "--sheet", "letter")
    assert ran.code == code
    file = elsewhere / "templates_out" / design / f"{design}-inspection.pdf"
    text = " ".join(page.extract_text() for page in pages_of(file))
    assert design.capitalize() in text
    assert ("FAIL" in text) == bool(code)


def test_print_leaves_what_else_is_in_the_folder(capsys, elsewhere: Path) -> None:
    assert run_here(capsys, "templates", "wren", "--format", "pdf").code == 0
    folder = elsewhere / "templates_out" / "wren"
    (folder / "mine.txt").write_text("mine", encoding="utf-8")
    assert run_here(capsys, "rulebook", "print", "quarry-lane", "--design", "wren").code == 0
    names = {path.name for path in folder.iterdir()}
    assert names == {MANIFEST, "mine.txt", "wren-templates.pdf", "wren-inspection.pdf"}
    assert run_here(capsys, "templates", "wren", "--format", "pdf").code == 0
    assert {path.name for path in folder.iterdir()} == names


def test_print_refuses_a_file_that_is_not_ours(capsys, elsewhere: Path) -> None:
    folder = elsewhere / "here"
    folder.mkdir()
    (folder / "quarry-lane-inspection.pdf").write_text("mine", encoding="utf-8")
    ran = run_here(capsys, "rulebook", "print", "quarry-lane", "--out", "here")
    assert ran.code == 2
    assert (folder / "quarry-lane-inspection.pdf").read_text(encoding="utf-8") == "mine"


def test_a_new_rulebook_lints_clean_and_judges(capsys, tmp_path: Path) -> None:
    ran = run_here(capsys, "rulebook", "new", "Our sprint")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("our-sprint.toml is ready.")
    assert [file.name for file in tmp_path.iterdir()] == ["our-sprint.toml"]
    assert run_here(capsys, "rulebook", "lint", "our-sprint.toml").code == 0
    assert 'name = "Our sprint"' in (tmp_path / "our-sprint.toml").read_text(encoding="utf-8")
    assert run_here(capsys, "check", "wren", "--rulebook", "our-sprint.toml").code in (0, 1)


def test_what_a_new_rulebook_shows_as_a_note_is_legal_too(capsys, tmp_path: Path) -> None:
    run_here(capsys, "rulebook", "new", "ours")
    file = tmp_path / "ours.toml"
    text = file.read_text(encoding="utf-8")
    start, end = text.index("# [[stock]]"), text.index("# Points to start with")
    awake = text[start:end].replace("# ", "") + text[end:]
    text = (text[:start] + awake).replace("# doubt =", "doubt =")
    file.write_text(text, encoding="utf-8")
    ran = run_here(capsys, "rulebook", "lint", "ours.toml")
    assert ran.out == "ours.toml: nothing to find fault with.\n"
    assert "our-wheel" in run_here(capsys, "stock", "wheels", "--rulebook", "ours.toml").out


def test_a_new_rulebook_never_takes_the_place_of_a_file(capsys, tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text("mine", encoding="utf-8")
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere")
    for name in ("ours", "Ours.toml", "gone", "quarry-lane", "Quarry Lane"):
        ran = run_here(capsys, "rulebook", "new", name)
        assert (ran.code, ran.out) == (2, "")
        assert "choose another name" in " ".join(ran.err.split())
    assert (tmp_path / "ours.toml").read_text(encoding="utf-8") == "mine"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["gone.toml", "ours.toml"]


@pytest.mark.parametrize(
    "name",
    ["", " ", "../up", "a/b", "C:\\rules", "x" * 300, "bell\x07", "two\nlines", "half\ud800"],
)
def test_a_name_that_cannot_be_one_is_told_in_a_sentence(capsys, tmp_path: Path, name: str) -> None:
    ran = run_here(capsys, "rulebook", "new", name)
    assert (ran.code, ran.out) == (2, "")
    assert "Traceback" not in ran.err
    assert "name" in ran.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ('Say "cheese"', "say-cheese.toml"),
        ("back to CON", "back-to-con.toml"),
        ("con", "con-rulebook.toml"),
        ("{name}", "name.toml"),
        ("***", "rulebook.toml"),
        ("Größe 3", "größe-3.toml"),
        ("', x = 1 #", "x-1.toml"),
    ],
)
def test_an_odd_name_stands_in_the_book_as_it_was_typed(capsys, tmp_path: Path, name: str, file: str) -> None:
    assert run_here(capsys, "rulebook", "new", name).code == 0
    assert [each.name for each in tmp_path.iterdir()] == [file]
    assert read_rulebook(tmp_path / file).name == name
    assert run_here(capsys, "rulebook", "lint", file).code == 0


def test_the_reference_is_told_whole_or_by_the_key(capsys) -> None:
    assert "[[stock]]" in run_here(capsys, "rulebook", "reference").out
    assert "most_points" not in run_here(capsys, "rulebook", "reference", "near").out
    ran = run_here(capsys, "rulebook", "reference", "pionts")
    assert (ran.code, ran.out) == (2, "")
    assert "did you mean points?" in " ".join(ran.err.split())


@pytest.mark.parametrize(
    "words",
    [
        ("lint",),
        ("show",),
        ("print",),
        ("new",),
        ("new", "x", "--division", "open"),
        ("new", "x", "--out", "y"),
    ],
)
def test_what_an_action_needs_or_does_not_take_is_told(
    capsys, tmp_path: Path, words: tuple[str, ...]
) -> None:
    ran = run_here(capsys, "rulebook", *words)
    assert (ran.code, ran.out) == (2, "")
    assert list(tmp_path.iterdir()) == []
