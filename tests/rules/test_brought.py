"""An event's own hardware: read, inherited, named by designs, and seen in every place that names stock."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from bodyshop.app.cli.main import main
from bodyshop.car.stock.hardware import NOTHING, hardware
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml.rows import Confidence
from bodyshop.rules.checking import RulebookCache, check_car, open_car
from bodyshop.rules.rulebook import read_rulebook
from bodyshop.rules.rulebook.lint import lint_rulebook
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text, write_book

WHEEL = (
    '[[stock]]\nshelf = "wheels"\nid = "lane-wheel"\nlike = "wheel-34"\ndiameter = 31\nmass = 2\n'
    'source = "this year\'s sheet, page 2"\n\n'
)
AXLE = (
    '[[stock]]\nshelf = "axles"\nid = "lane-axle"\ndiameter = 2.5\nstock_length = 300\nmaterial = "steel"\n'
    'mass_spread = 0.01\nsource = "weighed"\n\n'
)
CAR = """
format = 1
name = "Plover"
bench = "Bench 6"
rulebook = "own.toml"
[blank]
stock = "larkfield-block"
wood = "basswood"
[profile]
points = [[0, 0], [260, 0], [260, 42], [0, 42]]
[plan]
points = [[0, 19], [260, 19]]
[bore]
diameter = 19.5
depth = 52
height = 25
[axles.front]
x = 50
height = 7
wheel = "lane-wheel"
[axles.rear]
x = 218
height = 7
wheel = "lane-wheel"
"""


def own_book(folder: Path, more: str = WHEEL, name: str = "own.toml") -> Path:
    head = 'format = 1\nname = "Own"\ninherits = "quarry-lane"\n\n'
    return write_book(folder, head + more, name)


def own_car(folder: Path, text: str = CAR, name: str = "plover.toml") -> Path:
    return write_book(folder, text, name)


# ---------------------------------------------------------------- the tables


def test_what_is_not_said_is_as_in_the_item_it_is_like(tmp_path: Path) -> None:
    wheel = book_of(tmp_path, HEAD + WHEEL + rule_text("max = 305")).kit.brought.wheels["lane-wheel"]
    like = hardware().wheels["wheel-34"]
    assert (wheel.diameter_mm, wheel.mass_g, wheel.source) == (31.0, 2.0, "this year's sheet, page 2")
    assert (wheel.width_mm, wheel.end, wheel.bore_mm) == (like.width_mm, like.end, like.bore_mm)
    assert wheel.confidence is Confidence.READ


def test_an_item_may_be_said_in_full_worked_by_hand(tmp_path: Path) -> None:
    axle = book_of(tmp_path, HEAD + AXLE + rule_text("max = 305")).kit.brought.axles["lane-axle"]
    # A steel rod, 7850 kg/m3, 2.5 mm thick: pi / 4 * 2.5^2 mm2 * 0.00785 g/mm3 = 0.03853 g for a millimetre.
    assert axle.mass_g_per_mm == pytest.approx(math.pi / 4 * 6.25 * 0.00785, rel=1e-12)
    assert axle.mass_g_per_mm == pytest.approx(0.038534, abs=1e-6)


def test_figures_are_in_the_books_own_units_worked_by_hand(tmp_path: Path) -> None:
    text = WHEEL.replace("diameter = 31", 'diameter = "1 1/4"').replace("mass = 2", 'mass = "0.1 oz"')
    wheel = book_of(tmp_path, INCH_HEAD + text + rule_text("max = 12")).kit.brought.wheels["lane-wheel"]
    # 1.25 * 25.4 = 31.75 mm; a tenth of an ounce of 28.349523125 g.
    assert wheel.diameter_mm == pytest.approx(31.75)
    assert wheel.mass_g == pytest.approx(2.8349523125)


def test_the_kit_may_name_it_and_lint_holds_the_rules_against_it(tmp_path: Path) -> None:
    kit = '[kit]\nfront_wheel = "lane-wheel"\n\n'
    rule = rule_text("max = 30", measure="front_wheel.diameter")
    assert book_of(tmp_path, HEAD + kit + WHEEL + rule).kit.front_wheel == "lane-wheel"
    (finding,) = lint_rulebook(write_book(tmp_path, HEAD + kit + WHEEL + rule))
    assert finding.code == "lint-conflict"
    assert "lane-wheel" in finding.message
    fits = HEAD + kit + WHEEL + rule.replace("max = 30", "max = 31")
    assert lint_rulebook(write_book(tmp_path, fits)) == ()


def test_a_misspelt_name_in_the_kit_is_led_to_the_events_own(tmp_path: Path) -> None:
    kit = '[kit]\nfront_wheel = "lane-wheal"\n\n'
    with pytest.raises(ProblemsError) as caught:
        book_of(tmp_path, HEAD + kit + WHEEL + rule_text("max = 305"))
    assert [problem.nearest for problem in caught.value.problems] == ["lane-wheel"]


def test_it_is_inherited_and_may_be_said_anew(tmp_path: Path) -> None:
    own_book(tmp_path, WHEEL + AXLE)
    head = 'format = 1\nname = "Next year"\ninherits = "own.toml"\n\n'
    anew = WHEEL.replace('like = "wheel-34"', 'like = "lane-wheel"').replace("diameter = 31\n", "")
    child = read_rulebook(write_book(tmp_path, head + anew.replace("mass = 2", "mass = 2.5"), "next.toml"))
    wheel = child.kit.brought.wheels["lane-wheel"]
    assert (wheel.diameter_mm, wheel.mass_g) == (31.0, 2.5)
    assert set(child.kit.brought.axles) == {"lane-axle"}


def test_a_book_that_brings_nothing_brings_nothing(tmp_path: Path) -> None:
    assert book_of(tmp_path, HEAD + rule_text("max = 305")).kit.brought is NOTHING


# ---------------------------------------------------------------- designs


def test_a_design_names_what_its_event_brings(tmp_path: Path) -> None:
    own_book(tmp_path)
    checked = check_car(open_car(own_car(tmp_path)))
    assert checked.opened.design.front.wheel.diameter_mm == 31.0
    assert checked.readings["rear_wheel.diameter"].value == 31.0  # type: ignore[union-attr]


def test_no_other_event_knows_it_and_the_nearest_name_counts_it(tmp_path: Path) -> None:
    own_book(tmp_path)
    stranger = own_car(tmp_path, CAR.replace("own.toml", "quarry-lane"))
    with pytest.raises(ProblemsError) as caught:
        open_car(stranger)
    assert {problem.code for problem in caught.value.problems} == {"unknown-stock"}
    slip = own_car(tmp_path, CAR.replace('"lane-wheel"', '"lane-weel"', 1))
    with pytest.raises(ProblemsError) as caught:
        open_car(slip)
    assert [problem.nearest for problem in caught.value.problems] == ["lane-wheel"]


def test_a_book_asked_for_leaves_a_design_the_hardware_of_its_own_event(tmp_path: Path) -> None:
    own_book(tmp_path)
    opened = open_car(own_car(tmp_path), shelf=RulebookCache("quarry-lane"))
    assert opened.rulebook.name == "Quarry Lane Sprint"
    assert opened.design.rear.wheel.id == "lane-wheel"


def test_the_design_code_follows_the_figures_of_the_events_own_hardware(tmp_path: Path) -> None:
    car = own_car(tmp_path)
    codes = {}
    for name, more in {
        "first": WHEEL,
        "again": WHEEL.replace("page 2", "page 3"),
        "lighter": WHEEL.replace("mass = 2", "mass = 1.9"),
        "wider hub": WHEEL.replace("mass = 2", "mass = 2\nhub_length = 10"),
    }.items():
        own_book(tmp_path, more)
        codes[name] = open_car(car).design.fingerprint
    # Another page of the same sheet makes no other car; another figure does.
    assert codes["first"] == codes["again"]
    assert len(set(codes.values())) == 3


def test_the_design_code_of_a_car_from_stock_is_what_it_was(tmp_path: Path) -> None:
    plain = CAR.replace("own.toml", "quarry-lane").replace("lane-wheel", "wheel-34")
    with_own = plain.replace('"quarry-lane"', '"own.toml"')
    own_book(tmp_path)
    codes = {open_car(own_car(tmp_path, text)).design.fingerprint for text in (plain, with_own)}
    assert len(codes) == 1


# ---------------------------------------------------------------- where it is shown


def test_the_stock_list_shows_it_for_its_rulebook_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = own_book(tmp_path)
    assert main(["stock", "wheels", "--rulebook", str(path)]) == 0
    told = capsys.readouterr().out
    assert "lane-wheel" in told
    assert "the event's own" in told
    assert "this year's sheet, page 2" in told
    assert main(["stock", "wheels"]) == 0
    assert "lane-wheel" not in capsys.readouterr().out


def test_the_rulebook_shows_its_figures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = own_book(tmp_path)
    assert main(["rulebook", "show", str(path)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert (
        "Brought by the event lane-wheel: wheel for either end, 34 mm (for either end, diameter 31 mm" in told
    )
    assert "Figures from: this year's sheet, page 2" in told


def test_a_class_buys_it_by_its_label_and_cuts_its_rods(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own_book(tmp_path, WHEEL.replace("source", 'label = "lane wheel, 31 mm"\nsource') + AXLE)
    own_car(tmp_path, CAR.replace('wheel = "lane-wheel"', 'wheel = "lane-wheel"\naxle = "lane-axle"'))
    main(["class", str(tmp_path)])
    told = capsys.readouterr().out
    assert "lane wheel, 31 mm" in told
    assert "own size" not in told
    assert "from rods of 300 mm" in told
