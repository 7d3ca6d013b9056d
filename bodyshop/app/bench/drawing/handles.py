"""Everything on the drawing that can be taken hold of, with the numbers of the text that it stands for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from bodyshop.app.bench.drawing.model import Bulge, DrawingView, Handle, HandleKind, Move
from bodyshop.car.body import BoreHole
from bodyshop.car.design import AxleSet
from bodyshop.car.editing.numbers import Numbers
from bodyshop.foundation.toml import KeyPath, dotted
from bodyshop.foundation.units import LengthUnit, QuantityError, length_from_number
from bodyshop.geometry.outlines import Arc, Outline, Point, Ring, dist
from bodyshop.rules.checking import LoadedCar

__all__ = ["find_handle", "find_handles", "point_path"]

_SMALL_MM: Final = 0.1
"""The least bore, window or radius that a hand makes."""

_SAME_MM: Final = 1e-6
_HALF: Final = np.array([0.5])


def find_handles(opened: LoadedCar, numbers: Numbers) -> list[Handle]:
    """Every handle of a design, in the order in which keys walk through them: outlines, bore, axles, eyes.

    `numbers` are those of the text that `opened` was read from.
    """
    return list(_Handles(opened, numbers).all())


def find_handle(opened: LoadedCar, numbers: Numbers, handle_id: str) -> Handle | None:
    """One handle by its name; None where there is none of that name."""
    return next((handle for handle in _Handles(opened, numbers).all() if handle.id == handle_id), None)


def point_path(numbers: Numbers, path: KeyPath) -> KeyPath:
    """The path of a point's two coordinates: its own, or `to` below it."""
    return (*path, "to") if isinstance(numbers.raw(path), dict) else path


class _Handles:
    def __init__(self, opened: LoadedCar, numbers: Numbers) -> None:
        self.design = opened.design
        self.body = opened.car.body
        self.numbers = numbers
        self._plain = numbers.unit is LengthUnit.MM

    def all(self) -> Iterator[Handle]:
        design = self.design
        yield from self._outline(DrawingView.SIDE, design.profile, mirrored=False)
        yield from self._outline(DrawingView.TOP, design.plan, mirrored=design.plan_mirrored)
        yield from self._bore()
        for axle in design.axles:
            yield self._axle(axle)
        yield from self._eyes()

    # ------------------------------------------------------------ outlines

    def _outline(self, sheet: DrawingView, outline: Outline, *, mirrored: bool) -> Iterator[Handle]:
        view = "profile" if sheet is DrawingView.SIDE else "plan"
        yield from self._points(sheet, (view, "points"), outline.outer, "", mirrored=mirrored)
        windows = self.numbers.raw((view, "window"))
        for index, window in enumerate(windows if isinstance(windows, list) else []):
            path: KeyPath = (view, "window", index)
            ring = outline.windows[index]
            name = f"window {index + 1}, "
            if isinstance(window, dict) and "circle" in window:
                yield from self._circle(sheet, path, name)
            else:
                yield from self._points(sheet, (*path, "points"), ring, name, mirrored=False)

    def _points(
        self, sheet: DrawingView, path: KeyPath, ring: Ring, name: str, *, mirrored: bool
    ) -> Iterator[Handle]:
        raw = self.numbers.raw(path)
        given = raw if isinstance(raw, list) else []
        points = [self._place(point, (*path, i)) for i, point in enumerate(given)]
        stem = dotted(path)
        arcs: dict[int, list[Arc]] = {}
        for curve, owner in zip(ring.curves, ring.owners, strict=True):
            if isinstance(curve, Arc):
                arcs.setdefault(owner, []).append(curve)
        for i, point in enumerate(given):
            at = points[i]
            here: KeyPath = (*path, i)
            where = (*here, "to") if isinstance(point, dict) else here
            least = 0.0 if mirrored else None
            yield Handle(
                f"{stem}[{i}]",
                HandleKind.POINT,
                sheet,
                at,
                f"{name}point {i + 1}",
                _both(where, at, least_v=least),
            )
            if not isinstance(point, dict):
                continue
            before = points[i - 1]
            if "through" in point:
                yield self._free(
                    (*here, "through"), HandleKind.THROUGH, sheet, f"{name}arc to point {i + 1}", at
                )
            elif isinstance(point.get("handles"), list):
                for k, tied in enumerate((before, at)):
                    label = f"{name}handle {k + 1} of the curve to point {i + 1}"
                    yield self._free((*here, "handles", k), HandleKind.CONTROL, sheet, label, tied)
            elif "radius" in point:
                found = self._bulge(here, sheet, before, at, arcs.get(i, []), f"{name}arc to point {i + 1}")
                if found is not None:
                    yield found
            if "round" in point:
                rounding = self._rounding(
                    here, sheet, at, arcs.get(i, []), f"{name}rounding of point {i + 1}"
                )
                if rounding is not None:
                    yield rounding

    def _free(
        self, path: KeyPath, kind: HandleKind, sheet: DrawingView, label: str, tied: Point | None = None
    ) -> Handle:
        at = self._spot(path)
        return Handle(dotted(path), kind, sheet, at, label, _both(path, at), tied_to=tied)

    def _place(self, point: object, path: KeyPath) -> Point:
        """Where a point of a list lies."""
        if isinstance(point, dict):
            return self._pair(point.get("to"), (*path, "to"))
        return self._pair(point, path)

    def _spot(self, path: KeyPath) -> Point:
        return self._pair(self.numbers.raw(path), path)

    def _pair(self, raw: object, path: KeyPath) -> Point:
        if self._plain and isinstance(raw, list) and len(raw) == 2:
            u, v = raw
            if type(u) in (int, float) and type(v) in (int, float):
                return float(u), float(v)
        return self._mm((*path, 0)), self._mm((*path, 1))

    def _mm(self, path: KeyPath) -> float:
        raw = self.numbers.raw(path)
        if not isinstance(raw, str):
            try:
                return length_from_number(raw, self.numbers.unit)
            except QuantityError:
                return 0.0
        return self.numbers.mm(path) or 0.0

    def _rounding(
        self, path: KeyPath, sheet: DrawingView, at: Point, arcs: list[Arc], label: str
    ) -> Handle | None:
        """The middle of a corner's rounding. It slides on the line from the corner through that middle, and
        the radius grows evenly with the way (exactly so where two straight edges meet).
        """
        radius = self._mm((*path, "round"))
        found = [arc for arc in arcs if abs(arc.radius - radius) < _SAME_MM]
        if radius <= 0 or not found:
            return None
        points = [arc.at(_HALF)[0] for arc in found]
        middle = min(((float(s[0]), float(s[1])) for s in points), key=lambda spot: dist(spot, at))
        away = dist(middle, at)
        if away < _SAME_MM:
            return None
        way = ((middle[0] - at[0]) / away, (middle[1] - at[1]) / away)
        rate = radius / away
        move = Move(
            (*path, "round"),
            radius,
            -rate * (at[0] * way[0] + at[1] * way[1]),
            rate * way[0],
            rate * way[1],
            least_mm=_SMALL_MM,
        )
        return Handle(
            dotted((*path, "round")), HandleKind.ROUNDING, sheet, middle, label, (move,), way, tied_to=at
        )

    def _bulge(
        self, path: KeyPath, sheet: DrawingView, before: Point, at: Point, arcs: list[Arc], label: str
    ) -> Handle | None:
        radius = self._mm((*path, "radius"))
        found = [arc for arc in arcs if abs(arc.radius - radius) < _SAME_MM]
        chord = dist(before, at)
        if not found or chord < _SAME_MM:
            return None
        # A rounding of the same radius has its centre elsewhere: the edge's is as far from both ends.
        arc = min(found, key=lambda each: abs(dist(each.centre, before) - radius))
        point = self.numbers.raw(path)
        long = isinstance(point, dict) and point.get("long") is True
        left = (-(at[1] - before[1]) / chord, (at[0] - before[0]) / chord)
        middle = (0.5 * (before[0] + at[0]), 0.5 * (before[1] + at[1]))
        height = left[0] * (arc.centre[0] - middle[0]) + left[1] * (arc.centre[1] - middle[1])
        # The middle of a short arc lies across the chord from its centre, that of a long one beyond it.
        side = math.copysign(1.0, height if long else -height)
        rise = radius + abs(height) if long else radius - abs(height)
        top = (middle[0] + side * rise * left[0], middle[1] + side * rise * left[1])
        move = Move((*path, "radius"), radius, bulge=Bulge(before, at, side, long))
        way = (side * left[0], side * left[1])
        return Handle(
            dotted((*path, "radius")), HandleKind.BULGE, sheet, top, label, (move,), way, tied_to=middle
        )

    def _circle(self, sheet: DrawingView, path: KeyPath, name: str) -> Iterator[Handle]:
        centre = self._free((*path, "circle"), HandleKind.CENTRE, sheet, f"{name}centre")
        yield centre
        diameter = self._mm((*path, "diameter"))
        u, v = centre.at
        move = Move((*path, "diameter"), diameter, -2 * u, 2.0, 0.0, least_mm=_SMALL_MM)
        yield Handle(
            dotted((*path, "diameter")),
            HandleKind.DIAMETER,
            sheet,
            (u + diameter / 2, v),
            f"{name}diameter",
            (move,),
            (1.0, 0.0),
        )

    # ------------------------------------------------------------ bore, axles, screw eyes

    def _bore(self) -> Iterator[Handle]:
        bore = self.body.bore
        if bore is None:
            return
        fixed = {
            key: ""
            if self.numbers.has(("bore", key))
            else f"This is the drilled blank's own: write {key} into [bore] to have another."
            for key in ("height", "depth", "diameter")
        }
        c, s = math.cos(bore.tilt), math.sin(bore.tilt)
        mouth, end = bore.point(0.0), bore.point(bore.depth)
        yield Handle(
            "bore.height",
            HandleKind.BORE,
            DrawingView.SIDE,
            mouth,
            "bore, height of its mouth",
            (Move(("bore", "height"), bore.z, 0.0, 0.0, 1.0),),
            (0.0, 1.0),
            fixed=fixed["height"],
        )
        base = bore.x * c - bore.z * s
        yield Handle(
            "bore.depth",
            HandleKind.BORE,
            DrawingView.SIDE,
            end,
            "bore, depth",
            (Move(("bore", "depth"), bore.depth, base, -c, s, least_mm=_SMALL_MM),),
            (-c, s),
            fixed=fixed["depth"],
        )
        edge = bore.point(0.5 * bore.depth, bore.radius)
        yield Handle(
            "bore.diameter",
            HandleKind.BORE,
            DrawingView.SIDE,
            edge,
            "bore, diameter",
            (
                Move(
                    ("bore", "diameter"),
                    2 * bore.radius,
                    -2 * (bore.x * s + bore.z * c),
                    2 * s,
                    2 * c,
                    least_mm=_SMALL_MM,
                ),
            ),
            (s, c),
            fixed=fixed["diameter"],
        )
        yield self._mouth(bore, fixed["height"])

    def _mouth(self, bore: BoreHole, fixed: str) -> Handle:
        """The mouth in the tail view; it moves sideways where the file gives an offset."""
        height = Move(("bore", "height"), bore.z, 0.0, 0.0, 1.0)
        sideways = self.numbers.has(("bore", "offset"))
        moves = (Move(("bore", "offset"), bore.y, 0.0, 1.0, 0.0), height) if sideways else (height,)
        return Handle(
            "bore.mouth",
            HandleKind.BORE,
            DrawingView.TAIL,
            (bore.y, bore.z),
            "bore, its mouth",
            moves,
            None if sideways else (0.0, 1.0),
            fixed=fixed,
        )

    def _axle(self, axle: AxleSet) -> Handle:
        path: KeyPath = ("axles", axle.end.value)
        return Handle(
            dotted(path),
            HandleKind.AXLE,
            DrawingView.SIDE,
            (axle.x_mm, axle.height_mm),
            f"{axle.end.value} axle",
            (
                Move((*path, "x"), axle.x_mm, 0.0, 1.0, 0.0),
                Move((*path, "height"), axle.height_mm, 0.0, 0.0, 1.0),
            ),
        )

    def _eyes(self) -> Iterator[Handle]:
        lows = self.body.undersides([(eye.x_mm, eye.offset_mm) for eye in self.design.eyes])
        ends = {axle.end: axle.x_mm for axle in self.design.axles}
        for index, (eye, low) in enumerate(zip(self.design.eyes, lows, strict=True)):
            path: KeyPath = ("screw_eye", index)
            name = f"screw eye {index + 1}"
            if eye.axle is None:
                along = Move((*path, "x"), eye.x_mm, 0.0, 1.0, 0.0)
                what = "its place"
            else:
                key = "behind" if self.numbers.has((*path, "behind")) else "ahead"
                sign = 1.0 if key == "behind" else -1.0
                along = Move(
                    (*path, key), sign * eye.from_axle_mm, -sign * ends[eye.axle], sign, 0.0, least_mm=0.0
                )
                what = f"how far {key if key == 'behind' else 'ahead of'} the {eye.axle.value} axle"
            at = (eye.x_mm, 0.0 if low is None else low)
            yield Handle(
                dotted(path), HandleKind.EYE, DrawingView.SIDE, at, f"{name}, {what}", (along,), (1.0, 0.0)
            )
            if self.numbers.has((*path, "offset")):
                moves = (along, Move((*path, "offset"), eye.offset_mm, 0.0, 0.0, 1.0))
                yield Handle(
                    dotted((*path, "offset")),
                    HandleKind.EYE,
                    DrawingView.TOP,
                    (eye.x_mm, eye.offset_mm),
                    f"{name}, seen from above",
                    moves,
                )


def _both(path: KeyPath, at: Point, *, least_v: float | None = None) -> tuple[Move, Move]:
    """The two coordinates of a point that moves freely."""
    return (
        Move((*path, 0), at[0], 0.0, 1.0, 0.0),
        Move((*path, 1), at[1], 0.0, 0.0, 1.0, least_mm=least_v),
    )
