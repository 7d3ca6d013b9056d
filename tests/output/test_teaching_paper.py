"""The report on paper, read back by two readers that did not write it: pypdf and pypdfium2."""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path
from typing import Any, cast

import numpy as np
import pypdf
import pypdfium2
import pytest

from bodyshop.drawing.layout.page_flow import FlowItem, flow, words
from bodyshop.drawing.sheet.lettering import showable
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.problems import ProblemsError
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.content import ReportContent, content_of
from bodyshop.output.papers.annotated_report import teaching_pdf
from bodyshop.rules.checking import Checked, check_car, open_car
from tests.output.teaching_cars import checked_text, rewritten

SAMPLES = ["dipper", "heron", "kestrel", "lapwing", "plover", "swift", "wren"]
_ON = date(2031, 5, 14)
# Source: ISO 32000-1, 8.3.2.3: a user unit is 1/72 inch; an inch is 25.4 mm exactly.
_MM = 25.4 / 72


def _sample(root: Path, name: str) -> Checked:
    return check_car(open_car(root / "samples" / f"{name}.toml"))


def _read(data: bytes) -> str:
    """All the words of a document without the spaces, so that broken lines do not matter."""
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    return _bare(text)


def _bare(text: str) -> str:
    return re.sub(r"\s+", "", showable(text))


def _sentences(content: ReportContent) -> list[str]:
    """Everything that may not be missing from the paper, whatever its size."""
    told = [content.name, content.bench, content.rulebook, content.headline, *content.notes]
    told += [content.fingerprint, content.rulebook_mark, content.date, *content.cautions, *content.mass_notes]
    for group in content.groups:
        told.append(group.heading)
        for rule in group.lines:
            told += [rule.clause, rule.title, rule.measured, rule.limit, rule.margin, rule.told, rule.why]
            told.append(rule.change)
    for rule in content.kept:
        told += [rule.clause, rule.title, rule.measured]
    for check in content.checks:
        told += [check.clause, check.what]
        if not content.fails:
            told.append(check.how)
    return [each for each in told if each]


@pytest.mark.parametrize(
    ("name", "paper"), [*((name, "a4") for name in SAMPLES), ("dipper", "letter"), ("lapwing", "letter")]
)
def test_two_sheets_say_everything(root: Path, name: str, paper: str) -> None:
    checked = _sample(root, name)
    size = sheet_sizes()[paper]
    data = teaching_pdf(checked, _ON, size)
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert 1 <= len(reader.pages) <= 2
    for page in reader.pages:
        assert float(page.mediabox.width) * _MM == pytest.approx(size.width_mm, abs=0.01)
        assert float(page.mediabox.height) * _MM == pytest.approx(size.height_mm, abs=0.01)
    text = _read(data)
    missing = [each for each in _sentences(content_of(checked, _ON)) if _bare(each) not in text]
    assert missing == []


@pytest.mark.parametrize("name", ["lapwing", "dipper"])
def test_nothing_runs_off_the_paper(root: Path, name: str) -> None:
    document = pypdfium2.PdfDocument(teaching_pdf(_sample(root, name), _ON))
    for page in document:
        width, height = page.get_size()
        for thing in page.get_objects():
            left, low, right, top = (x * _MM for x in thing.get_bounds())
            # an office printer leaves about 6 mm unprinted (common practice, no published source)
            assert left > 6.0
            assert low > 6.0
            assert right < width * _MM - 6.0
            assert top < height * _MM - 6.0


def test_words_do_not_run_into_each_other(root: Path) -> None:
    # boxes of lines of text as the reader finds them, no two of which overlap
    document = pypdfium2.PdfDocument(teaching_pdf(_sample(root, "lapwing"), _ON))
    for page in document:
        text = page.get_textpage()
        boxes = [text.get_charbox(k) for k in range(text.count_chars()) if text.get_text_range(k, 1).strip()]
        rows = np.array(boxes)
        for k in range(len(rows)):
            left, low, right, top = rows[k]
            wide = np.minimum(right, rows[:k, 2]) - np.maximum(left, rows[:k, 0])
            high = np.minimum(top, rows[:k, 3]) - np.maximum(low, rows[:k, 1])
            # letters of one word may touch by their side bearings: 0.3 points
            assert not np.any((wide > 0.5) & (high > 0.3))


def test_fonts_are_in_the_file_and_it_says_what_it_is(root: Path) -> None:
    checked = _sample(root, "kestrel")
    reader = pypdf.PdfReader(io.BytesIO(teaching_pdf(checked, _ON)))
    for page in reader.pages:
        fonts = cast("Any", page["/Resources"])["/Font"]
        for font in (fonts[name].get_object() for name in fonts):
            described = font.get("/FontDescriptor", None)
            assert described is not None
            assert "/FontFile2" in described
    about = reader.metadata
    assert about is not None
    assert about.title == "Kestrel: report on the drawing"
    assert about.author == "Bench 4"
    assert checked.opened.design.fingerprint in str(about["/Keywords"])


def test_black_on_white(root: Path) -> None:
    page = pypdfium2.PdfDocument(teaching_pdf(_sample(root, "lapwing"), _ON))[0]
    picture = np.asarray(page.render(scale=1.0).to_numpy())[:, :, :3]
    assert np.all(picture.max(axis=2) == picture.min(axis=2))
    assert picture.min() < 40
    assert picture.max() == 255


def test_the_same_bytes_for_the_same_car_and_day(root: Path) -> None:
    first, second = (_sample(root, "lapwing") for _ in range(2))
    assert teaching_pdf(first, _ON) == teaching_pdf(second, _ON)
    assert teaching_pdf(first, _ON) != teaching_pdf(first, date(2031, 5, 15))


@pytest.mark.parametrize("name", ["kestrel", "lapwing"])
def test_no_word_says_that_a_car_is_safe(root: Path, name: str) -> None:
    checked = _sample(root, name)
    told = " ".join(_sentences(content_of(checked, _ON))).casefold()
    assert "safe" not in told
    assert "your teacher" in told


def test_long_words_make_more_sheets_and_lose_nothing(root: Path, tmp_path: Path) -> None:
    # texts of a rulebook may have 2000 letters
    sentence = ("Wood " * 390).strip() + " end of the reason."
    book = (root / "rules" / "quarry-lane.toml").read_text(encoding="utf-8")
    changed = re.sub(r'reason = "[^"]*"', f'reason = "{sentence}"', book)
    (tmp_path / "wordy.toml").write_text(changed, encoding="utf-8")
    checked = check_car(open_car(root / "samples" / "lapwing.toml", str(tmp_path / "wordy.toml")))
    data = teaching_pdf(checked, _ON)
    assert _read(data).count("endofthereason.") == len(
        [v for v in checked.judgement.verdicts if v.outcome.value in ("fail", "near", "advice")]
    )
    for page in pypdfium2.PdfDocument(data):
        for thing in page.get_objects():
            assert thing.get_bounds()[1] * _MM > 6.0


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "برج", "Kestrel 🏎️", "W" * 60])
def test_odd_names_are_printed_or_boxed(root: Path, name: str) -> None:
    text = rewritten((root / "samples" / "kestrel.toml").read_text(encoding="utf-8"), name)
    try:
        checked = checked_text(text)
    except ProblemsError:
        pytest.skip("the reader of designs refuses such a name")
    data = teaching_pdf(checked, _ON)
    for thing in pypdfium2.PdfDocument(data)[0].get_objects():
        assert thing.get_bounds()[2] * _MM < 210.0 - 6.0


def test_flow_keeps_joined_pieces_together_and_repeats_the_running_head() -> None:
    head = FlowItem((), 5.0)
    pieces = [
        FlowItem((), 30.0),
        FlowItem((), 40.0, running=head),
        FlowItem((), 20.0, joined=True, running=head),
        FlowItem((), 20.0),
    ]
    sheets = flow(pieces, iter([Rect(0.0, 0.0, 100.0, 100.0)] * 4))
    # 30 + 40 leave 30: the joined pair goes to the next sheet, under its head
    assert [len(sheet) for sheet in sheets] == [2, 3]


def test_a_very_long_paragraph_comes_in_pieces() -> None:
    pieces = words("Wood " * 2000, 100.0, 2.0)
    assert len(pieces) > 1
    assert all(piece.height_mm < 120.0 for piece in pieces)
