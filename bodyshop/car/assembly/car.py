"""The car put together: body, axle stacks, track, mass, and the shadow it throws ahead."""

from __future__ import annotations

from functools import cached_property

import shapely

from bodyshop.car.assembly.mass import Mass, MassItem, car_items, cartridge_item, centre_spread, total
from bodyshop.car.assembly.stack import AxleStack, Track, axle_stack, track_under
from bodyshop.car.body import Body
from bodyshop.car.design.model import AxleEnd, Design, EyePlace
from bodyshop.foundation.place import Point3

__all__ = ["Car"]


class Car:
    """A car as designed; everything costly is worked out once, when first asked for."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.body = Body(design)

    def bored(self, depth_mm: float) -> Car:
        """The same car with its bore no deeper than this; several rules may ask for one stretch."""
        found = self._bored.get(depth_mm)
        if found is None:
            body = self.body.bored(depth_mm)
            found = self._bored[depth_mm] = Car(body.design)
            found.body = body
        return found

    @cached_property
    def _bored(self) -> dict[float, Car]:
        return {}

    def stack(self, end: AxleEnd) -> AxleStack | None:
        """The stack on one axle; None when its hole is not in wood."""
        return self._stacks[0 if end is AxleEnd.FRONT else 1]

    @cached_property
    def _stacks(self) -> tuple[AxleStack | None, AxleStack | None]:
        return (axle_stack(self.body, self.design.front), axle_stack(self.body, self.design.rear))

    @property
    def stacks(self) -> tuple[AxleStack, ...]:
        """The stacks that can be built."""
        return tuple(s for s in self._stacks if s is not None)

    @cached_property
    def track(self) -> Track | None:
        """The track under the wheels."""
        return track_under(self.design.front, self.design.rear)

    # ---- mass

    @cached_property
    def items(self) -> tuple[MassItem, ...]:
        """Every item of the complete car without its cartridge."""
        return tuple(car_items(self.body, self.stacks))

    @cached_property
    def mass(self) -> Mass:
        """The complete car without cartridge."""
        return total(self.items)

    @cached_property
    def centre_spread(self) -> Point3:
        """One standard deviation of its centre of mass along x, y and z, mm."""
        return centre_spread(self.items, self.body)

    @cached_property
    def mass_loaded(self) -> Mass:
        """The complete car with a full cartridge."""
        return self._with_cartridge(full=True)

    @cached_property
    def mass_spent(self) -> Mass:
        """The complete car with an empty cartridge."""
        return self._with_cartridge(full=False)

    def _with_cartridge(self, *, full: bool) -> Mass:
        item = cartridge_item(self.body, full=full)
        return total([*self.items, item] if item else self.items)

    # ---- screw eyes

    def eye_near(self, end: AxleEnd) -> tuple[EyePlace, int] | None:
        """The front or rear screw eye (nearest nose or tail) and its index; None without one. A single
        eye is the front one.
        """
        order = sorted(range(len(self.design.eyes)), key=lambda i: self.design.eyes[i].x_mm)
        if not order or (end is AxleEnd.REAR and len(order) < 2):
            return None
        index = order[0] if end is AxleEnd.FRONT else order[-1]
        return self.design.eyes[index], index

    # ---- what the air sees

    @cached_property
    def silhouette(self) -> shapely.Geometry:
        """The shadow of the car on its wheels on a plane square to its length, in (y, z)."""
        shapes = [self.body.silhouette]
        for s in self.stacks:
            r, z = s.axle.wheel.radius_mm, s.axle.height_mm
            rod = s.axle.axle.diameter_mm / 2
            half = 0.5 * s.axle_length_mm
            shapes.append(shapely.box(s.middle - half, z - rod, s.middle + half, z + rod))
            shapes += [shapely.box(low, z - r, high, z + r) for low, high in s.treads]
        return shapely.union_all(shapes)
