"""What cannot be made at all, whatever the rulebook says: holes that leave the wood or run into each other.

A wall that is merely too thin is for the rulebook to judge. Here there is no wall.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from bodyshop.car.body.body import Body
from bodyshop.car.body.clearance import axle_to_axle, bore_to_axle, pilot_to_axle
from bodyshop.car.body.rim import WallSide
from bodyshop.foundation.problems import Problem
from bodyshop.geometry.outlines import FINE_MM

__all__ = ["body_faults"]

_BREAKS_OUT = {
    WallSide.TOP: ("height", "of the top of the body", "a lower bore or a higher body"),
    WallSide.BOTTOM: ("height", "of the underside", "a higher bore"),
    WallSide.LEFT: ("diameter", "of the left side", "a wider body along the bore"),
    WallSide.RIGHT: ("diameter", "of the right side", "a wider body along the bore"),
    WallSide.CORNER: ("height", "at a long edge", "less rounding or a lower bore"),
    WallSide.BLIND_END: ("depth", "at its blind end", "a shallower bore or a longer body"),
    WallSide.WINDOW: ("height", "into a window", "wood between the bore and every window"),
}


def body_faults(body: Body) -> list[Problem]:
    """Every hole that has no wood round it, placed at the number in the design that puts it there."""
    return [*_bore_faults(body), *_axle_faults(body), *_eye_faults(body)]


def _bore_faults(body: Body) -> Iterator[Problem]:
    design, bore = body.design, body.bore
    if bore is None:
        low, high = body.profile.bounds[1], body.profile.bounds[3]
        yield design.problem(
            ("bore", "height"),
            "bore-outside",
            "the bore does not meet the body",
            f"a height between {low:.4g} and {high:.4g} mm",
        )
        return
    if not body.bore_in_wood:
        window = _window_over_bore(body)
        if window is not None:
            yield design.problem(
                window, "bore-in-window", "this window opens the bore", _BREAKS_OUT[WallSide.WINDOW][2]
            )
            return
        yield design.problem(
            ("bore", "depth"),
            "bore-outside",
            "the bore runs out of the wood between its mouth and its blind end",
            "wood all along the bore",
        )
        return
    for side, wall in body.walls.items():
        if wall.value_mm <= 0:
            key, where, expected = _BREAKS_OUT[side]
            window = _window_over_bore(body) if side is WallSide.WINDOW else None
            if window is not None:
                yield design.problem(window, "bore-in-window", "this window opens the bore", expected)
                continue
            yield design.problem(
                ("bore", key),
                "bore-breaks-out",
                f"the bore breaks out {where} near x = {wall.at_other[0]:.1f} mm",
                expected,
            )


def _window_over_bore(body: Body) -> tuple[str | int, ...] | None:
    """The keys of the first window that the bore runs into; None when there is none.

    Seen from the side and from above the bore is a strip; a window is cut right through, so it meets the
    bore where it meets the strip.
    """
    if body.rim is None:
        return None
    views = (body.rim.side_view, body.rim.top_view)
    side, above = (shapely.Polygon([*mouth, *blind]) for mouth, blind in views)
    for view, outline, strip in (("profile", body.profile, side), ("plan", body.plan, above)):
        table = body.design.source.values.get(view)
        written = table.get("window") if isinstance(table, dict) else None
        count = len(written) if isinstance(written, list) else 0
        # The windows of the file come first, then the mirror images of those beside the centre line.
        for number, ring in enumerate(outline.windows):
            if number < count and shapely.Polygon(ring.flattened(FINE_MM)[0]).intersects(strip):
                return (view, "window", number)
    return None


def _axle_faults(body: Body) -> Iterator[Problem]:
    design = body.design
    walls = zip(body.axle_holes, body.axle_skins, body.axle_windows, strict=True)
    for place, (hole, skin, windows) in zip(design.axles, walls, strict=True):
        end = place.end.value
        keys = ("axles", end, "height")
        x0, x1 = body.x_nose, body.x_tail
        if not x0 < hole.x < x1 or skin.value_mm <= 0:
            span = body.height_at(hole.x)
            if span is None:
                keys = ("axles", end, "x")
                expected = f"x between {x0:.4g} and {x1:.4g} mm"
            else:
                expected = f"a height between {span[0] + hole.radius:.4g} and {span[1] - hole.radius:.4g} mm"
            yield design.problem(
                keys, "axle-hole-outside", f"the {end} axle hole is not all in wood", expected
            )
        elif windows is not None and windows.value_mm <= 0:
            yield design.problem(
                keys,
                "axle-hole-outside",
                f"the {end} axle hole runs into a window",
                "wood between every hole and every window",
            )
        if body.rim is not None:
            wall = bore_to_axle(body.rim, hole)
            if wall.value_mm <= 0:
                yield design.problem(
                    keys,
                    "axle-in-bore",
                    f"the {end} axle hole runs into the bore by {-wall.value_mm:.2f} mm",
                    "wood between the axle hole and the bore: a lower hole, or one ahead of the bore",
                )
    if axle_to_axle(*body.axle_holes).value_mm <= 0:
        yield design.problem(
            ("axles", "rear", "x"),
            "axle-holes-meet",
            "the two axle holes run into each other",
            "two holes apart",
        )
    front, rear = design.axles
    gap = rear.x_mm - front.x_mm - front.wheel.radius_mm - rear.wheel.radius_mm
    if gap <= 0:
        yield design.problem(
            ("axles", "rear", "x"),
            "wheels-meet",
            "the front and rear wheels run into each other",
            f"axles at least {rear.x_mm - front.x_mm - gap:.4g} mm apart",
        )


def _eye_faults(body: Body) -> Iterator[Problem]:
    design = body.design
    names = ("front", "rear")
    walls = zip(body.eye_pilots, body.pilot_skins, body.bore_pilots, strict=True)
    for index, (pilot, skin, to_bore) in enumerate(walls):
        keys = ("screw_eye", index)
        if pilot is None or skin is None:
            yield design.problem(
                keys,
                "eye-outside",
                "there is no wood over this screw eye",
                "a place on the underside of the body",
            )
            continue
        if skin.value_mm <= 0:
            yield design.problem(
                keys,
                "eye-breaks-out",
                f"the screw eye's hole, {pilot.depth:.4g} mm deep, comes out of the wood",
                "thicker wood, or a shorter screw eye",
            )
        for name, hole in zip(names, body.axle_holes, strict=True):
            if pilot_to_axle(pilot, hole).value_mm <= 0:
                away = hole.radius + pilot.radius
                yield design.problem(
                    keys,
                    "eye-in-axle-hole",
                    f"the screw eye's hole runs into the {name} axle hole",
                    f"more than {away:.4g} mm from the axle's centre",
                )
        if to_bore is not None and to_bore.value_mm <= 0:
            yield design.problem(
                keys, "eye-in-bore", "the screw eye's hole runs into the bore", "a place ahead of the bore"
            )
