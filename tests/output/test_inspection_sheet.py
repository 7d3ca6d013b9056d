"""The officials' inspection sheet, read back by readers that did not write it: pypdf and pypdfium2."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from bodyshop.drawing.layout.frame import MARGIN_MM
from bodyshop.drawing.sheet.items import Text
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, replay, text_box
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.inspection_form import InspectionOptions, inspection_pdf, inspection_sheets
from bodyshop.output.papers.inspection_form.form import BOX_MM
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car
from bodyshop.rules.rulebook import (
    BreachEffects,
    Outcome,
    Rulebook,
    find_rulebook,
    read_rulebook,
    shipped_rulebooks,
)
from tests.rules.books import HEAD, book_of, rule_text

MM = 25.4 / 72
A4, LETTER = sheet_sizes()["a4"], sheet_sizes()["letter"]


@cache
def book(name: str, division: str = "") -> Rulebook:
    return read_rulebook(find_rulebook(name), division=division)


@cache
def checked(design: str, rules: str, division: str = "") -> Checked:
    return check_car(open_car(find_design(design)[0], shelf=RulebookCache(rules, division)))


def text_of(data: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def squeezed(text: str) -> str:
    """Without blanks: a reader may find them at other places where lines are broken."""
    return "".join(text.split())


@pytest.mark.parametrize("name", shipped_rulebooks())
@pytest.mark.parametrize("sheet", [A4, LETTER], ids=lambda sheet: sheet.id)
def test_every_clause_is_on_the_paper(name: str, sheet) -> None:
    data = inspection_pdf(book(name), sheet)
    reader = pypdf.PdfReader(io.BytesIO(data))
    for page in reader.pages:
        assert float(page.mediabox.width) * MM == pytest.approx(sheet.width_mm, abs=0.01)
        assert float(page.mediabox.height) * MM == pytest.approx(sheet.height_mm, abs=0.01)
        assert book(name).fingerprint in page.extract_text()
    text = squeezed(text_of(data))
    for rule in book(name).rules:
        words = rule.title or rule.item
        assert squeezed(words[:1].upper() + words[1:]) in text, rule.clause
        assert squeezed(rule.instruction) in text, rule.clause
    for heading in dict.fromkeys(rule.section for rule in book(name).rules):
        assert squeezed(heading) in text
    assert squeezed(f"1 of {len(reader.pages)}") in text


@pytest.mark.parametrize("design", ["", "lapwing", "heron"])
def test_each_clause_has_its_boxes(design: str) -> None:
    one = checked(design, "quarry-lane") if design else None
    sheets = inspection_sheets(book("quarry-lane"), A4, one)
    boxes = [
        ink
        for sheet in sheets
        for ink in replay(sheet)
        if isinstance(ink, InkedPath) and ink.closed and ink.pen is not None and ink.fill_grey == 1.0
    ]
    results = 5  # legal, legal with points off, not legal, display only, to be looked at again
    assert len(boxes) == 2 * len(book("quarry-lane").rules) + results
    for each in boxes:
        xs, ys = zip(*(segment.end for segment in each.segments), strict=True)
        assert max(xs) - min(xs) == pytest.approx(BOX_MM)
        assert max(ys) - min(ys) == pytest.approx(BOX_MM)


@pytest.mark.parametrize(
    ("name", "division", "design"),
    [
        ("quarry-lane", "", ""),
        ("quarry-lane", "", "lapwing"),
        ("quarry-lane-inch", "", "dipper"),
        ("quarry-lane-league", "open", "heron"),
    ],
)
@pytest.mark.parametrize("sheet", [A4, LETTER], ids=lambda sheet: sheet.id)
def test_nothing_leaves_the_margins_or_lies_on_other_words(name, division, design, sheet) -> None:
    one = checked(design, name, division) if design else None
    for page in inspection_sheets(book(name, division), sheet, one):
        room = Rect(0, 0, sheet.width_mm, sheet.height_mm).inset(MARGIN_MM - 0.01)
        boxes = []
        for drawn in replay(page):
            if isinstance(drawn, Lettering):
                corners = text_box(drawn)
                left, low = corners[0]
                right, high = corners[2]
                assert room.x <= left <= right <= room.right, drawn.text
                assert room.y <= low <= high <= room.top + 0.3, drawn.text
                boxes.append((left, low, right, high, drawn.text))
        array = np.array([each[:4] for each in boxes])
        for number, (left, low, right, high, words) in enumerate(boxes):
            # Descenders of one line may touch the ascenders of the next by a hair.
            over = (
                (array[:, 0] < right - 0.1)
                & (left + 0.1 < array[:, 2])
                & (array[:, 1] < high - 0.3)
                & (low + 0.3 < array[:, 3])
            )
            over[number] = False
            assert not np.any(over), (words, [boxes[n][4] for n in np.flatnonzero(over)])


def test_a_filled_sheet_shows_values_and_verdicts() -> None:
    one = checked("lapwing", "quarry-lane")
    data = inspection_pdf(one.opened.rulebook, A4, one)
    text = squeezed(text_of(data))
    failed = one.judgement.failed
    assert squeezed(f"not legal: {len(failed)} rules are broken") in text
    assert text.count("FAIL") == len(failed)
    for value in ("318.0 mm", "32.3 mm", "99.0 mm"):
        assert squeezed(value) in text
    assert "Lapwing" in text
    assert squeezed(one.opened.design.bench) in text
    assert one.opened.design.fingerprint in text
    assert text.count("near") >= len(one.judgement.having(Outcome.NEAR))


def test_a_blank_sheet_has_neither() -> None:
    text = text_of(inspection_pdf(book("quarry-lane"), A4))
    assert "FAIL" not in text
    assert "on the drawing" not in text
    assert "design code" not in text


def test_a_car_that_passes_is_called_legal_as_far_as_a_drawing_tells() -> None:
    one = checked("wren", "quarry-lane")
    text = squeezed(text_of(inspection_pdf(one.opened.rulebook, A4, one)))
    assert squeezed("legal on paper (drawing only)") in text
    assert "safe" not in text.casefold().replace("safety", ""), "the heading of the cautions only"


def test_inches_are_tape_fractions_on_paper() -> None:
    one = checked("dipper", "quarry-lane-inch")
    text = text_of(inspection_pdf(one.opened.rulebook, LETTER, one))
    for words in ("1 3/8 in", "2 1/8 in", "27/64 in"):
        assert words in text


def test_the_division_and_the_date_are_told() -> None:
    text = text_of(
        inspection_pdf(
            book("quarry-lane-league", "open"),
            A4,
            options=InspectionOptions(date="2031-05-14", owner="Larkfield School"),
        )
    )
    assert "division open" in text
    assert "2031-05-14" in text
    assert "Larkfield School" in text
    none = text_of(inspection_pdf(book("quarry-lane-league"), A4))
    assert "not chosen" in none


def test_only_what_a_book_knows_can_be_the_result(tmp_path: Path) -> None:
    plain = text_of(inspection_pdf(book_of(tmp_path, HEAD + rule_text("max = 305")), A4))
    for words in ("points off", "display only", "ballast added"):
        assert words not in plain
    full = text_of(inspection_pdf(book("quarry-lane"), A4))
    assert {rule.fails for rule in book("quarry-lane").rules} == set(BreachEffects) - {BreachEffects.NO_AWARD}
    for words in ("points off", "display only", "ballast added", "official"):
        assert words in full


def test_cautions_for_those_who_handle_cartridges() -> None:
    text = text_of(inspection_pdf(book("quarry-lane"), A4))
    assert "under high pressure" in text
    assert "Follow your teacher" in text
    assert "The judge at the event has the last word." in text
    shop = text_of(inspection_pdf(book("shop-bandsaw"), A4))
    assert "advice sheet" in shop
    assert "legal" not in shop
    assert "Your teacher has the last word." in shop
    assert "under high pressure" not in shop
    assert "Drill while the block is still square." in shop


def test_the_same_bytes_on_any_day_and_the_fonts_within() -> None:
    one = checked("lapwing", "quarry-lane")
    data = inspection_pdf(one.opened.rulebook, A4, one)
    assert data == inspection_pdf(one.opened.rulebook, A4, one)
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            descriptor = font.get_object()["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor


@pytest.mark.parametrize("page", [0, 1, 2])
def test_the_paper_is_well_used_and_grey_hides_no_rule(page: int) -> None:
    """A raster by pypdfium2: ink from the left margin to the right one, and black lines under grey bands."""
    one = checked("lapwing", "quarry-lane")
    document = pypdfium2.PdfDocument(inspection_pdf(one.opened.rulebook, A4, one))
    image = np.asarray(document[page].render(scale=150 / 72, grayscale=True).to_pil())
    dark = np.argwhere(image < 128)
    scale = 150 / 25.4
    assert dark[:, 1].min() / scale == pytest.approx(MARGIN_MM, abs=0.4)
    assert dark[:, 1].max() / scale == pytest.approx(A4.width_mm - MARGIN_MM, abs=0.4)
    # Rows where ink runs right across the table: the rules between the clauses.
    across = (image[:, round(10 * scale) : round(200 * scale)] < 200).mean(axis=1) > 0.97
    assert across.sum() >= 15


def test_hostile_words_stay_on_the_sheet(tmp_path: Path) -> None:
    long = "word " * 380
    text = HEAD + rule_text(f'max = 305\ntitle = "{long}"\nsection = "{long}"', "clause " * 20)
    text += (
        f'[[rule]]\nclause = "2"\nitem = "{"x" * 1900}"\nfails = "disqualify"\nreason = "Because."\n'
        f'instruction = "{long}"\n'
    )
    sheets = inspection_sheets(book_of(tmp_path, text), A4)
    for page in sheets:
        for drawn in replay(page):
            if isinstance(drawn, Lettering):
                left, low = text_box(drawn)[0]
                right, high = text_box(drawn)[2]
                assert 0.0 < left < right < A4.width_mm, drawn.text
                assert 0.0 < low < high < A4.height_mm, drawn.text


def test_no_band_stands_alone_at_the_foot_of_a_page() -> None:
    for name in shipped_rulebooks():
        headings = {rule.section for rule in book(name).rules}
        for page in inspection_sheets(book(name), A4):
            words = sorted(
                ((drawn.start[1], drawn.text) for drawn in replay(page) if isinstance(drawn, Lettering)),
                reverse=True,
            )
            assert words[-1][1].removesuffix(" (continued)") not in headings


def test_nothing_that_is_checked_needs_a_colour() -> None:
    document = pypdfium2.PdfDocument(inspection_pdf(book("quarry-lane"), A4))
    image = np.asarray(document[0].render(scale=1).to_pil().convert("RGB")).astype(int)
    assert np.abs(image.max(axis=2) - image.min(axis=2)).max() <= 3
    kinds = {pdfium.FPDFPageObj_GetType(thing.raw) for thing in document[0].get_objects()}
    assert kinds <= {pdfium.FPDF_PAGEOBJ_PATH, pdfium.FPDF_PAGEOBJ_TEXT}


def test_the_verdict_on_the_design_is_printed_whole(tmp_path: Path) -> None:
    rules = rule_text("min = 143", measure="car.mass")
    book_of(tmp_path, HEAD + rules)
    car = checked("kestrel", str(tmp_path / "book.toml"))
    (first, *_) = inspection_sheets(car.opened.rulebook, A4, car)
    words = "probably too light: the estimate is outside a limit, but its range is partly inside: weigh the"
    texts = [item for item in first.items if isinstance(item, Text)]
    assert squeezed(words + "car") in squeezed(
        "".join(item.text for item in sorted(texts, key=down_the_page))
    )
    short = checked("kestrel", "quarry-lane")
    (plain, *_) = inspection_sheets(short.opened.rulebook, A4, short)
    assert "legal on paper (drawing only)" in [each.text for each in plain.items if isinstance(each, Text)]


def down_the_page(item: Text) -> tuple[float, float]:
    return -item.at[1], item.at[0]
