"""The build sheet, read back by readers that did not write it: pypdf and pypdfium2."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest

from bodyshop.car.assembly import Car, MassGroup
from bodyshop.car.assembly.mass import total
from bodyshop.car.stock.cautions import cautions
from bodyshop.drawing.layout.dimensions import Figures, mass_text
from bodyshop.drawing.layout.frame import MARGIN_MM
from bodyshop.drawing.layout.table import Cell
from bodyshop.drawing.sheet.items import Text
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, replay, text_box
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.buildsheet import BuildOptions, build_sheet_pdf, build_sheets
from bodyshop.output.papers.buildsheet.exploded import SCALES, exploded_axle
from bodyshop.output.papers.buildsheet.lengths import axle_cuts, bore_drill, eye_positions
from bodyshop.output.papers.buildsheet.steps import BOX_MM, FLAGS, STEPS, steps_of
from bodyshop.output.papers.buildsheet.tables import axle_table, mass_stages
from bodyshop.output.papers.order_of_work import read_steps
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car

MM = 25.4 / 72
SIZES = sheet_sizes()
SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))

# ISO 216 (A4, A3) in mm and ANSI/ASME Y14.1 (A, B) in inches of 25.4 mm: from memory.
PUBLISHED = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4), "tabloid": (279.4, 431.8)}


@cache
def checked(design: str) -> Checked:
    return check_car(open_car(find_design(design)[0], shelf=RulebookCache("", "")))


@cache
def pdf(design: str, sheet: str) -> bytes:
    return build_sheet_pdf(checked(design), SIZES[sheet])


def of_text(folder: Path, text: str) -> Checked:
    file = folder / "car.toml"
    file.write_text(text, encoding="utf-8")
    return check_car(open_car(file, shelf=RulebookCache("", "")))


def wren(*changes: tuple[str, str]) -> str:
    text = (samples_folder() / "wren.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def pages_of(data: bytes) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def squeezed(text: str) -> str:
    """Without blanks: a reader may find them at other places where lines are broken."""
    return "".join(text.split())


def words_of(data: bytes) -> str:
    return squeezed(" ".join(pages_of(data)))


# ---------------------------------------------------------------- lengths by hand


def test_wren_by_hand() -> None:
    """Its plan is 18.5 mm to each side of both axles: 2 x 18.5 = 37. Kit: washers 0.5, play 0.5, hubs 8, 14.

    The blank is 305 long and the tail at 260, so the bore is 305 - 260 + 52 = 97 deep. The front wheel's
    radius is 16 with the axle at 7, the rear one's 17 with the axle at 8: the track is level at -9. The
    eye's ring is 4.5 + 2 x 1.4 = 7.3 over all: 9 - 7.3 = 1.7 is left.
    """
    car = checked("wren").opened.car
    front, rear = axle_cuts(car)
    assert front.stack is not None
    assert rear.stack is not None
    assert front.stack.bearing_length_mm == pytest.approx(37.0)
    assert rear.stack.bearing_length_mm == pytest.approx(37.0)
    assert front.needed_mm == pytest.approx(37 + 2 * (0.5 + 0.5 + 8))
    assert rear.needed_mm == pytest.approx(37 + 2 * (0.5 + 0.5 + 14))
    assert front.stack.axle_length_mm == pytest.approx(55.0)
    assert rear.stack.axle_length_mm == pytest.approx(67.0)
    assert bore_drill(car).deep_mm == pytest.approx(97.0)
    assert [point.behind_mm for point in eye_positions(car)] == pytest.approx([8.0, -8.0])
    assert [point.clearance_mm for point in eye_positions(car)] == pytest.approx([1.7, 1.7])
    text = words_of(pdf("wren", "a4"))
    for words in (
        "37 + 2 × (0.5 + 0.5 + 8) = 55",
        "37 + 2 × (0.5 + 0.5 + 14) = 67",
        "37 mm, flush both sides",
        "55 mm, flush with the hubs",
        "67 mm, flush with the hubs",
        "1 × 0.5 mm at each wheel, between hub and body, left and right",
        "97 mm from the tail end of the blank",
        "8 mm behind the centre of the front axle",
        "8 mm ahead of the centre of the rear axle",
        "Ø 1 mm, 8 mm deep",
        "1.7 mm clear, screwed home",
        "Ø 32 mm",
        "Ø 34 mm",
        "right through",
        "turned to face nose and tail",
        "50 mm from the blank's nose end, 255 mm from its tail end, 7 mm above the bottom",
    ):
        assert squeezed(words) in text, words


def test_dipper_by_hand() -> None:
    """Front: 2 x 3/4 = 1.5 in. Rear: at 9 1/8 the side runs from 3/4 at 7 3/4 to 11/16 at 10 3/4.

    Kit: washers 1/32 in, play 0.5 mm, hubs 5/16 and 9/16 in.
    """
    rear_width = 2 * (3 / 4 - (3 / 4 - 11 / 16) * (9.125 - 7.75) / (10.75 - 7.75))
    front_axle = 1.5 + 2 * (1 / 32 + 0.5 / 25.4 + 5 / 16)
    rear_axle = rear_width + 2 * (1 / 32 + 0.5 / 25.4 + 9 / 16)
    car = checked("dipper").opened.car
    front, rear = axle_cuts(car)
    assert front.stack is not None
    assert rear.stack is not None
    assert front.stack.bearing_length_mm / 25.4 == pytest.approx(1.5)
    assert rear.stack.bearing_length_mm / 25.4 == pytest.approx(rear_width)
    assert front.stack.axle_length_mm / 25.4 == pytest.approx(front_axle)
    assert rear.stack.axle_length_mm / 25.4 == pytest.approx(rear_axle)
    text = words_of(pdf("dipper", "letter"))
    for inches in (front_axle, rear_axle, rear_width):
        whole, parts = divmod(round(inches * 64), 64)
        shorter = math.gcd(parts, 64)
        tape = f"{whole} {parts // shorter}/{64 // shorter} in ({inches:.3f})"
        assert squeezed(tape) in text, tape
    # The blank is 12 in long, the tail at 10 3/4, the bore 2 deep.
    assert squeezed("3 1/4 in (3.250) from the tail end of the blank") in text
    assert squeezed("1.500 + 2 × (0.031 + 0.020 + 0.312) = 2.227") in text
    assert squeezed("3/8 in (0.375) behind the centre of the front axle") in text


def test_clearances_are_those_of_the_measures() -> None:
    for name in SAMPLES:
        one = checked(name)
        points = eye_positions(one.opened.car)
        for end, point in (("front", points[0]), ("rear", points[-1])):
            reading = one.readings[f"{end}_eye.track_clearance"]
            assert point.clearance_mm == pytest.approx(reading.value), name  # type: ignore[union-attr]


# ---------------------------------------------------------------- the masses


def test_masses_by_hand(tmp_path: Path) -> None:
    one = checked("wren")
    car, design = one.opened.car, one.opened.design
    blank, body, finished, whole = mass_stages(car)
    assert blank.mass.mass_g == pytest.approx(305 * 42 * 70 * design.wood.density_g_per_mm3)
    assert body.mass.mass_g == pytest.approx(car.body.volume * design.wood.density_g_per_mm3)
    film = car.body.wetted_area * design.finish.film_mm * design.finish.density_g_per_mm3
    assert finished.mass.mass_g - body.mass.mass_g == pytest.approx(film)
    bought = total([item for item in car.items if item.part is MassGroup.HARDWARE]).mass_g
    assert whole.mass.mass_g == pytest.approx(finished.mass.mass_g + bought + design.glue.mass_g)
    text = words_of(pdf("wren", "a4"))
    for stage in (blank, body, finished, whole):
        mass = stage.mass
        told = f"{stage.label}{mass_text(mass.mass_g)}{mass_text(mass.low_g)} to {mass_text(mass.high_g)}"
        assert squeezed(told) in text
        assert mass.low_g < mass.mass_g < mass.high_g
    weighed = of_text(tmp_path, wren(('wood = "basswood"', 'wood = "basswood"\nweighed = "400 g"')))
    stage = mass_stages(weighed.opened.car)[0]
    assert stage.mass.mass_g == 400.0
    assert stage.mass.sd_g < blank.mass.sd_g / 50


# ---------------------------------------------------------------- what is on the paper


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("sheet", sorted(PUBLISHED))
def test_pages_sizes_and_title_blocks(name: str, sheet: str) -> None:
    one = checked(name)
    reader = pypdf.PdfReader(io.BytesIO(pdf(name, sheet)))
    assert 2 <= len(reader.pages) <= 4
    for number, page in enumerate(reader.pages, 1):
        size = (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM)
        assert size == pytest.approx(PUBLISHED[sheet], abs=0.01)
        text = squeezed(page.extract_text())
        design = one.opened.design
        for words in (
            design.name,
            design.bench,
            design.fingerprint,
            one.opened.rulebook.name,
            f"{number} of {len(reader.pages)}",
            "Follow your teacher, local rules and the machine's manual.",
        ):
            assert squeezed(words) in text
        assert "safe" not in text.casefold()
        assert ("FAILS" in text) == bool(one.judgement.failed)
        assert (squeezed("DO NOT CUT: fix the design first") in text) == bool(one.judgement.failed)
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            assert "/FontFile2" in font.get_object()["/FontDescriptor"].get_object()


@pytest.mark.parametrize("name", SAMPLES)
def test_every_part_length_and_step_is_there(name: str) -> None:
    one = checked(name)
    car, design = one.opened.car, one.opened.design
    sheet = "letter" if design.unit is LengthUnit.IN else "a4"
    figures, text = Figures(design.unit), words_of(pdf(name, sheet))
    wanted = [design.blank.label, design.wood.label, figures.length(design.blank.length_mm)]
    for cut in axle_cuts(car):
        assert cut.stack is not None
        wanted += [cut.axle.wheel.label, cut.axle.axle.label, figures.hole(cut.axle.wheel.diameter_mm)]
        wanted += [figures.length(cut.stack.axle_length_mm), figures.length(cut.stack.body_width_mm)]
        wanted += [f"cut the axle to{figures.length(axle_cuts(car)[0].stack.axle_length_mm)}"]  # type: ignore[union-attr]
    wanted += [step.text for step in steps_of(car, figures)]
    wanted += [caution for step in steps_of(car, figures) for caution in step.cautions]
    for words in wanted:
        assert squeezed(words).replace("Caution:", "") in text.replace("Caution:", ""), words
    for words in ("burr", "flash off the wheels", "spin freely", "measured, g"):
        assert squeezed(words) in text


@pytest.mark.parametrize("name", SAMPLES)
def test_a_box_for_each_step(name: str) -> None:
    one = checked(name)
    boxes = 0
    for sheet in build_sheets(one, SIZES["a4"]):
        for ink in replay(sheet):
            if isinstance(ink, InkedPath) and ink.closed and ink.fill_grey == 1.0 and ink.pen is not None:
                xs, ys = zip(*(segment.end for segment in ink.segments), strict=True)
                square = max(xs) - min(xs) == pytest.approx(BOX_MM)
                boxes += square and max(ys) - min(ys) == pytest.approx(BOX_MM)
    assert boxes == len(steps_of(one.opened.car, Figures(LengthUnit.MM)))


def assert_room(one: Checked, sheet: str) -> None:
    size = SIZES[sheet]
    for page in build_sheets(one, size):
        room = Rect(0, 0, size.width_mm, size.height_mm).inset(MARGIN_MM - 0.01)
        boxes = []
        for drawn in replay(page):
            if isinstance(drawn, Lettering):
                (left, low), (right, high) = text_box(drawn)[0], text_box(drawn)[2]
                assert room.x <= left <= right <= room.right, drawn.text
                assert room.y <= low <= high <= room.top, drawn.text
                boxes.append((left, low, right, high, drawn.text))
            elif isinstance(drawn, InkedPath):
                xs, ys = zip(*(segment.end for segment in drawn.segments), strict=True)
                assert room.x <= min(xs) <= max(xs) <= room.right
                assert room.y <= min(ys) <= max(ys) <= room.top
        array = np.array([each[:4] for each in boxes])
        for number, (left, low, right, high, words) in enumerate(boxes):
            over = (array[:, 0] < right - 0.1) & (left + 0.1 < array[:, 2])
            # Descenders of one line may touch the ascenders of the next by a hair.
            over &= (array[:, 1] < high - 0.3) & (low + 0.3 < array[:, 3])
            over[number] = False
            assert not np.any(over), (words, [boxes[n][4] for n in np.flatnonzero(over)])


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("sheet", ["a4", "letter"])
def test_nothing_leaves_the_margins_or_lies_on_other_words(name: str, sheet: str) -> None:
    assert_room(checked(name), sheet)


@pytest.mark.parametrize(("name", "sheet"), [("kestrel", "a4"), ("dipper", "letter")])
def test_the_axle_is_drawn_to_the_scale_it_states(name: str, sheet: str) -> None:
    """The rod's two long sides, found as strokes of the PDF by pdfium, against the length in the table."""
    one = checked(name)
    front, rear = axle_cuts(one.opened.car)
    document = pypdfium2.PdfDocument(pdf(name, sheet))
    page = document[1]
    assert "scale 1 : 1" in page.get_textpage().get_text_range()
    widths = []
    for item in page.get_objects():
        left, low, right, high = item.get_bounds()
        widths.append(((right - left) * MM, (high - low) * MM))
    for cut in (front, rear):
        assert cut.stack is not None
        # Bounds take in the pen, 0.35 mm wide, whole on each side.
        wanted = (cut.stack.axle_length_mm + 0.7, cut.axle.axle.diameter_mm + 0.7)
        assert any(each == pytest.approx(wanted, abs=0.05) for each in widths)
        wheel = (cut.axle.wheel.width_mm + 0.7, cut.axle.wheel.diameter_mm + 0.7)
        assert sum(each == pytest.approx(wheel, abs=0.05) for each in widths) == 2


def test_black_and_white() -> None:
    for page in pypdfium2.PdfDocument(pdf("lapwing", "a4")):
        image = np.asarray(page.render(scale=1).to_pil().convert("RGB")).astype(int)
        assert int((image.max(axis=2) - image.min(axis=2)).max()) == 0


def test_date_and_owner() -> None:
    one = checked("wren")
    dated = build_sheet_pdf(one, SIZES["a4"], BuildOptions("2031-05-14", "Larkfield School"))
    for text in pages_of(dated):
        assert "2031-05-14" in text
        assert "Larkfield School" in text
    assert all("______" in text for text in pages_of(pdf("wren", "a4")))
    meta = pypdf.PdfReader(io.BytesIO(dated)).metadata
    assert meta is not None
    assert meta.title == "Wren: build sheet"


# ---------------------------------------------------------------- the table of steps


def test_the_table_of_steps_is_sound() -> None:
    known = {caution.id for caution in cautions()}
    for step in read_steps(STEPS):
        assert {*step.when, *step.unless} <= FLAGS
        assert set(step.cautions) <= known
        assert "safe" not in step.text.casefold()
    ids = [step.id for step in read_steps(STEPS)]
    assert len(set(ids)) == len(ids)
    order = [
        "axle-holes",
        "bore",
        "saw-side",
        "saw-top",
        "sand",
        "finish",
        "eyes",
        "bearings",
        "axles",
        "stack",
    ]
    assert [name for name in ids if name in order] == order
    # Every flag is used by some step.
    assert frozenset().union(*({*step.when, *step.unless} for step in read_steps(STEPS))) == FLAGS


# ---------------------------------------------------------------- odd cars


LONG = "Very long name " * 20
RTL = "\u05e6\u05d9\u05e4\u05d5\u05e8 \u0637\u0627\u0626\u0631"
EMOJI = "\U0001f3ce\U0001f469\U0001f52c"


@pytest.mark.parametrize("name", [LONG[:60].strip(), RTL, EMOJI], ids=["long", "right-to-left", "emoji"])
def test_names_of_all_sorts_stay_in_their_cell(tmp_path: Path, name: str) -> None:
    one = of_text(tmp_path, wren(('"Wren"', f'"{name}"'), ('"Bench 2"', f'"{name}"')))
    for sheet in ("a4", "letter"):
        assert_room(one, sheet)
    assert pypdf.PdfReader(io.BytesIO(build_sheet_pdf(one, SIZES["a4"]))).pages


def test_without_screw_eyes(tmp_path: Path) -> None:
    text = wren()
    one = of_text(tmp_path, text[: text.index("[[screw_eye]]")])
    assert not one.opened.design.eyes
    told = words_of(build_sheet_pdf(one, SIZES["a4"]))
    assert squeezed("the design has no screw eye") in told
    assert squeezed("Mark the screw eyes") not in told
    assert_room(one, "a4")


def test_with_many_screw_eyes(tmp_path: Path) -> None:
    eyes = "".join(f'\n[[screw_eye]]\naxle = "front"\nbehind = {8 + 5 * k}\n' for k in range(1, 19))
    one = of_text(tmp_path, wren() + eyes)
    assert len(one.opened.design.eyes) == 20
    assert_room(one, "a4")
    assert squeezed("as the table of screw eyes says") in words_of(build_sheet_pdf(one, SIZES["a4"]))


def test_without_bearings(tmp_path: Path) -> None:
    one = of_text(
        tmp_path,
        wren(("height = 7", 'height = 7\nbearing = "none"'), ("height = 8", 'height = 8\nbearing = "none"')),
    )
    assert one.opened.design.front.bearing is None
    told = words_of(build_sheet_pdf(one, SIZES["a4"]))
    assert squeezed("no bearing: the axle turns in the wood") in told
    assert squeezed("Cut the bearings") not in told
    assert squeezed("pulled out of the body") not in told
    assert_room(one, "a4")


def test_without_washers(tmp_path: Path) -> None:
    one = of_text(
        tmp_path, wren(("height = 7", "height = 7\nwashers = 0"), ("height = 8", "height = 8\nwashers = 0"))
    )
    told = words_of(build_sheet_pdf(one, SIZES["a4"]))
    assert squeezed("none: the hubs run against the body") in told
    assert squeezed("37 + 2 × (0 + 0.5 + 8) = 54") in told
    assert squeezed("wheel, body, wheel") in told
    assert "1washer" not in told
    assert_room(one, "a4")


def test_axles_of_a_given_length(tmp_path: Path) -> None:
    one = of_text(
        tmp_path, wren(("height = 7", "height = 7\nlength = 59"), ("height = 8", "height = 8\nlength = 61"))
    )
    told = words_of(build_sheet_pdf(one, SIZES["a4"]))
    assert squeezed("59 mm, as the design says: stands out 2 mm at each end") in told
    assert squeezed("61 mm, as the design says: 3 mm short of each hub's outer end") in told


def test_an_axle_hole_that_is_not_in_wood_is_said_and_not_drawn() -> None:
    """No such design is let through to the papers; should one come, it makes no false length."""
    design = checked("wren").opened.design
    high = replace(design, axles=(replace(design.front, height_mm=60.0), design.rear))
    car = Car(high)
    figures = Figures(LengthUnit.MM)
    front = axle_cuts(car)[0]
    assert front.stack is None
    block = exploded_axle(front, car, figures, 1.0, 180.0)
    told = " ".join(item.text for item in block.items if isinstance(item, Text))
    assert "The front axle hole is not in wood" in told
    rows = [
        [cell.text if isinstance(cell, Cell) else cell for cell in row]
        for row in axle_table(car, figures, 180.0).rows
    ]
    assert [row[1] for row in rows if row[0] in ("cut the bearing to", "cut the axle to")] == [
        "not known"
    ] * 2


def test_a_car_past_the_end_of_its_blank() -> None:
    told = words_of(pdf("lapwing", "a4"))
    assert squeezed("47 mm from the car's tail (past the end of the blank)") in told
    assert squeezed("BELOW the track") in told


def test_wide_wheels_take_a_smaller_scale(tmp_path: Path) -> None:
    one = of_text(
        tmp_path,
        wren(("height = 8", 'height = 8\nwheel = { stock = "wheel-rear-34", diameter = 120, width = 50 }')),
    )
    assert one.opened.design.rear.wheel.diameter_mm == 120.0
    told = words_of(build_sheet_pdf(one, SIZES["a4"]))
    assert squeezed("Rear axle, exploded view, seen from the tail, scale 1 : 2") in told
    assert squeezed("Front axle, exploded view, seen from the tail, scale 1 : 2") in told
    assert 0.5 in SCALES
    assert_room(one, "a4")
