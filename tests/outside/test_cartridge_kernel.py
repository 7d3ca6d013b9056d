"""Heights of the cartridge's rear over the track against the 3D kernel's least distance between shapes.

The end of the neck is a circle (gp_Circ) laid where the cartridge comes to lie, the track a large face
(gp_Pln) under the wheels, and the height BRepExtrema_DistShapeShape between the two; the highest point is
that from a face laid 200 mm higher, looking down. Neither goes through the program's own sections.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace
from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pln, gp_Pnt

from bodyshop.car.assembly import Car
from bodyshop.car.measures import Reading, catalogue
from tests.car.hand_cases import car_from
from tests.outside.kernel import distance

BAR = 0.01
UP = 200.0


def track_face(car: Car, lift: float):
    """The plane that both wheels stand on, found from their circles alone, `lift` above it."""
    front, rear = car.design.front, car.design.rear
    dx, dz = rear.x_mm - front.x_mm, rear.height_mm - front.height_mm
    r1, r2 = front.wheel.diameter_mm / 2, rear.wheel.diameter_mm / 2
    # Each normal n with n.(c2 - c1) = r2 - r1, n pointing up: solved as a linear equation on the unit circle.
    angles = np.linspace(0.0, math.pi, 2_000_001)
    off = np.abs(np.cos(angles) * dx + np.sin(angles) * dz - (r2 - r1))
    angle = float(angles[int(np.argmin(off))])
    n = (math.cos(angle), math.sin(angle))
    reach = lift - r1
    at = gp_Pnt(front.x_mm + reach * n[0], 0.0, front.height_mm + reach * n[1])
    plane = gp_Pln(at, gp_Dir(n[0], 0.0, n[1]))
    return BRepBuilderAPI_MakeFace(plane, -1e3, 1e3, -1e3, 1e3).Face()


def neck_end(car: Car):
    """The circle at the end of the neck, from the figures of the design file."""
    bore, cartridge = car.design.bore, car.design.cartridge
    c, s = math.cos(bore.tilt_rad), math.sin(bore.tilt_rad)
    behind = cartridge.length_mm - bore.depth_mm
    centre = gp_Pnt(car.body.x_tail + behind * c, bore.offset_mm, bore.height_mm - behind * s)
    axis = gp_Ax2(centre, gp_Dir(c, 0.0, -s))
    return BRepBuilderAPI_MakeEdge(gp_Circ(axis, cartridge.neck_diameter_mm / 2)).Edge()


@pytest.mark.parametrize("angle", [-10, -3, 0, 2, 7, 10])
@pytest.mark.parametrize("front_wheel", [30, 34, 44])
def test_the_rear_of_the_cartridge_over_the_track(angle: float, front_wheel: float) -> None:
    car = car_from(
        f"[bore]\ndiameter = 20\ndepth = 45\nheight = 20\nangle = {angle}\n"
        "[axles.front]\nx = 50\nheight = 8\nhole = 4\naxle = 'axle-3'\n"
        "bearing = 'none'\nwasher = 'washer-3'\n"
        f"wheel = {{ stock = 'wheel-34', diameter = {front_wheel} }}\n"
    )
    values = {}
    for name in ("lowest", "centre", "highest"):
        reading = catalogue()[f"cartridge.rear_{name}"].take(car)
        assert isinstance(reading, Reading)
        values[name] = reading.value
    ring = neck_end(car)
    assert values["lowest"] == pytest.approx(distance(ring, track_face(car, 0.0)), abs=BAR)
    assert values["highest"] == pytest.approx(UP - distance(ring, track_face(car, UP)), abs=BAR)
    assert values["centre"] == pytest.approx((values["lowest"] + values["highest"]) / 2, abs=BAR)
