"""Heights of the cartridge above the track, at its rear: the end of its neck, where the launcher meets it.

The cartridge is taken to be pushed home against the blind end and to lie in the middle of the bore.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.body import BoreHole
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, Reading, measure
from bodyshop.car.measures.needed import bore_of, track_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []

_SPOTS: Final = (
    ("centre", "middle of the cartridge's rear", "middle of the end of the neck", 0.0),
    ("lowest", "lowest point of the cartridge's rear", "lowest point of the end of the neck", -1.0),
    ("highest", "highest point of the cartridge's rear", "highest point of the end of the neck", 1.0),
)


def _height(car: Car, way: float) -> Reading | NotKnown:
    bore, track = bore_of(car), track_of(car)
    x, z = _rear(car, bore, way)
    fx, fz = track.foot(x, z)
    place = Place(View.SIDE, ((fx, bore.y, fz), (x, bore.y, z)), "at the rear of the cartridge")
    return Reading(track.height(x, z), place)


def _rear(car: Car, bore: BoreHole, way: float) -> tuple[float, float]:
    """(x, z) on the end of the neck: on the axis, or on its edge `way` up (1) or down (-1)."""
    cartridge = car.design.cartridge
    return bore.point(bore.depth - cartridge.length_mm, way * cartridge.neck_diameter_mm / 2)


def _declare() -> None:
    for name, title, what, way in _SPOTS:

        def take(car: Car, way: float = way) -> Reading | NotKnown:
            return _height(car, way)

        take.__doc__ = (
            f"Height above the track of the {what}, with the car on its wheels and a cartridge pushed home."
        )
        declare: Callable[[Callable[[Car], Reading | NotKnown]], object] = measure(
            f"cartridge.rear_{name}",
            f"{title} above the track",
            state=MeasuringState.WITH_CARTRIDGE,
            between=("track", what),
            more="raise the cartridge hole",
            less="lower the cartridge hole",
            drivers=("bore.height", "axles.rear.height"),
        )
        declare(take)


_declare()
