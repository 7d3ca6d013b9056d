"""Every sheet of every sample: what must stand on it stands on it, and nothing stands on anything else."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
import shapely

from bodyshop.car.stock.blades import blades
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.frame import MARGIN_MM, PRINT_NOTE
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import SheetSize, sheet_sizes
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import ClipBegin, ClipEnd, Drawn, InkedPath, Lettering, replay, text_box
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, MoveTo
from bodyshop.output.papers.templates import (
    TemplateOptions,
    template_set,
    template_sheets,
)
from bodyshop.output.papers.templates.steps import DEFERS
from bodyshop.output.words.papers import UNCHECKED, PrintedVerdict, VerdictStamp
from tests.output.template_cars import FAILING, PASSING, car_of, sample, sample_set, samples, straight_text
from tests.output.template_files import dxf_of, pdf_of, svg_of

PAPERS = ["a4", "a3", "letter", "tabloid", "legal"]


def shown(sheet: Sheet) -> Iterator[tuple[Drawn, shapely.Geometry | None]]:
    """What is drawn, each with the window it is clipped to."""
    windows: list[shapely.Geometry | None] = [None]
    for drawn in replay(sheet):
        if isinstance(drawn, ClipBegin):
            windows.append(shapely.Polygon(drawn.corners))
        elif isinstance(drawn, ClipEnd):
            windows.pop()
        else:
            yield drawn, windows[-1]


def lettering(sheet: Sheet) -> list[tuple[str, shapely.Geometry]]:
    """The words that show, each with its box; a clipped one's is what is left of it."""
    found = []
    for drawn, window in shown(sheet):
        if isinstance(drawn, Lettering):
            box = shapely.Polygon(text_box(drawn))
            box = box if window is None else box.intersection(window)
            if box.area > 0.01:
                found.append((drawn.text, box))
    return found


def words_of(sheet: Sheet) -> str:
    return " ".join(text for text, _ in lettering(sheet)).replace("\u00a0", " ")


def points_on(ink: InkedPath) -> list[list[Point]]:
    """Points along each stretch of a path, close enough for looking."""
    stretches: list[list[Point]] = []
    here: Point = (0.0, 0.0)
    for segment in ink.segments:
        if isinstance(segment, MoveTo):
            stretches.append([segment.end])
        elif isinstance(segment, ArcTo):
            steps = np.linspace(0, 1, 40)[1:]
            stretches[-1] += [segment.at(segment.start_rad + t * segment.sweep_rad) for t in steps]
        elif isinstance(segment, CubicTo):
            corners = np.array([here, segment.control_1, segment.control_2, segment.end])
            for t in np.linspace(0, 1, 40)[1:]:
                weights = np.array([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3])
                x, y = weights @ corners
                stretches[-1].append((float(x), float(y)))
        else:
            stretches[-1].append(segment.end)
        here = segment.end
    return stretches


def cut_lines(sheet: Sheet) -> list[shapely.Geometry]:
    """Cut lines as far as they show."""
    lines = []
    for drawn, window in shown(sheet):
        if isinstance(drawn, InkedPath) and drawn.layer is Layer.CUT:
            for points in points_on(drawn):
                line = shapely.LineString([*points, points[0]])
                lines.append(line if window is None else line.intersection(window))
    return lines


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", samples())
def test_no_word_stands_on_another_or_in_the_margin(name: str, paper: str) -> None:
    for sheet in sample_set(name, paper).sheets:
        words = lettering(sheet)
        paper_inside = shapely.box(0, 0, sheet.width_mm, sheet.height_mm).buffer(-MARGIN_MM + 0.001)
        assert len(words) > 20
        for text, box in words:
            assert paper_inside.covers(box), f"{sheet.name}: {text!r} is in the margin"
        boxes = [box for _, box in words]
        tree = shapely.STRtree(boxes)
        for i, j in tree.query(boxes, predicate="intersects").T:
            if i < j:
                # Capitals and descenders of lines below each other may share a hair.
                common = boxes[i].intersection(boxes[j]).area
                assert common < 0.3, f"{sheet.name}: {words[i][0]!r} stands on {words[j][0]!r}"


@pytest.mark.parametrize("paper", ["a3", "letter"])
@pytest.mark.parametrize("name", samples())
def test_no_word_crosses_a_cut_line_or_a_hole(name: str, paper: str) -> None:
    for sheet in sample_set(name, paper).sheets:
        holes = [
            shapely.Point(d.circle[0]).buffer(d.circle[1])
            for d, _ in shown(sheet)
            if isinstance(d, InkedPath) and d.layer is Layer.HOLE and d.circle is not None and d.circle[1] < 8
        ]
        lines = cut_lines(sheet)
        for text, box in lettering(sheet):
            if "A1" in text or "A2" in text:
                continue  # the notes at a seam: one lies on what is trimmed off, the other is glued over
            assert not any(hole.intersects(box) for hole in holes), text
            assert not any(line.intersects(box) for line in lines), text


@pytest.mark.parametrize("paper", PAPERS)
def test_every_sheet_says_what_it_is(paper: str) -> None:
    for name in samples():
        car, stamp = sample(name)
        sheets = sample_set(name, paper).sheets
        for number, sheet in enumerate(sheets, 1):
            words = words_of(sheet)
            for needed in (
                car.design.name,
                car.design.bench,
                car.design.fingerprint,
                stamp.rulebook,
                stamp.word,
                "1 : 1",
                f"{number} of {len(sheets)}",
                "printed on ______________",
                "Measure both check bars before you cut.",
                "CAUTION",
                "Follow your teacher, local rules and the machine's manual.",
            ):
                assert needed in words, f"{name} {sheet.name}: {needed}"
            assert PRINT_NOTE in words.replace("  ", " ")
            unit = (
                "must be 4 in, end to end" if car.design.unit.symbol == "in" else "must be 100 mm, end to end"
            )
            assert words.count(unit) == 2, "a bar each way"


def test_the_last_sheet_has_order_and_cautions() -> None:
    words = words_of(sample_set("kestrel", "a3").sheets[-1])
    for operation in (Operation.DRILL_PRESS, Operation.BANDSAW):
        for caution in cautions_for(operation):
            assert caution.text in words
    assert DEFERS in words
    steps = ("Drill while the block is square", "Saw the side view", "Tape the offcuts", "Saw the top view")
    places = [words.index(step) for step in (*steps, "Sand the top view to its line")]
    assert places == sorted(places)
    assert "1 mm outside the line" in words
    assert "72 mm deep" in words, "52 in the car and 20 of waste behind it"


def test_a_failing_car_says_so_on_every_sheet_and_on_what_is_cut_out() -> None:
    car = car_of(straight_text())
    warning = "FAILS 3 rules – DO NOT CUT: fix the design first"
    for paper in PAPERS:
        sheets = template_sheets(car, FAILING, sheet_sizes()[paper])
        for sheet in sheets:
            large = [d for d in replay(sheet) if isinstance(d, Lettering) and d.text == warning and d.bold]
            assert len(large) == 1
            assert large[0].height_mm >= 4.0
            black = [
                d for d in replay(sheet) if isinstance(d, InkedPath) and d.fill_grey == 0.0 and d.pen is None
            ]
            # Two black blocks, far larger than any other black on the sheet.
            areas = sorted(
                shapely.Polygon([s.end for s in d.segments]).area for d in black if d.circle is None
            )
            assert areas[-2] > 60
            assert any(isinstance(d, InkedPath) and d.pen is Pen.HEAVY for d in replay(sheet))
        on_blank = [text for sheet in sheets for text, _ in lettering(sheet) if text == "FAILS – do not cut"]
        assert len(on_blank) >= 2, "one on the side, one on the plan"
        assert {"B1 one", "B2 two", "B3 three"} <= {
            " ".join(text.split()) for text, _ in lettering(sheets[-1])
        }
    for sheet in template_sheets(car, PASSING, sheet_sizes()["a4"]):
        assert "FAILS" not in words_of(sheet)


@pytest.mark.parametrize(
    ("stamp", "needed"),
    [
        (UNCHECKED, "NOT CHECKED – this design has not been checked against a rulebook"),
        (
            VerdictStamp("NEEDS AN INSPECTOR", PrintedVerdict.OPEN, "Quarry Lane Sprint"),
            "NEEDS AN INSPECTOR –",
        ),
    ],
)
def test_a_car_without_a_full_verdict_says_so(stamp: VerdictStamp, needed: str) -> None:
    for sheet in template_sheets(car_of(straight_text()), stamp, sheet_sizes()["letter"]):
        assert needed in words_of(sheet)


def test_verdicts_become_stamps() -> None:
    stamps = {name: sample(name)[1] for name in samples()}
    assert stamps["kestrel"] == VerdictStamp("PASSES", PrintedVerdict.PASSES, "Quarry Lane Sprint")
    bad = stamps["lapwing"]
    assert bad.fails
    assert bad.word == f"FAILS {bad.failed} rules"
    assert bad.failed >= 8
    assert len(bad.lines) >= bad.failed
    assert any("wheelbase" in line for line in bad.lines)


@pytest.mark.parametrize(
    ("paper", "count"), [("a4", 4), ("letter", 4), ("legal", 3), ("a3", 2), ("tabloid", 2), ("a2", 1)]
)
def test_how_many_sheets_a_car_takes(paper: str, count: int) -> None:
    sheets = template_sheets(car_of(straight_text()), PASSING, sheet_sizes()[paper])
    assert len(sheets) == count
    size = sheet_sizes()[paper]
    for sheet in sheets:
        assert sorted((sheet.width_mm, sheet.height_mm)) == pytest.approx([size.width_mm, size.height_mm])


def test_words_keep_off_the_seam() -> None:
    for name in samples():
        first = sample_set(name, "a4").sheets[0]
        seam = next(
            d.segments[0].end[0]
            for d, _ in shown(first)
            if isinstance(d, InkedPath)
            and d.pen is Pen.TRIM
            and abs(d.segments[0].end[0] - d.segments[1].end[0]) < 1e-9
        )
        crossing = [text for text, box in lettering(first) if box.bounds[0] < seam < box.bounds[2]]
        starts = ("WASTE", "front", "rear", "wheelbase", "body", "UNDER", "FAILS – do not", "centre")
        assert not [text for text in crossing if text.startswith(starts) or "·" in text]


def test_options_are_printed() -> None:
    options = TemplateOptions(date="2031-05-14", owner="Larkfield School workshop")
    for sheet in template_sheets(car_of(straight_text()), PASSING, sheet_sizes()["a4"], options):
        words = words_of(sheet)
        assert "2031-05-14" in words
        assert "Larkfield School workshop" in words
        assert "printed on" not in words


def test_inch_designs_count_in_inches() -> None:
    car, _ = sample("dipper")
    side, ends = sample_set("dipper", "tabloid").sheets
    texts = [text for text, _ in lettering(side)]
    numbers = [d.text for d, _ in shown(side) if isinstance(d, Lettering) and d.layer is Layer.STATION]
    stations = [str(inch) for inch in range(0, 13, 2)]
    assert [n for n in numbers if n in stations and n != "1"] == 2 * stations
    # Nearest 1/64 and the decimal: the wheelbase in mm over 25.4.
    front, rear = car.design.axles
    inches = (rear.x_mm - front.x_mm) / 25.4
    (wheelbase,) = [text for text in texts if text.startswith("wheelbase")]
    assert f"({inches:.3f})" in wheelbase
    whole, fraction = divmod(round(inches * 64), 64)
    top, bottom = np.array([fraction, 64]) // np.gcd(fraction, 64)
    assert wheelbase.startswith(f"wheelbase {whole} {top}/{bottom} ")
    assert any("nearest 1/64" in text for text in texts)
    assert "1/32 in outside the line" in words_of(ends)


@pytest.mark.parametrize(
    "name",
    [
        "W" * 300,
        "שלום עולם " * 12,
        "🚗🏁" * 60,
        "a\u0301\u0328 \u202eevil\u0000 \ud800",
        "",
        "<b>&\"'\\ (x) ]]>",
    ],
)
def test_odd_names_stay_inside_their_cells(name: str) -> None:
    car = car_of(straight_text())
    car.design = replace(car.design, name=name, bench=name)
    stamp = VerdictStamp(name, PrintedVerdict.FAILS, name, 300, (name,) * 12)
    made = template_set(car, stamp, sheet_sizes()["letter"], TemplateOptions(date=name, owner=name))
    for sheet in made.sheets:
        inside = shapely.box(0, 0, sheet.width_mm, sheet.height_mm).buffer(-MARGIN_MM + 0.001)
        for text, box in lettering(sheet):
            assert inside.covers(box), text
    assert pdf_of(made).startswith(b"%PDF")
    assert len(svg_of(made)) == len(made.sheets)
    assert all(b"EOF" in data for data in dxf_of(made).values())


def test_a_blank_larger_than_any_sheet_is_tiled() -> None:
    car = car_of(straight_text())
    blank = replace(
        car.design.blank, length_mm=600.0, width_mm=280.0, height_nose_mm=250.0, height_tail_mm=290.0
    )
    car.design = replace(car.design, blank=blank)
    sheets = template_sheets(car, PASSING, sheet_sizes()["a4"])
    assert len(sheets) > 8
    assert all(f"{number} of {len(sheets)}" in words_of(s) for number, s in enumerate(sheets, 1))


def test_sheets_files_and_set_agree() -> None:
    car = car_of(straight_text())
    size = sheet_sizes()["a4"]
    made = template_set(car, PASSING, size)
    assert list(made.sheets) == template_sheets(car, PASSING, size)
    assert list(svg_of(made)) == [f"templates-{k}.svg" for k in (1, 2, 3, 4)]


def test_relief_cuts_are_told_of_when_the_blade_is_known() -> None:
    car, stamp = sample("kestrel")
    blade = blades()["bandsaw-3-4"]
    size: SheetSize = sheet_sizes()["a3"]
    with_blade = template_sheets(car, stamp, size, TemplateOptions(blade=blade))
    without = template_sheets(car, stamp, size)
    assert blade.label in words_of(with_blade[-1])
    assert blade.label not in words_of(without[-1])
    pairs = itertools.zip_longest(without, with_blade)
    extra = [len(list(replay(b))) - len(list(replay(a))) for a, b in pairs]
    assert extra[0] > 0
