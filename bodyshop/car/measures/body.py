"""Measures of the bare body."""

from __future__ import annotations

from bodyshop.car.assembly import Car
from bodyshop.car.body import ThinnestPlace
from bodyshop.car.design.model import AxleEnd
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import along, stack_of
from bodyshop.foundation.place import Place, Point3, View
from bodyshop.geometry.outlines import FINE_MM

__all__: list[str] = []


@measure(
    "body.length",
    "body length",
    between=("front of the body", "back of the body"),
    more="make the body longer",
    less="make the body shorter",
    drivers=("dimensions.length", "profile.points", "plan.points"),
)
def length(car: Car) -> Reading | NotKnown:
    """Length of the bare body along the blank, nose to tail."""
    x0, _, z0, x1, _, _ = car.body.bounds
    return along(x0, x1, z0, "along the underside, nose to tail")


@measure(
    "body.height",
    "body height",
    between=("lowest point of the body", "highest point of the body"),
    more="make the body higher",
    less="make the body lower",
    drivers=("profile.points",),
)
def height(car: Car) -> Reading | NotKnown:
    """Height of the bare body, from its lowest to its highest point."""
    _, _, z0, _, _, z1 = car.body.bounds
    x = _where_height(car, z1)
    return Reading(
        z1 - z0, Place(View.SIDE, ((x, 0.0, z0), (x, 0.0, z1)), f"at the highest point, x = {x:.0f} mm")
    )


@measure(
    "body.width",
    "greatest body width",
    between=("left side of the body", "right side of the body"),
    more="make the body wider",
    less="make the body narrower",
    drivers=("plan.points",),
)
def width(car: Car) -> Reading | NotKnown:
    """Greatest width of the bare body anywhere."""
    _, y0, _, _, y1, _ = car.body.bounds
    grid = car.body.sections.grid.r
    x = float(grid.x.ravel()[int((grid.y1 - grid.y0).argmax())])
    return Reading(y1 - y0, Place(View.TOP, ((x, y0, 0.0), (x, y1, 0.0)), f"widest near x = {x:.0f} mm"))


@measure(
    "body.least_width",
    "least body width",
    between=("one side of the body", "the opposite side"),
    more="make the body wider at its waist",
    less="make the body narrower at its waist",
    drivers=("plan.points",),
)
def least_width(car: Car) -> Reading | NotKnown:
    """Least width of the bare body between opposite sides, seen from above: as a calliper finds it across any
    place, a flat or tapered end included, but a rounded end only from where its rounding starts.
    """
    return _neck(car.body.narrowest, View.TOP)


@measure(
    "body.least_thickness",
    "least body thickness",
    between=("a face of the body", "the face opposite"),
    more="leave more wood at the thinnest place",
    less="take wood off at the thinnest place",
    drivers=("profile.points", "plan.points"),
)
def least_thickness(car: Car) -> Reading | NotKnown:
    """Least thickness of wood between opposite faces, seen from the side or from above, windows included: as
    a calliper finds it across any place, a flat or tapered end included, but a rounded end only from where
    its rounding starts.
    """
    side, top = _neck(car.body.thinnest_side, View.SIDE), _neck(car.body.thinnest_top, View.TOP)
    found = [r for r in (side, top) if isinstance(r, Reading)]
    return min(found, key=lambda r: r.value) if found else side


@measure(
    "body.pieces",
    "pieces of wood",
    QuantityKind.COUNT,
    less="join the pieces: the side view and the top view must overlap along the whole car",
    drivers=("profile.points", "plan.points"),
)
def pieces(car: Car) -> Reading | NotKnown:
    """How many separate pieces of wood the two cuts leave."""
    return Reading(float(car.body.pieces), None)


@measure(
    "{end}_axle.body_width",
    "body width at the {end} axle",
    between=("left side at the {end} axle hole", "right side"),
    more="widen the body at the {end} axle",
    less="narrow the body at the {end} axle",
    drivers=("plan.points", "axles.{end}.x"),
)
def width_at_axle(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Width of wood along the middle of the {end} axle hole, rounded edges left out."""
    stack = stack_of(car, end)
    x, z = stack.axle.x_mm, stack.axle.height_mm
    ends: tuple[Point3, Point3] = ((x, stack.faces[0], z), (x, stack.faces[1], z))
    return Reading(stack.body_width_mm, Place(View.TOP, ends, f"at the {end.value} axle, x = {x:.1f} mm"))


@measure(
    "body.volume",
    "volume of wood",
    QuantityKind.VOLUME,
    more="leave more wood",
    less="take wood off",
    drivers=("profile.points", "plan.points"),
)
def volume(car: Car) -> Reading | NotKnown:
    """Volume of wood in the drilled body."""
    return Reading(car.body.volume, None)


@measure(
    "body.wetted_area",
    "wetted area",
    QuantityKind.AREA,
    drivers=("profile.points", "plan.points"),
)
def wetted_area(car: Car) -> Reading | NotKnown:
    """Area of the body's whole outer skin before drilling: what the air rubs on and paint covers."""
    return Reading(car.body.wetted_area, None)


@measure(
    "body.base_area",
    "base area",
    QuantityKind.AREA,
    drivers=("profile.points", "plan.points"),
)
def base_area(car: Car) -> Reading | NotKnown:
    """Area of the flat face at the very tail, mouth of the cartridge hole included."""
    return Reading(car.body.base_area, None)


@measure(
    "body.frontal_area",
    "frontal area of the body",
    QuantityKind.AREA,
    drivers=("profile.points", "plan.points"),
)
def frontal_area(car: Car) -> Reading | NotKnown:
    """Area of the bare body's outline, seen from the front."""
    return Reading(float(car.body.silhouette.area), None)


@measure(
    "car.frontal_area",
    "frontal area on wheels",
    QuantityKind.AREA,
    state=MeasuringState.WHEELS,
    drivers=("profile.points", "plan.points"),
)
def car_frontal_area(car: Car) -> Reading | NotKnown:
    """Area of the shadow of the car with wheels and axles, seen from the nose."""
    return Reading(float(car.silhouette.area), None)


def _neck(neck: ThinnestPlace | None, view: View) -> Reading | NotKnown:
    if neck is None:
        return NotKnown("no two faces of the body stand opposite each other")
    (u0, v0), (u1, v1) = neck.end0, neck.end1
    if view is View.SIDE:
        ends: tuple[Point3, Point3] = ((u0, 0.0, v0), (u1, 0.0, v1))
        where = f"side view, near x = {u0:.0f} mm"
    else:
        ends = ((u0, v0, 0.0), (u1, v1, 0.0))
        where = f"top view, near x = {u0:.0f} mm"
    return Reading(neck.value_mm, Place(view, ends, where))


def _where_height(car: Car, z: float) -> float:
    points = car.body.profile.outer.flattened(FINE_MM)[0]
    inside = points[(points[:, 0] >= car.body.x_nose) & (points[:, 0] <= car.body.x_tail)]
    if not len(inside):
        return 0.5 * (car.body.x_nose + car.body.x_tail)
    return float(inside[int(abs(inside[:, 1] - z).argmin()), 0])
