from __future__ import annotations

import json
from pathlib import Path

import pytest
from svgelements import Path as SvgPath

from bodyshop.car.stock.hardware import hardware
from bodyshop.records.classroom import CheckOptions
from bodyshop.records.classroom.check_file import Checker
from bodyshop.records.classroom.discovery import CarState, SkippedRow, SupplyShelf
from bodyshop.rules.checking import check_car, open_car
from tests.app.running import run_here
from tests.records.classes import BROKEN, ROOT, car, entry, mixed, put, rows_of, square, unread

SAMPLES = sorted((ROOT / "samples").glob("*.toml"))


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_a_row_says_what_a_check_of_the_car_alone_says(file: Path) -> None:
    row, book = Checker(CheckOptions(thumbnails=True)).row(entry(file))
    row = car(row)
    checked = check_car(open_car(file))
    judgement = checked.judgement
    assert row.failed == tuple(verdict.rule.clause for verdict in judgement.failed)
    assert row.standing.passes == judgement.passes
    assert row.points_off == judgement.points_off
    assert row.mass_g == checked.opened.car.mass.mass_g
    assert row.loaded_g == checked.opened.car.mass_loaded.mass_g
    assert row.fingerprint == checked.opened.design.fingerprint
    assert book is not None
    assert book.fingerprint == checked.opened.rulebook.fingerprint
    assert len(book.clauses) == len(checked.opened.rulebook.rules)


def test_clauses_are_in_the_order_of_the_check_report(capsys, tmp_path: Path) -> None:
    file = ROOT / "samples" / "lapwing.toml"
    told = json.loads(run_here(capsys, "check", str(file), "--json").out)["designs"][0]
    outcomes = {rule["clause"]: rule["outcome"] for rule in told["rules"]}
    row = car(Checker(CheckOptions()).row(entry(file))[0])
    assert [clause for clause, outcome in outcomes.items() if outcome == "fail"] == list(row.failed)
    assert [clause for clause, outcome in outcomes.items() if outcome == "near"] == list(row.near)


def test_how_a_car_stands(tmp_path: Path) -> None:
    rules = (
        'format = 1\nname = "Yard"\nunits = "mm"\n[kit]\naxle = "axle-3"\nfront_wheel = "wheel-front-32"\n'
        'rear_wheel = "wheel-rear-34"\nscrew_eye = "screw-eye-small"\n[reading]\nresolution = "0.1 mm"\n'
        '[[rule]]\nclause = "1"\nmeasure = "body.length"\nmax = {limit}\nreason = "Room."\n{fails}\n'
    )
    cases = {
        'fails = "disqualify"': CarState.FAILS,
        'fails = "show only"': CarState.SHOW_ONLY,
        'fails = "points once"\npoints = 3': CarState.POINTS_OFF,
    }
    file = put(tmp_path, "wren.toml", square())
    for fails, standing in cases.items():
        book = put(tmp_path, "yard.toml", rules.format(limit=200, fails=fails))
        options = CheckOptions(rulebook=str(book))
        row = car(Checker(options).row(entry(file))[0])
        assert (row.standing, row.failed) == (standing, ("1",))
        assert not row.standing.passes
    book = put(tmp_path, "yard.toml", rules.format(limit=300, fails='fails = "disqualify"'))
    assert car(Checker(CheckOptions(rulebook=str(book))).row(entry(file))[0]).standing is CarState.PASSES


def test_broken_files_have_their_problems(tmp_path: Path) -> None:
    rows = {row.file: row for row in rows_of(mixed(tmp_path))}
    assert {name for name in rows if name.startswith("broken/")} == {f"broken/{name}" for name in BROKEN}
    codes = {name: unread(rows[f"broken/{name}"]).problems[0].code for name in BROKEN}
    assert codes["empty.toml"] == "file-empty"
    assert codes["binary.toml"] == "file-binary"
    assert codes["huge.toml"] == "file-size"
    assert codes["utf16.toml"] == codes["latin.toml"] == "file-encoding"
    several = unread(rows["broken/three-slips.toml"])
    assert several.count > len(several.problems) == 5
    assert all(problem.file.endswith(several.file.rpartition("/")[2]) for problem in several.problems)


def test_a_rulebook_among_the_designs_is_left_out_and_a_broken_design_is_not(tmp_path: Path) -> None:
    put(tmp_path, "next.toml", 'format = 1\nname = "Next year"\ninherits = "quarry-lane"\n')
    put(tmp_path, "odd.toml", 'format = 1\nrule = "this is a design that says something odd"\n[profile]\n')
    put(tmp_path, "other.toml", "[tool]\nname = 1\n")
    rows = {row.file: row for row in rows_of(mixed(tmp_path))}
    assert {name for name, row in rows.items() if isinstance(row, SkippedRow)} == {"rules.toml", "next.toml"}
    assert unread(rows["odd.toml"]).count
    assert unread(rows["other.toml"]).count


def test_a_design_whose_rulebook_is_missing_is_told_at_its_place(tmp_path: Path) -> None:
    put(tmp_path, "wren.toml", square().replace('rulebook = "quarry-lane"', 'rulebook = "quary-lane"'))
    (row,) = rows_of(tmp_path)
    (problem,) = unread(row).problems
    assert (problem.code, problem.nearest) == ("rulebook-missing", "quarry-lane")
    assert problem.span is not None
    assert problem.span.line == 4


def test_the_rulebook_asked_for_goes_before_the_designs_own(tmp_path: Path) -> None:
    put(tmp_path, "wren.toml", square().replace('rulebook = "quarry-lane"', 'rulebook = "nowhere"'))
    options = CheckOptions(rulebook="quarry-lane-inch")
    (row,) = rows_of(tmp_path, options)
    assert car(row).book.startswith("quarry-lane-inch ")


# ---------------------------------------------------------------- needs


def needs(tmp_path: Path, text: str) -> dict[tuple[SupplyShelf, str], int]:
    row = car(Checker(CheckOptions()).row(entry(put(tmp_path, "wren.toml", text)))[0])
    found: dict[tuple[SupplyShelf, str], int] = {}
    for supply, item, count in row.needs.pieces:
        found[supply, item] = found.get((supply, item), 0) + count
    return found


def test_what_one_car_takes(tmp_path: Path) -> None:
    assert needs(tmp_path, square()) == {
        (SupplyShelf.BLANK, "larkfield-block, basswood"): 1,
        (SupplyShelf.FRONT_WHEEL, "wheel-front-32"): 2,
        (SupplyShelf.REAR_WHEEL, "wheel-rear-34"): 2,
        (SupplyShelf.WASHER, "washer-3"): 4,
        (SupplyShelf.EYE, "screw-eye-small"): 2,
        (SupplyShelf.CARTRIDGE, "cartridge-8g"): 1,
    }


def test_cuts_are_the_lengths_that_the_measures_give(tmp_path: Path) -> None:
    file = put(tmp_path, "wren.toml", square())
    row = car(Checker(CheckOptions()).row(entry(file))[0])
    readings = check_car(open_car(file)).readings
    axles = [cut.length_mm for cut in row.needs.cuts if cut.supply is SupplyShelf.AXLE]
    assert axles == [readings[f"{end}_axle.length"].value for end in ("front", "rear")]  # type: ignore[union-attr]
    # A bearing is as long as the body is wide there: twice 18.5 mm.
    bearings = [cut.length_mm for cut in row.needs.cuts if cut.supply is SupplyShelf.BEARING]
    assert bearings == pytest.approx([37.0, 37.0])


def test_own_blocks_own_wheels_and_declared_spares_are_counted(tmp_path: Path) -> None:
    text = square().replace('stock = "larkfield-block"\n', "length = 300\nwidth = 41.5\nheight = 60\n")
    text += "\n[axles.rear.wheel]\ndiameter = 33\n\n[parts]\nclips = 2\nspare_clips = 1\nspare_wheels = 1\n"
    text += "spare_axles = 1\nspare_washers = 3\nspare_eyes = 1\n"
    found = needs(tmp_path, text)
    assert found[SupplyShelf.BLANK, "own block 300 × 41.5 × 60 mm, basswood"] == 1
    width = hardware().wheels["wheel-rear-34"].width_mm
    assert found[SupplyShelf.REAR_WHEEL, f"wheel-rear-34, own size 33 × {width:g} mm"] == 2
    assert found[SupplyShelf.CLIP, "any"] == 3
    assert found[SupplyShelf.SPARE_WHEEL, "front or rear"] == 1
    assert found[SupplyShelf.WASHER, "washer-3"] == 7
    assert found[SupplyShelf.EYE, "screw-eye-small"] == 3
    row = car(Checker(CheckOptions()).row(entry(tmp_path / "wren.toml"))[0])
    axles = [cut.length_mm for cut in row.needs.cuts if cut.supply is SupplyShelf.AXLE]
    assert len(axles) == 3
    assert axles[2] == max(axles)


# ---------------------------------------------------------------- shape


def shape(tmp_path: Path, text: str) -> str:
    return car(Checker(CheckOptions()).row(entry(put(tmp_path, "wren.toml", text)))[0]).shape


def test_the_shape_is_that_of_the_wood_alone(tmp_path: Path) -> None:
    plain = shape(tmp_path, square())
    assert shape(tmp_path, square("Robin", bench="Bench 9", wood="balsa")) == plain
    assert shape(tmp_path, "# a remark\n" + square()) == plain
    assert shape(tmp_path, square(tail=41.99)) != plain
    assert shape(tmp_path, square(bore=19.6)) != plain
    assert shape(tmp_path, square().replace("x = 218", "x = 217.9")) != plain
    assert shape(tmp_path, square() + "\n[edges]\nround = 1\n") != plain


def test_the_shape_does_not_depend_on_the_unit(tmp_path: Path) -> None:
    inches = (
        'format = 1\nname = "A"\nunits = "in"\nrulebook = "quarry-lane"\n[blank]\nwood = "basswood"\n'
        "[profile]\npoints = [[0, 0], [10, 0], [10, 1.75], [7, 1.75], [4, 0.875], [0, 0.375]]\n"
        '[plan]\npoints = [[0, 0.5], [1.5, "3/4"], [10, 0.75]]\n'
        '[bore]\ndiameter = "3/4"\ndepth = 2\nheight = 1\n'
        "[axles.front]\nx = 2\nheight = 0.25\n[axles.rear]\nx = 8.5\nheight = 0.3125\n"
    )
    millimetres = (
        'format = 1\nname = "B"\nrulebook = "quarry-lane"\n[blank]\nwood = "basswood"\n'
        "[profile]\npoints = [[0, 0], [254, 0], [254, 44.45], [177.8, 44.45], [101.6, 22.225], [0, 9.525]]\n"
        "[plan]\npoints = [[0, 12.7], [38.1, 19.05], [254, 19.05]]\n"
        "[bore]\ndiameter = 19.05\ndepth = 50.8\nheight = 25.4\n"
        "[axles.front]\nx = 50.8\nheight = 6.35\n[axles.rear]\nx = 215.9\nheight = 7.9375\n"
    )
    assert shape(tmp_path, inches) == shape(tmp_path, millimetres)


# ---------------------------------------------------------------- the small drawing


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_the_small_drawing_is_as_large_as_the_car(file: Path) -> None:
    row = car(Checker(CheckOptions(thumbnails=True)).row(entry(file))[0])
    small = row.thumbnail
    assert small is not None
    body = open_car(file).car.body
    # Read back by an SVG reader: half millimetres, each point at most a quarter of a millimetre out.
    for data, (low, high) in (
        (small.side, (body.profile.bounds[1], body.profile.bounds[3])),
        (small.top, (body.plan.bounds[1], body.plan.bounds[3])),
    ):
        left, upper, right, lower = SvgPath(data).bbox()
        assert (right - left) / 2 == pytest.approx(body.x_tail - body.x_nose, abs=0.8)
        assert (lower - upper) / 2 == pytest.approx(high - low, abs=0.8)
        x, y, width, height = small.box
        assert x <= left
        assert right <= x + width
        assert y <= upper
        assert lower <= y + height
    assert SvgPath(small.side).bbox()[3] < SvgPath(small.top).bbox()[1]
    assert data.count("M") == len(body.plan.rings)
    assert len(small.side) + len(small.top) + len(small.treads) < 1500


def test_no_drawing_is_made_that_nobody_asked_for() -> None:
    assert car(Checker(CheckOptions()).row(entry(SAMPLES[0]))[0]).thumbnail is None
