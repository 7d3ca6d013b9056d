"""Measures of the bore and of the wood round it."""

from __future__ import annotations

from collections.abc import Iterable

from bodyshop.car.assembly import Car
from bodyshop.car.body import BoreHole, Wall, WallSide
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import bore_of, track_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []

NO_BORE = NotKnown("the bore does not meet the body")
NOT_ENCLOSED = NotKnown("the bore runs out of the wood")


@measure(
    "bore.diameter",
    "bore diameter",
    between=("one side of the bore", "the other"),
    more="drill the bore wider",
    less="drill the bore narrower",
    drivers=("bore.diameter",),
)
def diameter(car: Car) -> Reading | NotKnown:
    """Diameter of the cartridge hole."""
    bore = car.body.bore
    value = car.design.bore.diameter_mm
    if bore is None:
        return Reading(value, None)
    low, high = bore.z - bore.radius, bore.z + bore.radius
    return Reading(value, Place(View.SIDE, ((bore.x, bore.y, low), (bore.x, bore.y, high)), "at the mouth"))


@measure(
    "bore.depth",
    "bore depth",
    between=("mouth of the bore", "blind end"),
    more="drill the bore deeper",
    less="drill the bore less deep",
    drivers=("bore.depth",),
)
def depth(car: Car) -> Reading | NotKnown:
    """Depth of the cartridge hole along its axis, from the middle of its mouth to its flat blind end."""
    bore = car.body.bore
    value = car.design.bore.depth_mm
    if bore is None:
        return Reading(value, None)
    x, z = bore.point(bore.depth)
    ends = ((bore.x, bore.y, bore.z), (x, bore.y, z))
    return Reading(value, Place(View.SIDE, ends, "along the axis of the bore"))


@measure(
    "bore.angle",
    "angle of the bore to the track",
    QuantityKind.ANGLE,
    state=MeasuringState.WHEELS,
    between=("axis of the bore", "track"),
    more="raise the blind end of the bore",
    less="lower the blind end of the bore",
    drivers=("bore.angle", "axles.front.height", "axles.rear.height"),
)
def angle(car: Car) -> Reading | NotKnown:
    """Angle between the bore and the track with the car on its wheels; positive with the blind end up."""
    track = track_of(car)
    at_point = _mouth(car.body.bore)
    return Reading(car.design.bore.tilt_rad + track.tilt_rad, at_point)


@measure(
    "bore.offset",
    "bore off the centre line",
    between=("axis of the bore", "centre line"),
    more="move the bore off the centre line",
    less="move the bore on to the centre line",
    drivers=("bore.offset",),
)
def offset(car: Car) -> Reading | NotKnown:
    """How far the middle of the bore's mouth lies to one side of the centre line."""
    return Reading(abs(car.design.bore.offset_mm), _mouth(car.body.bore))


@measure(
    "bore.height_over_body",
    "bore centre over the body's underside",
    between=("underside of the body at the tail", "centre of the bore's mouth"),
    more="raise the bore",
    less="lower the bore",
    drivers=("bore.height",),
)
def height_over_body(car: Car) -> Reading | NotKnown:
    """Height of the centre of the bore's mouth over the underside of the body there; where the tail leans or
    bulges out over the underside, over its low end.
    """
    bore, foot = bore_of(car), car.body.mouth_foot
    if foot is None:
        return NO_BORE
    ends = ((foot[0], bore.y, foot[1]), (bore.x, bore.y, bore.z))
    return Reading(bore.z - foot[1], Place(View.SIDE, ends, "at the tail"))


@measure(
    "bore.height_over_track",
    "bore centre over the track",
    state=MeasuringState.WHEELS,
    between=("track", "centre of the bore's mouth"),
    more="raise the bore",
    less="lower the bore",
    drivers=("bore.height", "axles.rear.height"),
)
def height_over_track(car: Car) -> Reading | NotKnown:
    """Height of the centre of the bore's mouth over the track with the car on its wheels."""
    bore, track = bore_of(car), track_of(car)
    x, z = track.foot(bore.x, bore.z)
    ends = ((x, bore.y, z), (bore.x, bore.y, bore.z))
    return Reading(track.height(bore.x, bore.z), Place(View.SIDE, ends, "at the tail, down to the track"))


@measure(
    "bore.lowest_over_track",
    "lowest point of the bore over the track",
    state=MeasuringState.WHEELS,
    between=("track", "lowest point of the bore"),
    more="raise the bore",
    less="lower the bore",
    drivers=("bore.height", "axles.rear.height"),
)
def lowest_over_track(car: Car) -> Reading | NotKnown:
    """Height over the track of the lowest point of the cartridge hole, the edge of its mouth in the tail
    included.
    """
    rim = car.body.rim
    if rim is None:
        return NO_BORE
    track = track_of(car)
    x, y, z = min(rim.ends(), key=lambda p: track.height(p[0], p[2]))
    fx, fz = track.foot(x, z)
    place = Place(View.SIDE, ((fx, y, fz), (x, y, z)), "under the bore, down to the track")
    return Reading(track.height(x, z), place)


@measure(
    "bore.wall",
    "wall round the bore",
    between=("bore", "nearest outside surface, window or hole"),
    more="leave more wood round the bore",
    less="leave less wood round the bore",
    drivers=("bore.height", "profile.points", "plan.points"),
    along_bore=True,
)
def wall(car: Car) -> Reading | NotKnown:
    """Least wood between the bore and any outside surface, window, axle hole or screw-eye hole, in three
    dimensions, its mouth left out.
    """
    if not car.body.walls:
        return NOT_ENCLOSED if car.body.bore else NO_BORE
    everything = [(name.value, w) for name, w in car.body.walls.items()]
    everything += _axle_walls(car) + _eye_walls(car)
    return _least(everything)


_SIDES: tuple[tuple[str, tuple[WallSide, ...], str, str, str], ...] = (
    (
        "top",
        (WallSide.TOP,),
        "over",
        "raise the top of the body over the bore, or lower the bore",
        "bore.height",
    ),
    ("bottom", (WallSide.BOTTOM,), "under", "raise the bore", "bore.height"),
    ("sides", (WallSide.LEFT, WallSide.RIGHT), "beside", "widen the body beside the bore", "plan.points"),
    (
        "corners",
        (WallSide.CORNER,),
        "at the long edges beside",
        "round the long edges less near the bore",
        "edges.round",
    ),
    (
        "blind_end",
        (WallSide.BLIND_END,),
        "ahead of the blind end of",
        "leave more wood ahead of the bore",
        "bore.depth",
    ),
    (
        "window",
        (WallSide.WINDOW,),
        "between a window and",
        "move the window away from the bore",
        "bore.height",
    ),
)


_LEFT_OUT = "; a face past the blind end that looks more to the nose counts as ahead of it instead"
_BORDER = {
    "blind_end": ": straight ahead in the line of the bore, and to every face past the blind end that looks "
    "more to the nose than up, down or sideways (45 degrees is the border)",
    "window": "",
}


def _declare_sides() -> None:
    for name, sides, where, remedy, driver in _SIDES:

        def take(car: Car, sides: tuple[WallSide, ...] = sides, where: str = where) -> Reading | NotKnown:
            walls = car.body.walls
            if not walls:
                return NOT_ENCLOSED if car.body.bore else NO_BORE
            found = [(s.value, walls[s]) for s in sides if s in walls]
            return _least(found) if found else NotKnown(f"there is nothing {where} the bore", absent=True)

        take.__doc__ = f"Least wood {where} the bore, in three dimensions{_BORDER.get(name, _LEFT_OUT)}."
        measure(
            f"bore.wall_{name}",
            f"wood {where} the bore",
            between=("bore", f"nearest surface {where} it" if name != "window" else "nearest window"),
            more=remedy,
            drivers=(driver, "profile.points", "plan.points"),
            along_bore=name != "blind_end",
        )(take)


_declare_sides()


@measure(
    "bore.wall_axle",
    "wood between the bore and an axle hole",
    between=("bore", "nearest axle hole"),
    more="move the axle hole away from the bore",
    drivers=("axles.rear.x", "axles.rear.height", "bore.height"),
    along_bore=True,
)
def wall_axle(car: Car) -> Reading | NotKnown:
    """Least wood between the bore and the nearest axle hole; nothing may break into the bore."""
    return _least(_axle_walls(car)) if car.body.bore else NO_BORE


@measure(
    "bore.wall_eye",
    "wood between the bore and a screw-eye hole",
    between=("bore", "nearest screw-eye hole"),
    more="move the screw eye away from the bore, or use a shorter one",
    drivers=("screw_eye", "bore.height"),
    along_bore=True,
)
def wall_eye(car: Car) -> Reading | NotKnown:
    """Least wood between the bore and the nearest screw-eye hole."""
    bore_of(car)
    walls = _eye_walls(car)
    return _least(walls) if walls else NotKnown("there is no screw-eye hole", absent=True)


@measure(
    "bore.cartridge_showing",
    "cartridge left showing",
    state=MeasuringState.WITH_CARTRIDGE,
    between=("mouth of the bore", "end of the cartridge's neck"),
    more="drill the bore less deep",
    less="drill the bore deeper",
    drivers=("bore.depth",),
)
def cartridge_showing(car: Car) -> Reading | NotKnown:
    """Length of cartridge that stands out of the tail when it is seated against the blind end."""
    return Reading(car.design.cartridge.length_mm - car.design.bore.depth_mm, _mouth(car.body.bore))


@measure(
    "bore.cartridge_play",
    "play of the cartridge in the bore",
    state=MeasuringState.WITH_CARTRIDGE,
    between=("cartridge", "bore"),
    more="drill the bore wider",
    less="drill the bore narrower",
    drivers=("bore.diameter",),
)
def cartridge_play(car: Car) -> Reading | NotKnown:
    """How much wider the bore is than the cartridge."""
    return Reading(car.design.bore.diameter_mm - car.design.cartridge.diameter_mm, _mouth(car.body.bore))


def _axle_walls(car: Car) -> list[tuple[str, Wall]]:
    names = ("the front axle hole", "the rear axle hole")
    return list(zip(names, car.body.bore_axles or (), strict=False))


def _eye_walls(car: Car) -> list[tuple[str, Wall]]:
    return [("a screw-eye hole", wall) for wall in car.body.bore_pilots if wall is not None]


def _least(walls: Iterable[tuple[str, Wall]]) -> Reading:
    name, w = min(walls, key=lambda pair: pair[1].value_mm)
    (x, y, z), (_, y1, z1) = w.at_other, w.at_hole
    view = View.TOP if abs(y - y1) > abs(z - z1) else View.SIDE
    return Reading(w.value_mm, Place(view, (w.at_hole, w.at_other), f"{name}, x = {x:.1f} mm"))


def _mouth(bore: BoreHole | None) -> Place | None:
    return Place(View.TAIL, ((bore.x, bore.y, bore.z),), "the mouth of the bore") if bore else None
