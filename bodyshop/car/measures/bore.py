"""Measures of the cartridge hole and of the wood round it."""

from __future__ import annotations

from collections.abc import Iterable

from bodyshop.car.assembly import Car
from bodyshop.car.body import BoreHole, Wall, WallSide
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import bore_of, track_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []

NO_BORE = NotKnown("the cartridge hole does not meet the body")
NOT_ENCLOSED = NotKnown("the cartridge hole breaks out of the wood")


@measure(
    "bore.diameter",
    "cartridge hole diameter",
    between=("one side of the hole", "the other"),
    more="make the cartridge hole larger",
    less="make the cartridge hole smaller",
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
    "cartridge hole depth",
    between=("mouth of the cartridge hole", "blind end"),
    more="drill the cartridge hole deeper",
    less="drill the cartridge hole less deep",
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
    return Reading(value, Place(View.SIDE, ends, "along the centre line of the cartridge hole"))


@measure(
    "bore.angle",
    "angle of the cartridge hole to the track",
    QuantityKind.ANGLE,
    state=MeasuringState.WHEELS,
    between=("centre line of the cartridge hole", "track"),
    more="raise the blind end of the cartridge hole",
    less="lower the blind end of the cartridge hole",
    drivers=("bore.angle", "axles.front.height", "axles.rear.height"),
)
def angle(car: Car) -> Reading | NotKnown:
    """Angle between the cartridge hole and the track, with the car on its wheels; positive with the blind
    end up.
    """
    track = track_of(car)
    at_point = _mouth(car.body.bore)
    return Reading(car.design.bore.tilt_rad + track.tilt_rad, at_point)


@measure(
    "bore.offset",
    "cartridge hole off the centre line",
    between=("centre line of the cartridge hole", "centre line"),
    more="move the cartridge hole off the centre line",
    less="move the cartridge hole on to the centre line",
    drivers=("bore.offset",),
)
def offset(car: Car) -> Reading | NotKnown:
    """How far the middle of the cartridge hole lies to one side of the centre line."""
    return Reading(abs(car.design.bore.offset_mm), _mouth(car.body.bore))


@measure(
    "bore.height_over_body",
    "cartridge hole above the bottom of the body",
    between=("bottom of the body at the tail", "centre of the cartridge hole"),
    more="raise the cartridge hole",
    less="lower the cartridge hole",
    drivers=("bore.height",),
)
def height_over_body(car: Car) -> Reading | NotKnown:
    """Height of the cartridge hole above the bottom of the body at the tail. Where the tail
    leans or bulges out, above its low end.
    """
    bore, foot = bore_of(car), car.body.mouth_foot
    if foot is None:
        return NO_BORE
    ends = ((foot[0], bore.y, foot[1]), (bore.x, bore.y, bore.z))
    return Reading(bore.z - foot[1], Place(View.SIDE, ends, "at the tail"))


@measure(
    "bore.height_over_track",
    "cartridge hole above the track",
    state=MeasuringState.WHEELS,
    between=("track", "centre of the cartridge hole"),
    more="raise the cartridge hole",
    less="lower the cartridge hole",
    drivers=("bore.height", "axles.rear.height"),
)
def height_over_track(car: Car) -> Reading | NotKnown:
    """Height of the cartridge hole above the track with the car on its wheels."""
    bore, track = bore_of(car), track_of(car)
    x, z = track.foot(bore.x, bore.z)
    ends = ((x, bore.y, z), (bore.x, bore.y, bore.z))
    return Reading(track.height(bore.x, bore.z), Place(View.SIDE, ends, "at the tail, down to the track"))


@measure(
    "bore.lowest_over_track",
    "lowest point of the cartridge hole",
    state=MeasuringState.WHEELS,
    between=("track", "lowest point of the cartridge hole"),
    more="raise the cartridge hole",
    less="lower the cartridge hole",
    drivers=("bore.height", "axles.rear.height"),
)
def lowest_over_track(car: Car) -> Reading | NotKnown:
    """Height above the track of the lowest point of the cartridge hole, the edge of its mouth in the tail
    included.
    """
    rim = car.body.rim
    if rim is None:
        return NO_BORE
    track = track_of(car)
    x, y, z = min(rim.ends(), key=lambda p: track.height(p[0], p[2]))
    fx, fz = track.foot(x, z)
    place = Place(View.SIDE, ((fx, y, fz), (x, y, z)), "under the cartridge hole, down to the track")
    return Reading(track.height(x, z), place)


@measure(
    "bore.wall",
    "wood round the cartridge hole",
    between=("cartridge hole", "nearest outside surface, window or hole"),
    more="leave more wood round the cartridge hole",
    less="leave less wood round the cartridge hole",
    drivers=("bore.height", "profile.points", "plan.points"),
    along_bore=True,
)
def wall(car: Car) -> Reading | NotKnown:
    """Thinnest wood between the cartridge hole and any outside surface, window, axle hole or screw-eye hole,
    measured in any direction. The mouth of the hole is left out.
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
        "raise the top of the body there, or lower the cartridge hole",
        "bore.height",
    ),
    ("bottom", (WallSide.BOTTOM,), "under", "raise the cartridge hole", "bore.height"),
    (
        "sides",
        (WallSide.LEFT, WallSide.RIGHT),
        "beside",
        "widen the body beside the cartridge hole",
        "plan.points",
    ),
    (
        "corners",
        (WallSide.CORNER,),
        "between a long edge and",
        "round the long edges less near the cartridge hole",
        "edges.round",
    ),
    (
        "blind_end",
        (WallSide.BLIND_END,),
        "in front of",
        "leave more wood in front of the cartridge hole",
        "bore.depth",
    ),
    (
        "window",
        (WallSide.WINDOW,),
        "between a window and",
        "move the window away from the cartridge hole",
        "bore.height",
    ),
)


_LEFT_OUT = ". A face past the blind end that faces mostly forward counts as in front of it"
_BORDER = {
    "blind_end": ": straight on from the hole, and to every face past the blind end that faces more forward "
    "than up, down or sideways (45 degrees is the border)",
    "window": "",
}


def _declare_sides() -> None:
    for name, sides, where, remedy, driver in _SIDES:

        def take(car: Car, sides: tuple[WallSide, ...] = sides, where: str = where) -> Reading | NotKnown:
            walls = car.body.walls
            if not walls:
                return NOT_ENCLOSED if car.body.bore else NO_BORE
            found = [(s.value, walls[s]) for s in sides if s in walls]
            nothing = NotKnown(f"there is nothing {where} the cartridge hole", absent=True)
            return _least(found) if found else nothing

        border = _BORDER.get(name, _LEFT_OUT)
        take.__doc__ = f"Thinnest wood {where} the cartridge hole, measured in any direction{border}."
        other = where.removeprefix("between a ").removesuffix(" and")
        measure(
            f"bore.wall_{name}",
            f"wood {where} the cartridge hole",
            between=("cartridge hole", f"nearest {other if other != where else f'surface {where} it'}"),
            more=remedy,
            drivers=(driver, "profile.points", "plan.points"),
            along_bore=name != "blind_end",
        )(take)


_declare_sides()


@measure(
    "bore.wall_axle",
    "wood between the cartridge hole and an axle hole",
    between=("cartridge hole", "nearest axle hole"),
    more="move the axle hole away from the cartridge hole",
    drivers=("axles.rear.x", "axles.rear.height", "bore.height"),
    along_bore=True,
)
def wall_axle(car: Car) -> Reading | NotKnown:
    """Thinnest wood between the cartridge hole and the nearest axle hole; no hole may break into another."""
    return _least(_axle_walls(car)) if car.body.bore else NO_BORE


@measure(
    "bore.wall_eye",
    "wood between the cartridge hole and a screw-eye hole",
    between=("cartridge hole", "nearest screw-eye hole"),
    more="move the screw eye away from the cartridge hole, or use a shorter one",
    drivers=("screw_eye", "bore.height"),
    along_bore=True,
)
def wall_eye(car: Car) -> Reading | NotKnown:
    """Thinnest wood between the cartridge hole and the nearest screw-eye hole."""
    bore_of(car)
    walls = _eye_walls(car)
    return _least(walls) if walls else NotKnown("there is no screw-eye hole", absent=True)


@measure(
    "bore.cartridge_showing",
    "cartridge left showing",
    state=MeasuringState.WITH_CARTRIDGE,
    between=("mouth of the cartridge hole", "end of the cartridge's neck"),
    more="drill the cartridge hole less deep",
    less="drill the cartridge hole deeper",
    drivers=("bore.depth",),
)
def cartridge_showing(car: Car) -> Reading | NotKnown:
    """Length of cartridge that stands out of the tail when it is seated against the blind end."""
    return Reading(car.design.cartridge.length_mm - car.design.bore.depth_mm, _mouth(car.body.bore))


@measure(
    "bore.cartridge_play",
    "play of the cartridge in its hole",
    state=MeasuringState.WITH_CARTRIDGE,
    between=("cartridge", "cartridge hole"),
    more="make the cartridge hole larger",
    less="make the cartridge hole smaller",
    drivers=("bore.diameter",),
)
def cartridge_play(car: Car) -> Reading | NotKnown:
    """How much wider the cartridge hole is than the cartridge."""
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
    return Place(View.TAIL, ((bore.x, bore.y, bore.z),), "the mouth of the cartridge hole") if bore else None
