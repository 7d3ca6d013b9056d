"""The body of one car: what the cuts and the drills leave, with everything measured on it kept once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.car.body.bore_wall import bore_walls
from bodyshop.car.body.clearance import (
    axle_to_outline,
    axle_to_windows,
    bore_to_axle,
    bore_to_pilot,
    pilot_to_skin,
)
from bodyshop.car.body.holes import AxleHole, BoreHole, PilotHole, removed_by_holes, stacked
from bodyshop.car.body.moments import Moments, section_area, undrilled_moments
from bodyshop.car.body.rectangles import Rectangles
from bodyshop.car.body.rim import Mouth, Rim, Wall, WallSide, find_mouth, mouth_rim
from bodyshop.car.body.section import Sections
from bodyshop.car.body.surfaces import base_area, frontal_silhouette, wetted_area
from bodyshop.car.body.thickness import ThinnestPlace, least_thickness
from bodyshop.car.design.model import Design
from bodyshop.geometry.outlines import FINE_MM, Array, Line, Outline, Point

__all__ = ["Body"]


class Body:
    """A body, from a design. Lengths mm, areas mm^2, volumes mm^3."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.profile: Outline = design.profile
        self.plan: Outline = design.plan

    @cached_property
    def sections(self) -> Sections:
        """The cross-sections before drilling."""
        return Sections(self.profile, self.plan, self.design.edge_round_mm)

    def bored(self, depth_mm: float) -> Body:
        """The same body with its bore no deeper than this: what is known of the first stretch of it."""
        bore = self.design.bore
        shallow = replace(bore, depth_mm=min(bore.depth_mm, depth_mm))
        body = Body(replace(self.design, bore=shallow))
        # Nothing of this depends on how deep the bore is.
        for name in ("sections", "mouth", "axle_holes", "eye_pilots"):
            body.__dict__[name] = getattr(self, name)
        return body

    # ---- extent

    @property
    def x_nose(self) -> float:
        """The foremost point of the body."""
        return self.sections.x_min

    @property
    def x_tail(self) -> float:
        """The rearmost point of the body."""
        return self.sections.x_max

    @cached_property
    def bounds(self) -> tuple[float, float, float, float, float, float]:
        """(x0, y0, z0, x1, y1, z1) of the body; where profile or plan runs on past the other, only what
        both leave counts.
        """
        p, q = self.profile.bounds, self.plan.bounds
        if (p[0], p[2]) == (q[0], q[2]):
            return (p[0], q[1], p[1], p[2], q[3], p[3])
        x0, x1 = self.x_nose, self.x_tail
        ends = (self.sections.at(x0), self.sections.at(x1, ahead=True))
        z = self.profile.turns_between(x0, x1)
        y = self.plan.turns_between(x0, x1)
        for r in ends:
            z += [*r.z0.tolist(), *r.z1.tolist()]
            y += [*r.y0.tolist(), *r.y1.tolist()]
        return (x0, min(y), min(z), x1, max(y), max(z))

    @cached_property
    def pieces(self) -> int:
        """How many separate pieces of wood the cuts leave."""
        s = self.sections
        parent = list(range(s.slab.size))

        def root(i: int) -> int:
            while parent[i] != i:
                parent[i] = parent[parent[i]]
                i = parent[i]
            return i

        first, r = s.first_rectangle, s.grid.r
        if s.slab.size == s.breaks.size - 1:
            # One rectangle a slab: neighbours part only where the section closes up.
            gone = (r.y1[:-1, -1] <= r.y0[1:, 0]) | (r.y0[:-1, -1] >= r.y1[1:, 0])
            gone |= (r.z1[:-1, -1] <= r.z0[1:, 0]) | (r.z0[:-1, -1] >= r.z1[1:, 0])
            return 1 + int(np.count_nonzero(gone))
        for slab in range(s.breaks.size - 2):
            a, b, c = first[slab : slab + 3]
            y0, y1, z0, z1 = (side[:, 0] for side in (r.y0, r.y1, r.z0, r.z1))
            e0, e1, f0, f1 = (side[:, -1] for side in (r.y0, r.y1, r.z0, r.z1))
            touch = (e0[a:b, None] < y1[b:c]) & (e1[a:b, None] > y0[b:c])
            touch &= (f0[a:b, None] < z1[b:c]) & (f1[a:b, None] > z0[b:c])
            for i, j in zip(*np.nonzero(touch), strict=True):
                parent[root(int(a + i))] = root(int(b + j))
        return len({root(i) for i in range(len(parent))})

    # ---- holes

    @cached_property
    def mouth(self) -> Mouth | None:
        """Where the bore's axis comes out at the tail; None when it never meets the body."""
        return find_mouth(self.design.bore, self.profile, self.plan)

    @cached_property
    def bore(self) -> BoreHole | None:
        """The bore in place; None when its axis never meets the body."""
        if self.mouth is None:
            return None
        b = self.design.bore
        return BoreHole(self.mouth.x, b.offset_mm, b.height_mm, b.diameter_mm / 2, b.depth_mm, b.tilt_rad)

    @cached_property
    def rim(self) -> Rim | None:
        """The rim of the bore's mouth; None without a bore."""
        bore, mouth = self.bore, self.mouth
        return (
            None if bore is None or mouth is None else mouth_rim(bore, mouth.faces, self.profile, self.plan)
        )

    @cached_property
    def mouth_foot(self) -> Point | None:
        """The underside at the mouth, (x, z): below its centre; where the tail leans or bulges out over the
        underside, the low end of the tail. None without a bore.
        """
        mouth = self.mouth
        span = None if mouth is None else self.height_at(mouth.x)
        if mouth is None or span is None:
            return None
        curves = [self.profile.outer.curves[n] for in_profile, n in mouth.faces if in_profile]
        ends = [end for curve in curves for end in (curve.p0, curve.p1)]
        low = min(ends, key=lambda end: end[1], default=(mouth.x, span[0]))
        return low if self.x_nose <= low[0] < mouth.x and low[1] < span[0] else (mouth.x, span[0])

    @cached_property
    def axle_holes(self) -> tuple[AxleHole, AxleHole]:
        """The two axle holes, front first."""
        front, rear = (AxleHole(a.x_mm, a.height_mm, a.hole_mm / 2) for a in self.design.axles)
        return (front, rear)

    @cached_property
    def eye_pilots(self) -> tuple[PilotHole | None, ...]:
        """The pilot hole of each screw eye of the design; None where no wood stands over it."""
        eyes = self.design.eyes
        lows = self.undersides([(e.x_mm, e.offset_mm) for e in eyes])
        return tuple(
            None
            if z is None
            else PilotHole(e.x_mm, e.offset_mm, z, e.eye.pilot_diameter_mm / 2, e.eye.pilot_depth_mm)
            for e, z in zip(eyes, lows, strict=True)
        )

    @property
    def pilots(self) -> tuple[PilotHole, ...]:
        """The screw-eye pilot holes that start in wood."""
        return tuple(p for p in self.eye_pilots if p is not None)

    # ---- wood round the other holes: what cannot be made and what breaks a rule both ask for it

    @cached_property
    def axle_skins(self) -> tuple[Wall, Wall]:
        """Wood between each axle hole and the outside of the profile, front first."""
        front, rear = (axle_to_outline(hole, self.profile) for hole in self.axle_holes)
        return (front, rear)

    @cached_property
    def axle_windows(self) -> tuple[Wall | None, Wall | None]:
        """Wood between each axle hole and the nearest window of the profile, front first."""
        front, rear = (axle_to_windows(hole, self.profile) for hole in self.axle_holes)
        return (front, rear)

    @cached_property
    def pilot_skins(self) -> tuple[Wall | None, ...]:
        """Wood round the pilot hole of each screw eye of the design; None where it has none."""
        return tuple(
            None if pilot is None else pilot_to_skin(pilot, self.sections) for pilot in self.eye_pilots
        )

    @cached_property
    def bore_pilots(self) -> tuple[Wall | None, ...]:
        """Wood between the bore and the pilot hole of each screw eye; None where either is missing."""
        rim = self.rim
        return tuple(
            None if pilot is None or rim is None else bore_to_pilot(rim, pilot) for pilot in self.eye_pilots
        )

    @cached_property
    def bore_axles(self) -> tuple[Wall, Wall] | None:
        """Wood between the bore and each axle hole, front first; None without a bore."""
        if self.rim is None:
            return None
        front, rear = (bore_to_axle(self.rim, hole) for hole in self.axle_holes)
        return (front, rear)

    # ---- sections

    def section(self, x: float) -> Rectangles:
        """The cross-section at one station."""
        return self.sections.at(x)

    def highest(self, nx: float, nz: float, x0: float, x1: float) -> tuple[Point, float]:
        """The point (x, z) of the profile between two stations that lies farthest along (nx, nz), and how
        far.
        """
        points = self.profile.outer.flattened(FINE_MM)[0]
        inside = points[(points[:, 0] >= x0 - 1e-9) & (points[:, 0] <= x1 + 1e-9)]
        ends = [(x, z) for x in (x0, x1) for z in (self.height_at(x) or ())]
        spots = np.concatenate((inside, np.array(ends).reshape(-1, 2)))
        reach = nx * spots[:, 0] + nz * spots[:, 1]
        best = int(np.argmax(reach))
        return (float(spots[best, 0]), float(spots[best, 1])), float(reach[best])

    def cut_at(self, x: Array) -> Rectangles:
        """Every rectangle of the cross-sections at stations `x`; stations off the body have none."""
        return stacked(self.sections, x)[1]

    def undersides(self, spots: Sequence[tuple[float, float]]) -> list[float | None]:
        """Height of the lowest wood at each (x, y); None where there is none."""
        lows: list[float | None] = [None] * len(spots)
        if spots:
            station, r = stacked(self.sections, np.array([x for x, _ in spots]))
            y = np.array([y for _, y in spots])[station]
            z, top = r.span(y, across=False)
            for i in np.flatnonzero((r.y0 <= y) & (y <= r.y1) & (z <= top)):
                s, low = station[i], lows[station[i]]
                lows[s] = float(z[i]) if low is None else min(low, float(z[i]))
        return lows

    def width_at(self, x: float, z: float) -> tuple[float, float] | None:
        """(left, right) outer ends in y of the wood at (x, z), over any gap between, rounded edges left out;
        None off the body.
        """
        if not self.x_nose <= x <= self.x_tail:
            return None
        r = self.sections.at(x)
        left, right = r.span(z, across=True)
        pick = (r.z0 <= z) & (z <= r.z1) & (left <= right)
        if not np.any(pick):
            return None
        return float(left[pick].min()), float(right[pick].max())

    def widest_at(self, x: float, low: float, high: float) -> tuple[float, float] | None:
        """The outermost (left, right) ends in y of the wood between two heights at a station: where something
        flat of that height comes to rest on the sides; None off the body.
        """
        if not self.x_nose <= x <= self.x_tail:
            return None
        r = self.sections.at(x)
        # Between the rounded corners the sides are upright.
        bottom, top = r.whole[2:]
        flats = (bottom + r.radius).tolist() + (top - r.radius).tolist()
        heights = [low, high, *(z for z in flats if low < z < high)]
        widths = [width for z in heights if (width := self.width_at(x, z)) is not None]
        return (min(w[0] for w in widths), max(w[1] for w in widths)) if widths else None

    def height_at(self, x: float) -> tuple[float, float] | None:
        """(lowest, highest) wood at a station; None off the body."""
        if not self.x_nose <= x <= self.x_tail:
            return None
        r = self.sections.at(x)
        return (float(r.z0.min()), float(r.z1.max())) if r.z0.size else None

    # ---- integrals

    @cached_property
    def undrilled(self) -> Moments:
        """Volume, centre and inertia before drilling."""
        return undrilled_moments(self.sections)

    @cached_property
    def moments(self) -> Moments:
        """Volume, centre and inertia of the drilled body."""
        removed = removed_by_holes(
            self.sections, self.bore, self.axle_holes, self.pilots, bore_enclosed=self._bore_enclosed
        )
        return self.undrilled - removed

    @property
    def volume(self) -> float:
        """Volume of the drilled body, mm^3."""
        return self.moments.volume

    @cached_property
    def _bore_enclosed(self) -> bool:
        """The bore is a whole cylinder in wood whose mouth lies in an upright, level tail face."""
        bore, mouth = self.bore, self.mouth
        if bore is None or mouth is None or bore.tilt != 0:
            return False
        if any(w.value_mm <= 0 for w in self.walls.values()):
            return False
        low, high = math.inf, -math.inf
        for in_profile, number in mouth.faces:
            curve = (self.profile if in_profile else self.plan).outer.curves[number]
            if not isinstance(curve, Line) or curve.p0[0] != curve.p1[0] or curve.p0[0] < mouth.x:
                return False
            if in_profile:
                low, high = min(low, curve.p0[1], curve.p1[1]), max(high, curve.p0[1], curve.p1[1])
        return low <= bore.z - bore.radius and high >= bore.z + bore.radius

    def section_area(self, x: float) -> float:
        """Area of wood in the cross-section at a station, before drilling."""
        return float(np.sum(section_area(self.sections.at(x))))

    # ---- walls

    @cached_property
    def bore_in_wood(self) -> bool:
        """The bore's axis runs in wood from mouth to blind end."""
        bore = self.bore
        if bore is None:
            return False
        end = bore.point(bore.depth)[0]
        s, r = self.sections, self.sections.grid.r
        first = s.first_rectangle
        filled = np.diff(first) > 0
        gaps = (s.breaks[1:] > end) & (s.breaks[:-1] < bore.x) & ~filled
        if end < self.x_nose or np.any(gaps):
            return False
        # A column of the grid is held where any rectangle of its slab holds it.
        starts = first[:-1][filled]
        held = np.logical_or.reduceat(self._holds(r, bore), starts, axis=0)
        x = r.x[starts]
        along = (x > end) & (x < bore.x)
        return bool(np.all(held[along])) and bool(np.any(self._holds(s.at(end), bore)))

    @staticmethod
    def _holds(r: Rectangles, bore: BoreHole) -> NDArray[np.bool_]:
        """Which rectangles have the bore's axis inside them."""
        return r.holds(bore.y, bore.z + (bore.x - r.x) * math.tan(bore.tilt))

    @cached_property
    def walls(self) -> dict[WallSide, Wall]:
        """The least wall of the bore on each side that has one; empty when the bore is not in wood."""
        if self.rim is None or self.mouth is None or not self.bore_in_wood:
            return {}
        return bore_walls(self.sections, self.rim, self.mouth.faces)

    @cached_property
    def thinnest_side(self) -> ThinnestPlace | None:
        """The thinnest place in the side view."""
        return least_thickness(self.profile)

    @cached_property
    def thinnest_top(self) -> ThinnestPlace | None:
        """The thinnest place in the top view."""
        return least_thickness(self.plan)

    @cached_property
    def narrowest(self) -> ThinnestPlace | None:
        """The narrowest place of the outside in the top view."""
        return least_thickness(self.plan, windows=False) if self.plan.windows else self.thinnest_top

    # ---- areas

    @cached_property
    def silhouette(self) -> shapely.Geometry:
        """The body's shadow from the front, in (y, z)."""
        return frontal_silhouette(self.sections)

    @cached_property
    def wetted_area(self) -> float:
        """Area of the outer skin before drilling."""
        return wetted_area(self.sections)

    @cached_property
    def base_area(self) -> float:
        """Area of the flat face at the tail, bore mouth included."""
        return base_area(self.sections)
