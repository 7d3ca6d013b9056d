"""Outlines traced on a sheet, against the outline's own points."""

from __future__ import annotations

import numpy as np
import pytest

from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import trace
from bodyshop.geometry.outlines.curves import Arc, Cubic, Line, arc_through, arc_with_radius
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo


def test_every_kind_of_curve_keeps_its_kind() -> None:
    arc = arc_through((60, 0), (75, 15), (60, 30))
    assert arc is not None
    ring = (Line((0, 0), (60, 0)), arc, Cubic((60, 30), (40, 50), (20, 10), (0, 30)), Line((0, 30), (0, 0)))
    path = trace([ring, (Line((5, 5), (6, 5)), Line((6, 5), (6, 6)), Line((6, 6), (5, 5)))], Layer.CUT)
    kinds = [type(segment) for segment in path.segments]
    assert kinds == [MoveTo, LineTo, ArcTo, CubicTo, LineTo, MoveTo, LineTo, LineTo, LineTo]
    assert path.pen is Pen.CUT
    assert path.closed
    drawn = path.segments[2]
    assert isinstance(drawn, ArcTo)
    for t in (0.0, 0.3, 1.0):
        expected = arc.at(np.array([t]))[0]
        assert drawn.at(drawn.start_rad + t * drawn.sweep_rad) == pytest.approx(tuple(expected), abs=1e-9)


def test_an_arc_of_enormous_radius_is_drawn_straight() -> None:
    # Sagitta L² / 8 R: 300 mm on a radius of 1e11 mm is flat to 1e-7 mm.
    arc = arc_with_radius((0, 0), (300, 40), 1e11, left=True)
    assert isinstance(arc, Arc)
    path = trace([[arc]], Layer.CUT, closed=False)
    assert path.segments[-1].end == pytest.approx((300, 40), abs=1e-6)
