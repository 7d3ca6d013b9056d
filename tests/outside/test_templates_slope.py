"""The plan on a sloping top and the card gauges against the 3D kernel, and the slope by trigonometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepAlgoAPI import BRepAlgoAPI_Section
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from bodyshop.car.assembly import Car
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.replay import InkedPath, arc_as_cubics, replay
from bodyshop.geometry.paths import ArcTo, CubicTo, Segment
from bodyshop.output.papers.templates.faces import BlankFace, face_map
from bodyshop.output.papers.templates.gauges import gauge_panels, halves, hollow
from bodyshop.output.papers.templates.plan import plan_panel
from bodyshop.output.papers.templates.view import Panel, TemplateSettings
from bodyshop.solids import body_solid
from tests.output.template_cars import car_of, sample, straight_text
from tests.outside.kernel import plan_prism

Array = np.ndarray
Place = tuple[float, float, float]


def cut_in(
    shape: TopoDS_Shape, through: tuple[float, float, float], normal: tuple[float, float, float]
) -> Array:
    """Points on the curves in which a plane cuts a shape, by the kernel."""
    section = BRepAlgoAPI_Section(shape, gp_Pln(gp_Pnt(*through), gp_Dir(*normal)))
    section.Build()
    assert section.IsDone()
    points = []
    edges = TopExp_Explorer(section.Shape(), TopAbs_EDGE)
    while edges.More():
        curve = BRepAdaptor_Curve(TopoDS.Edge_s(edges.Current()))
        first, last = curve.FirstParameter(), curve.LastParameter()
        for k in range(41):
            p = curve.Value(first + (last - first) * k / 40)
            points.append((p.X(), p.Y(), p.Z()))
        edges.Next()
    assert points
    return np.array(points)


def flattened(segments: tuple[Segment, ...]) -> list[tuple[float, float]]:
    """A path as points close together."""
    points = [segments[0].end]
    for segment in segments[1:]:
        pieces = arc_as_cubics(segment) if isinstance(segment, ArcTo) else (segment,)
        for piece in pieces:
            start, end = np.array(points[-1]), np.array(piece.end)
            share = np.linspace(0, 1, 41)[1:, None]
            if isinstance(piece, CubicTo):
                one, two = np.array(piece.control_1), np.array(piece.control_2)
                rest = 1 - share
                ends = rest**3 * start + share**3 * end
                along = ends + 3 * rest**2 * share * one + 3 * rest * share**2 * two
            else:
                along = start + share * (end - start)
            points += [(float(x), float(y)) for x, y in along]
    return points


def cut_line(panel: Panel) -> list[tuple[float, float]]:
    (ink,) = [
        d for d in replay(Sheet(0, 0, panel.items)) if isinstance(d, InkedPath) and d.layer is Layer.CUT
    ]
    return flattened(ink.segments)


def slope_paper(car: Car) -> list[tuple[float, float]]:
    setting = TemplateSettings(Figures(car.design.unit), "Plover", "ABCD-EFGH")
    return cut_line(plan_panel(car, setting, BlankFace.SLOPE))


@pytest.mark.parametrize("name", ["plover", "wedge"])
def test_the_paper_is_what_the_sloping_plane_cuts_out_of_the_upright_prism(name: str) -> None:
    """The kernel cuts the prism of the plan with the plane of the top, and measures along that plane."""
    car = sample("plover")[0] if name == "plover" else car_of(straight_text(blank="quarry-lane-wedge"))
    blank = car.design.blank
    run, rise = blank.length_mm, blank.height_tail_mm - blank.height_nose_mm
    size = math.hypot(run, rise)
    along = np.array((run / size, 0.0, rise / size))
    origin = np.array((0.0, 0.0, blank.height_nose_mm))
    prism = plan_prism(car.design.plan, -10.0, 200.0)
    cut = cut_in(prism, (0.0, 0.0, blank.height_nose_mm), (-rise / size, 0.0, run / size))
    on_slope = np.stack(((cut - origin) @ along, cut[:, 1]), axis=1)
    paper = slope_paper(car)
    ring = shapely.LinearRing(paper)
    assert shapely.distance(shapely.points(on_slope), ring).max() < 0.002
    # And every place of the paper is on the cut: the hull of the kernel's points leaves none out.
    spread = shapely.MultiPoint(on_slope)
    assert shapely.distance(shapely.points(np.array(paper)), spread).max() < 15.0
    assert np.ptp(on_slope[:, 0]) == pytest.approx(np.ptp(np.array(paper)[:, 0]), abs=0.002)


def test_an_upright_saw_through_the_paper_leaves_the_true_plan() -> None:
    """Each point of the paper is laid on the slope and let fall: what is left is the plan itself."""
    car = sample("plover")[0]
    blank = car.design.blank
    slope = blank.top_slope_rad
    paper = np.array(slope_paper(car))
    fallen = paper * (math.cos(slope), 1.0)
    true = car.design.plan.polygon(0.0005).exterior
    assert shapely.distance(shapely.points(fallen), true).max() < 0.001
    # Worked by hand: it rises from 40 to 70 mm over 305: atan(30 / 305) = 5.6175 deg, 1 / cos = 1.004826.
    assert face_map(BlankFace.SLOPE, blank).a == pytest.approx(1.004826, abs=1e-6)
    assert face_map(BlankFace.SLOPE, blank).a == pytest.approx(1 / math.cos(slope), rel=1e-12)
    # Unstretched it would be off by as much as the wedge is long.
    naive = shapely.distance(shapely.points(paper), true).max()
    assert naive > 0.5


def test_gauges_fit_the_solid() -> None:
    """The kernel cuts the solid, its edges rounded, across at stations without a hole."""
    car = sample("plover")[0]
    shape = body_solid(car.body).wrapped
    for station in (60.0, 120.0, 200.0):
        (half,) = halves(car, station)
        assert half.both
        cut = cut_in(shape, (station, 0.0, 0.0), (1.0, 0.0, 0.0))[:, 1:]
        edge = shapely.LineString(flattened(hollow(half)))
        right = cut[cut[:, 0] > 0.05]
        assert shapely.distance(shapely.points(right), edge).max() < 0.02
        left = cut[cut[:, 0] < -0.05] * (-1.0, 1.0)
        assert shapely.distance(shapely.points(left), edge).max() < 0.02
        there = shapely.points(np.array(flattened(hollow(half))))
        assert shapely.distance(there, shapely.MultiPoint(cut)).max() < 2.0
        # The card is drawn with that edge.
        (panel,) = gauge_panels(car, [station], Figures(car.design.unit))
        assert shapely.hausdorff_distance(shapely.LineString(cut_line(panel)), edge) < 1e-9
