"""Cars for the tests of templates: every sample, and a straight-sided one whose points stand here."""

from __future__ import annotations

from functools import cache

from bodyshop.car.assembly import Car
from bodyshop.car.design import peek_rulebook, read_design
from bodyshop.car.measures import take_all
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import parse_source, read_source
from bodyshop.output.papers.templates import TemplateSet, template_set
from bodyshop.output.words.papers import PrintedVerdict, VerdictStamp, stamp_of
from bodyshop.rules.rulebook import find_rulebook, judge, read_rulebook
from tests.car.kits import TEST_KIT

__all__ = [
    "FAILING",
    "PASSING",
    "PLAN",
    "PROFILE",
    "car_of",
    "sample",
    "sample_set",
    "samples",
    "straight_text",
]

# All figures invented.
PROFILE = ((0.0, 2.0), (10.0, 0.0), (262.5, 0.0), (262.5, 42.0), (190.0, 42.0), (120.0, 22.0), (0.0, 10.0))
PLAN = ((0.0, 12.0), (40.0, 18.5), (262.5, 17.25))
FAILING = VerdictStamp(
    "FAILS 3 rules", PrintedVerdict.FAILS, "Quarry Lane Sprint", 3, ("B1  one", "B2  two", "B3  three")
)
PASSING = VerdictStamp("PASSES", PrintedVerdict.PASSES, "Quarry Lane Sprint")


def straight_text(
    *,
    blank: str = "larkfield-block",
    plan: str = "",
    head: str = "",
    name: str = "Wren",
) -> str:
    """A straight-sided design with the outlines above; `plan` replaces the plan's table."""
    points = ", ".join(f"[{x}, {z}]" for x, z in PROFILE)
    half = ", ".join(f"[{x}, {y}]" for x, y in PLAN)
    return f"""
format = 1
name = "{name}"
bench = "Bench 2"
{head}
[blank]
stock = "{blank}"
wood = "basswood"
[profile]
points = [{points}]
[plan]
{plan or f"points = [{half}]"}
[bore]
diameter = "19.5 mm"
depth = "52 mm"
height = "25 mm"
[axles.front]
x = "52.25 mm"
height = "7.5 mm"
[axles.rear]
x = "215 mm"
height = "8 mm"
[[screw_eye]]
axle = "front"
behind = "9 mm"
[[screw_eye]]
axle = "rear"
ahead = "9 mm"
"""


def car_of(text: str) -> Car:
    """The car of a design's text, with the kit of the low floors' tests."""
    return Car(read_design(parse_source(text, "wren.toml"), TEST_KIT))


def samples() -> list[str]:
    """Names of the sample designs."""
    names = sorted(file.stem for file in samples_folder().glob("*.toml"))
    assert len(names) >= 6
    return names


@cache
def sample(name: str) -> tuple[Car, VerdictStamp]:
    """A sample's car, and the stamp of its own rulebook's verdict."""
    source = read_source(samples_folder() / f"{name}.toml")
    book = read_rulebook(find_rulebook(peek_rulebook(source)))
    car = Car(read_design(source, book.kit))
    return car, stamp_of(judge(book, take_all(car)))


@cache
def sample_set(name: str, paper: str) -> TemplateSet:
    """A sample's templates on a paper, drawn once for all tests."""
    car, stamp = sample(name)
    return template_set(car, stamp, sheet_sizes()[paper])
