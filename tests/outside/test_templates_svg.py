"""Templates as SVG, read back with svgelements and the standard library's XML parser."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import shapely
import svgelements

from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.output.papers.templates import template_set
from tests.output.template_cars import (
    PASSING,
    PLAN,
    PROFILE,
    car_of,
    sample,
    sample_set,
    samples,
    straight_text,
)
from tests.output.template_files import svg_of

# Source: CSS Values: 96 px to the inch, so the reader's pixels are 25.4 / 96 mm.
PX = 25.4 / 96
Array = np.ndarray


def in_group(text: str, name: str) -> list[list[Array]]:
    """Each shape of a layer as stretches of points, mm, y up from the foot of the sheet."""
    image = svgelements.SVG.parse(io.StringIO(text), reify=True, ppi=96)
    found = []
    for group in image.elements():
        if isinstance(group, svgelements.Group) and group.values["attributes"].get("class") == name:
            for shape in group:
                if isinstance(shape, svgelements.Shape):
                    path = svgelements.Path(shape)
                    found.append([_points(part, image.height) for part in path.as_subpaths()])
    return found


def _points(part: svgelements.Path, height: float) -> Array:
    points: list[tuple[float, float]] = []
    for segment in part:
        if isinstance(segment, svgelements.Move):
            continue
        steps = 1 if isinstance(segment, svgelements.Line | svgelements.Close) else 64
        shares = np.linspace(0, 1, steps + 1)
        ends = [segment.point(float(share)) for share in (shares if not points else shares[1:])]
        points += [(p.x * PX, (height - p.y) * PX) for p in ends]
    return np.array(points)


def apart(read: list[Array], origin: Array, rings: list[shapely.Geometry]) -> float:
    """The Hausdorff distance of stretches, from an origin, to rings."""
    drawn = shapely.MultiLineString([stretch - origin for stretch in read])
    true = shapely.MultiLineString([shapely.get_coordinates(ring) for ring in rings])
    return float(
        max(
            shapely.distance(
                shapely.points(shapely.get_coordinates(shapely.segmentize(one, 0.5))), other
            ).max()
            for one, other in ((drawn, true), (true, drawn))
        )
    )


def corners(text: str, width: float, height: float) -> list[Array]:
    """The lower left corners of blanks of that size."""
    found = [np.concatenate(shape) for shape in in_group(text, "blank")]
    return [p.min(axis=0) for p in found if np.allclose(np.ptp(p, axis=0), (width, height), atol=0.01)]


def corner(text: str, width: float, height: float) -> Array:
    """The lower left corner of the one blank of that size."""
    (low,) = corners(text, width, height)
    return low


def test_a_straight_car_lies_where_its_numbers_say() -> None:
    """Expected values are the numbers of the text itself."""
    first = svg_of(template_set(car_of(straight_text()), PASSING, sheet_sizes()["a3"]))["templates-1.svg"]
    side = corner(first, 305, 70)
    top = corner(first, 305, 42) + np.array((0, 21))
    profile, plan = in_group(first, "cut")
    assert apart(profile, side, [shapely.LinearRing(PROFILE)]) < 0.01
    mirrored = [*PLAN, *((x, -y) for x, y in reversed(PLAN))]
    assert apart(plan, top, [shapely.LinearRing(mirrored)]) < 0.01
    centres = []
    for shape in in_group(first, "hole"):
        points = np.concatenate(shape)
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        if np.allclose(np.ptp(points, axis=0), 4.0, atol=0.02):
            centres.append(tuple(middle - side))
    assert np.array(sorted(centres)) == pytest.approx(np.array([(52.25, 7.5), (215, 8)]), abs=0.01)


@pytest.mark.parametrize("name", samples())
def test_cut_lines_of_samples(name: str) -> None:
    car, _ = sample(name)
    design, blank = car.design, car.design.blank
    sheets = list(svg_of(sample_set(name, "a3")).values())
    plan = design.plan.polygon(0.001)
    half = blank.width_mm / 2
    views = [(blank.length_mm, blank.height_tail_mm, 0.0, design.profile.polygon(0.001))]
    if blank.is_wedge:
        sloping = float(np.hypot(blank.length_mm, blank.height_tail_mm - blank.height_nose_mm))
        share = sloping / blank.length_mm
        views.append((sloping, 2 * half, half, shapely.transform(plan, lambda p: p * (share, 1))))
        views.append((blank.length_mm, 2 * half, half, shapely.transform(plan, lambda p: p * (1, -1))))
    else:
        views.append((blank.length_mm, 2 * half, half, plan))
    for length, height, up, outline in views:
        ((text, low),) = [(text, low) for text in sheets for low in corners(text, length, height)]
        edges = list(shapely.get_parts(outline.boundary))
        origin = low + np.array((0, up))
        assert min(apart(cut, origin, edges) for cut in in_group(text, "cut")) < 0.01


@pytest.mark.parametrize("paper", ["a4", "letter", "legal"])
def test_sheets_are_as_large_as_the_paper(paper: str) -> None:
    # Source: ISO 216; ANSI/ASME Y14.1 size A; legal 8.5 x 14 in.
    sides = {"a4": (210, 297), "letter": (215.9, 279.4), "legal": (215.9, 355.6)}[paper]
    files = svg_of(sample_set("kestrel", paper))
    assert len(files) == (3 if paper == "legal" else 4)
    for text in files.values():
        root = ET.fromstring(text)  # noqa: S314 - we wrote it ourselves
        width, height = (float(root.attrib[key].removesuffix("mm")) for key in ("width", "height"))
        assert sorted((width, height)) == pytest.approx(sides, abs=1e-6)
        assert root.attrib["viewBox"] == f"0 0 {width:g} {height:g}"


@pytest.mark.parametrize("name", ["dipper", "kestrel"])
def test_check_bars_are_as_long_as_they_say(name: str) -> None:
    length = 4 * 25.4 if name == "dipper" else 100.0
    for text in svg_of(sample_set(name, "letter")).values():
        lines = [np.concatenate(shape) for shape in in_group(text, "check-bar")]
        bars = [p for p in lines if len(p) == 2 and np.hypot(*(p[1] - p[0])) > 50]
        ways = sorted(tuple(np.round(np.abs(p[1] - p[0]), 3)) for p in bars)
        assert np.array(ways) == pytest.approx(np.array([(0, length), (length, 0)]), abs=0.01)


def test_words_are_words() -> None:
    car, stamp = sample("lapwing")
    for text in svg_of(sample_set("lapwing", "a4")).values():
        root = ET.fromstring(text)  # noqa: S314 - we wrote it ourselves
        words = [element.text for element in root.iter() if element.tag.endswith("}text")]
        assert f"{stamp.word} – DO NOT CUT: fix the design first" in words
        assert car.design.fingerprint in words
