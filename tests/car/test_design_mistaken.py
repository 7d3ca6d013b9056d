"""Slips of a whole file, and names that people use for ours: one plain fault at the right place."""

from __future__ import annotations

import pytest

from bodyshop.car.body import Body
from bodyshop.car.body.faults import body_faults
from bodyshop.car.design import Design, read_design
from bodyshop.foundation.files.shipped import rules_folder, samples_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.rulebook import read_rulebook
from tests.car.kits import TEST_KIT


def wren(*changes: tuple[str, str]) -> str:
    text = (samples_folder() / "wren.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def read(text: str) -> Design:
    return read_design(parse_source(text, "wren.toml"), TEST_KIT)


def problems(text: str) -> list[Problem]:
    with pytest.raises(ProblemsError) as fault:
        read(text)
    return list(fault.value.problems)


def at(problem: Problem, text: str) -> str:
    """The line that a problem points at."""
    assert problem.span is not None
    return text.splitlines()[problem.span.line - 1].strip()


# ---------------------------------------------------------------- the weighed blank


def weighed(grams: str) -> str:
    return wren(('wood = "basswood"', f'wood = "basswood"\nweighed = "{grams}"'))


@pytest.mark.parametrize("grams", ["3 kg", "36 g", "2.9 oz", "550 g"])
def test_a_blank_that_cannot_weigh_that_is_warned_of(grams: str) -> None:
    text = weighed(grams)
    (warning,) = read(text).warnings
    assert warning.code == "weighed-density"
    assert at(warning, text) == f'weighed = "{grams}"'
    # By hand: 305 x 42 x 70 mm are 896.7 cm3; basswood has 0.37 x 1.12 x 1000 = 414.4 kg/m3, give or take 3
    # standard deviations of 10 % (Wood Handbook, tables 5-3 and 5-6): 290 to 539 kg/m3, 260 to 483 g.
    assert warning.expected == "260 g to 483 g for basswood, which has 290 to 539 kg/m3"


def test_three_kilograms_are_told_as_a_density() -> None:
    (warning,) = read(weighed("3 kg")).warnings
    assert "3,346 kg/m3" in warning.message  # 3000 g / 896.7 cm3


@pytest.mark.parametrize("grams", ["262 g", "360 g", "480 g", "13 oz"])
def test_a_blank_that_may_weigh_that_is_let_be(grams: str) -> None:
    assert read(weighed(grams)).warnings == ()


# ---------------------------------------------------------------- names


def test_a_misspelt_table_is_not_called_missing_too() -> None:
    text = wren(("[bore]", "[boor]"))
    (problem,) = problems(text)
    assert (problem.code, problem.found, problem.nearest) == ("unknown-key", "boor", "bore")
    assert at(problem, text) == "[boor]"


def test_a_misspelt_key_is_not_called_missing_too() -> None:
    (problem,) = problems(wren(("depth = 52", "depht = 52")))
    assert (problem.code, problem.nearest) == ("unknown-key", "depth")
    (problem,) = problems(wren(("[axles.front]", "[axles.frnt]")))
    assert (problem.code, problem.nearest) == ("unknown-key", "front")


def test_what_is_missing_is_still_told() -> None:
    (problem,) = problems(wren(("depth = 52\n", "")))
    assert problem.code == "missing-key"


def test_words_that_people_use_for_our_keys() -> None:
    (problem,) = problems(wren(('wood = "basswood"', 'wood = "basswood"\nweight = 360')))
    assert problem.nearest == "weighed"
    window = "[[profile.window]]\ncenter = [100, 12]\nradius = 4\n\n[plan]"
    assert [p.nearest for p in problems(wren(("[plan]", window)))] == ["circle", "diameter"]
    wheel = 'height = 7\nwheel = { stock = "wheel-front-32", weight = 2 }'
    assert [p.nearest for p in problems(wren(("height = 7", wheel)))] == ["mass"]


def test_a_list_of_tables_written_as_one_table() -> None:
    with pytest.raises(ProblemsError) as fault:
        parse_source(wren(("[[screw_eye]]", "[screw_eye]")), "wren.toml")
    (problem,) = fault.value.problems
    assert problem.code == "toml-repeated"
    assert problem.expected.startswith("[[screw_eye]]")
    with pytest.raises(ProblemsError) as fault:
        parse_source(wren(("[bore]", "[bore]\nangle = 0\n[bore]")), "wren.toml")
    assert fault.value.problems[0].expected == ""


# ---------------------------------------------------------------- units, and whole files


@pytest.mark.parametrize(("unit", "word"), [("in", "inches"), ("cm", "centimetres")])
def test_millimetres_under_another_unit_are_one_problem(unit: str, word: str) -> None:
    text = wren(('bench = "Bench 2"', f'bench = "Bench 2"\nunits = "{unit}"'))
    (problem,) = problems(text)
    assert problem.code == "units-mm"
    assert word in problem.message
    assert problem.expected == 'units = "mm"'
    assert at(problem, text) == f'units = "{unit}"'


def test_one_slip_of_a_figure_is_told_as_that() -> None:
    text = (samples_folder() / "dipper.toml").read_text(encoding="utf-8")
    assert 'units = "in"' in text
    found = problems(text.replace("[bore]", "[bore]\noffset = 290"))
    assert [p.code for p in found] == ["length-reach"]


def test_a_rulebook_is_no_design_and_a_design_no_rulebook(tmp_path) -> None:
    for book in sorted(rules_folder().glob("*.toml")):
        (problem,) = problems(book.read_text(encoding="utf-8"))
        assert problem.code == "not-a-design"
    with pytest.raises(ProblemsError) as fault:
        read_rulebook(samples_folder() / "kestrel.toml")
    (problem,) = fault.value.problems
    assert problem.code == "not-a-rulebook"


# ---------------------------------------------------------------- windows


@pytest.mark.parametrize("view", ["profile", "plan"])
def test_a_window_over_the_bore_is_pointed_at(view: str) -> None:
    far = {"profile": "circle = [100, 9]\ndiameter = 4", "plan": "circle = [100, 12]\ndiameter = 4"}[view]
    near = {"profile": "circle = [240, 25]\ndiameter = 5", "plan": "circle = [240, 8]\ndiameter = 5"}[view]
    text = wren(("[bore]", f"[[{view}.window]]\n{far}\n[[{view}.window]]\n{near}\n\n[bore]"))
    (problem,) = body_faults(Body(read(text)))
    assert problem.code == "bore-in-window"
    assert at(problem, text) == f"[[{view}.window]]"
    assert problem.span is not None
    assert text.splitlines()[problem.span.line] == near.splitlines()[0]


def test_a_bore_without_a_window_is_told_as_before() -> None:
    (problem,) = body_faults(Body(read(wren(("height = 25", "height = 36")))))
    assert problem.code == "bore-breaks-out"


# ---------------------------------------------------------------- files about something else


@pytest.mark.parametrize(
    "text",
    [
        'format = 1\nname = "R"\n[[rule]]\nclause = "A"\n',
        'format = 1\nname = "R"\n[kit]\nwood = "basswood"\n[[rules]]\nclause = "A"\n',
        'format = 1\nname = "R"\nevent = "x"\n[reading]\nresolution = "0.1 mm"\n',
        'name = "R"\ninherits = "quarry-lane"\n',
    ],
)
def test_a_rulebook_where_a_design_belongs_is_one_problem(text: str) -> None:
    (problem,) = problems(text)
    assert (problem.code, problem.message) == ("not-a-design", "this file is a rulebook, not a design")


def test_a_file_about_something_else_is_one_problem() -> None:
    (problem,) = problems('[project]\ntitle = "x"\n[tool.x]\ny = 1\n')
    assert problem.code == "not-a-design"


def test_only_what_has_nothing_of_a_design_is_refused_as_a_whole() -> None:
    # A design with a rulebook's key in it, or hardly begun, is told what is wrong with it.
    assert {p.code for p in problems(wren() + "\n[kit]\nwood = 'basswood'\n")} == {"unknown-key"}
    assert {p.code for p in problems('format = 1\nname = "Wren"\n')} == {"missing-key"}
