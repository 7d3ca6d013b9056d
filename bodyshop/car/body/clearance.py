"""Least distances between holes, and from holes to the outline, windows and sides, with their place.

An axle hole runs straight across the car, a pilot stands upright, the bore lies along the car, so each
least distance is one in a view: against anything that runs across, the side view decides; against upright
faces, the top view does. Only an off-centre pilot beside a bore needs space geometry: two solid cylinders,
found by projecting to and fro, which converges because both are convex (von Neumann's alternating
projections).
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.ops import nearest_points

from bodyshop.car.body.holes import AxleHole, Cylinder, PilotHole, stacked
from bodyshop.car.body.rectangles import CORNERS
from bodyshop.car.body.rim import Rim, Wall
from bodyshop.car.body.section import Sections
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import FINE_MM, Array, Outline, Point

__all__ = [
    "axle_to_axle",
    "axle_to_outline",
    "axle_to_windows",
    "bore_to_axle",
    "bore_to_pilot",
    "pilot_to_axle",
    "pilot_to_skin",
]

# Nearer than this (mm) two solids meet: projecting to and fro does not get to zero.
MEET_MM = 1e-6
LOOKS_DOWN = math.cos(math.radians(45))
ROUNDED_STEPS, ROUNDED_ZOOMS = 25, 4


def axle_to_outline(hole: AxleHole, profile: Outline) -> Wall:
    """Wood between an axle hole and the outside of the profile, in the side view.

    Rounded edges at the hole's two mouths are not counted. Negative when the hole breaks out.
    """
    inside = bool(shapely.contains_xy(profile.outer_block, hole.x, hole.z))
    return _disc_to_line((hole.x, hole.z), hole.radius, profile.outer_line, inside=inside)


def axle_to_windows(hole: AxleHole, profile: Outline) -> Wall | None:
    """Wood between an axle hole and the nearest window of the profile; None without windows."""
    walls = [
        _disc_to_line(
            (hole.x, hole.z),
            hole.radius,
            line,
            inside=not shapely.Polygon(line).contains(shapely.Point(hole.x, hole.z)),
        )
        for line in profile.window_lines
    ]
    return min(walls, key=lambda w: w.value_mm, default=None)


def axle_to_axle(a: AxleHole, b: AxleHole) -> Wall:
    """Wood between two axle holes."""
    gap = math.hypot(b.x - a.x, b.z - a.z)
    ux, uz = ((b.x - a.x) / gap, (b.z - a.z) / gap) if gap > 0 else (1.0, 0.0)
    return Wall(
        gap - a.radius - b.radius,
        (a.x + a.radius * ux, 0.0, a.z + a.radius * uz),
        (b.x - b.radius * ux, 0.0, b.z - b.radius * uz),
    )


def bore_to_axle(rim: Rim, hole: AxleHole) -> Wall:
    """Wood between the bore and an axle hole: in the side view, a rectangle that ends at the rim and a
    circle; negative by how deep they run into each other.
    """
    bore = rim.bore
    along, up = (float(v) for v in bore.along_and_up(np.array(hole.x), np.array(hole.z)))
    past, off = along - bore.depth, abs(up) - bore.radius
    sign = 1.0 if up >= 0 else -1.0
    if off > 0 and along < rim.deepest:
        # Beside the rim.
        side, centre = _seen_from_side(rim), shapely.Point(hole.x, hole.z)
        near = nearest_points(side, centre)[0]
        gap = math.hypot(hole.x - near.x, hole.z - near.y)
        ux, uz = ((near.x - hole.x) / gap, (near.y - hole.z) / gap) if gap > 0 else (0.0, sign)
        end = (hole.x + hole.radius * ux, bore.y, hole.z + hole.radius * uz)
        return Wall(gap - hole.radius, (near.x, bore.y, near.y), end)
    if past <= 0 and off <= 0:
        distance = max(past, off)
        spot = (bore.depth, up) if past > off else (along, sign * bore.radius)
    else:
        distance = math.hypot(max(past, 0.0), max(off, 0.0))
        spot = (min(along, bore.depth), max(-bore.radius, min(up, bore.radius)))
    px, pz = bore.point(*spot)
    size = math.hypot(px - hole.x, pz - hole.z)
    # From a centre inside the bore the hole's far side is the one that is deepest in.
    turn = -1.0 if distance < 0 else 1.0
    ux, uz = (turn * (px - hole.x) / size, turn * (pz - hole.z) / size) if size > 0 else (0.0, 1.0)
    other = (hole.x + hole.radius * ux, bore.y, hole.z + hole.radius * uz)
    return Wall(distance - hole.radius, (px, bore.y, pz), other)


def _seen_from_side(rim: Rim) -> shapely.Polygon:
    mouth, blind = rim.side_view
    return shapely.Polygon([*mouth, *blind])


def pilot_to_axle(pilot: PilotHole, hole: AxleHole) -> Wall:
    """Wood between a screw-eye pilot and an axle hole, in the side view; negative where they meet."""
    dx = max(abs(hole.x - pilot.x) - pilot.radius, 0.0)
    dz = max(hole.z - (pilot.z + pilot.depth), pilot.z - hole.z, 0.0)
    distance, turn = math.hypot(dx, dz), 1.0
    px = min(max(hole.x, pilot.x - pilot.radius), pilot.x + pilot.radius)
    pz = min(max(hole.z, pilot.z), pilot.z + pilot.depth)
    if distance == 0:
        # From a centre inside the pilot the hole's far side is the one that is deepest in.
        turn = -1.0
        beside, above = abs(hole.x - pilot.x) - pilot.radius, hole.z - (pilot.z + pilot.depth)
        distance = max(beside, above)
        if above >= beside:
            pz = pilot.z + pilot.depth
        else:
            px = pilot.x + math.copysign(pilot.radius, hole.x - pilot.x)
    size = math.hypot(px - hole.x, pz - hole.z)
    ux, uz = (turn * (px - hole.x) / size, turn * (pz - hole.z) / size) if size > 0 else (0.0, -1.0)
    return Wall(
        distance - hole.radius,
        (px, pilot.y, pz),
        (hole.x + hole.radius * ux, pilot.y, hole.z + hole.radius * uz),
    )


def bore_to_pilot(rim: Rim, pilot: PilotHole) -> Wall:
    """Wood between the bore and a screw-eye pilot; negative or 0 where they meet."""
    bore = rim.bore
    if pilot.y == bore.y:
        # Both are symmetric about one upright plane, and convex: the nearest points lie in it.
        x0, x1, z0, z1 = pilot.x - pilot.radius, pilot.x + pilot.radius, pilot.z, pilot.z + pilot.depth
        box = shapely.box(x0, z0, x1, z1)
        side = _seen_from_side(rim)
        on_bore, on_pilot = nearest_points(side, box)
        value = float(side.distance(box))
        if value == 0:
            low = bore.z - bore.radius + max(0.0, (bore.x - pilot.x)) * math.tan(bore.tilt)
            value = -max(0.0, min(pilot.z + pilot.depth - low, 2 * bore.radius))
            return Wall(value, (pilot.x, bore.y, low), (pilot.x, pilot.y, low - value))
        return Wall(value, (on_bore.x, bore.y, on_bore.y), (on_pilot.x, pilot.y, on_pilot.y))
    upright = Cylinder(
        np.array([pilot.x, pilot.y, pilot.z]), np.array([0.0, 0.0, 1.0]), pilot.radius, pilot.depth
    )
    p = upright.start + 0.5 * pilot.depth * upright.axis
    q = p
    # Run on to where the rim reaches farthest back.
    beyond = max(-float(rim.points[3].min()), 0.0)
    drilled = Cylinder(bore.rod.start - beyond * bore.axis, bore.axis, bore.radius, bore.depth + beyond)
    for _ in range(2000):
        q = _project(drilled, p)
        moved = _project(upright, q)
        if float(np.abs(moved - p).max()) < 1e-9:
            break
        p = moved
    if rim.behind(*(q + 1e-3 * (p - q))[:, None])[0]:
        # Beside the rim.
        ends = rim.points[:3].T
        held = np.array([_project(upright, end) for end in ends])
        i = int(np.argmin(np.linalg.norm(ends - held, axis=1)))
        q, p = ends[i], held[i]
    value = float(np.linalg.norm(p - q))
    if value < MEET_MM:
        # They meet: how far up the pilot's inner side is past the bore's underside there.
        inner = max(abs(pilot.y - bore.y) - pilot.radius, 0.0)
        half = math.sqrt(max(bore.radius**2 - inner**2, 0.0))
        low = bore.z - half + max(0.0, bore.x - pilot.x) * math.tan(bore.tilt)
        value = -max(0.0, min(pilot.z + pilot.depth - low, 2 * half))
        y = bore.y + math.copysign(inner, pilot.y - bore.y)
        return Wall(value, (pilot.x, y, low), (pilot.x, y, low - value))
    return Wall(value, _point3(q), _point3(p))


def pilot_to_skin(pilot: PilotHole, sections: Sections) -> Wall:
    """Wood round a screw-eye pilot: over and ahead of it in the side view, beside it in the top view, and to
    rounded edges.

    Faces that look down, within 45 degrees, are the underside that it is drilled into and are left out.
    Negative by how far it comes out.
    """
    profile, plan = sections.profile, sections.plan
    walls = [_over_pilot(pilot, profile)]
    inside = bool(shapely.contains_xy(plan.block, pilot.x, pilot.y))
    for line in (plan.outer_line, *plan.window_lines):
        flat = _disc_to_line((pilot.x, pilot.y), pilot.radius, line, inside=inside)
        z = pilot.z + 0.5 * pilot.depth
        walls.append(
            Wall(
                flat.value_mm,
                (flat.at_hole[0], flat.at_hole[2], z),
                (flat.at_other[0], flat.at_other[2], z),
            )
        )
    least = min(walls, key=lambda w: w.value_mm)
    # All of a rounded edge lies within its radius of the side.
    if min(w.value_mm for w in walls[1:]) - sections.edge_round_mm < least.value_mm:
        return min(least, *_to_rounded(pilot, sections, least.value_mm), key=lambda w: w.value_mm)
    return least


def _to_rounded(pilot: PilotHole, sections: Sections, limit_mm: float) -> list[Wall]:
    """From a pilot to the rounded edges near it, as far as they do not look down within 45 degrees: the
    nearest of points over them, closing in; none where there is no rounding.
    """
    if sections.edge_round_mm <= 0:
        return []
    reach = pilot.radius + max(limit_mm, 0.0)
    found: list[Wall] = []
    for corner in range(len(CORNERS)):
        x_low, x_high, low, high = pilot.x - reach, pilot.x + reach, 0.0, 1.0
        best: Wall | None = None
        for _ in range(ROUNDED_ZOOMS):
            x = np.linspace(max(x_low, sections.x_min), min(x_high, sections.x_max), ROUNDED_STEPS)
            share = np.linspace(low, high, ROUNDED_STEPS)
            station, r = stacked(sections, x)
            edge = r.contour()
            angle = edge.start[corner][:, None] + edge.sweep[corner][:, None] * share
            y = edge.centre_y[corner][:, None] + r.radius[:, None] * np.cos(angle)
            z = edge.centre_z[corner][:, None] + r.radius[:, None] * np.sin(angle)
            beside = np.hypot((x[station] - pilot.x)[:, None], y - pilot.y) - pilot.radius
            above = np.maximum(z - (pilot.z + pilot.depth), pilot.z - z)
            away = np.hypot(np.maximum(beside, 0.0), np.maximum(above, 0.0))
            away = np.where((beside < 0) & (above < 0), np.maximum(beside, above), away)
            away[(edge.sweep[corner] <= 0)[:, None] | (np.sin(angle) < -LOOKS_DOWN - 1e-9)] = np.inf
            i, j = divmod(int(np.argmin(away)), ROUNDED_STEPS) if away.size else (0, 0)
            if not away.size or not math.isfinite(away[i, j]):
                break
            spot = (float(x[station[i]]), float(y[i, j]), float(z[i, j]))
            best = _from_pilot(pilot, spot, float(away[i, j]))
            x_low, x_high = spot[0] - float(x[1] - x[0]), spot[0] + float(x[1] - x[0])
            step = float(share[1] - share[0])
            low, high = max(float(share[j]) - step, 0.0), min(float(share[j]) + step, 1.0)
        if best is not None:
            found.append(best)
    return found


def _from_pilot(pilot: PilotHole, spot: Point3, value: float) -> Wall:
    """A wall from the point of a pilot nearest to `spot`, so far away."""
    dx, dy = spot[0] - pilot.x, spot[1] - pilot.y
    size = math.hypot(dx, dy)
    top = pilot.z + pilot.depth
    share = min(1.0, pilot.radius / size) if size > 0 else 0.0
    z = min(max(spot[2], pilot.z), top)
    if value < 0:
        # The spot lies inside the pilot: the nearest of its faces is how deep.
        if size > 0 and size - pilot.radius >= max(spot[2] - top, pilot.z - spot[2]):
            share = pilot.radius / size
        else:
            z = top if top - spot[2] <= spot[2] - pilot.z else pilot.z
    return Wall(value, (pilot.x + share * dx, pilot.y + share * dy, z), spot)


def _over_pilot(pilot: PilotHole, profile: Outline) -> Wall:
    """The pilot as a rectangle in the side view against every edge of outline and windows that does not
    look down.
    """
    points = [ring.flattened(FINE_MM)[0] for ring in profile.rings]
    start = np.concatenate(points)
    edge = np.concatenate([np.concatenate((p[1:], p[:1])) for p in points]) - start
    # Wood is on the left, so an edge that runs towards the tail looks down.
    keep = edge[:, 0] <= LOOKS_DOWN * np.hypot(edge[:, 0], edge[:, 1])
    start, edge = start[keep], edge[keep]
    x0, x1, z0, z1 = pilot.x - pilot.radius, pilot.x + pilot.radius, pilot.z, pilot.z + pilot.depth
    # Only edges whose own box is as near as the nearest end of any edge can matter.
    low, high = np.minimum(start, start + edge), np.maximum(start, start + edge)
    near = np.hypot(*_gaps(low, high, (x0, z0), (x1, z1)))
    bound = np.hypot(*_gaps(start, start, (x0, z0), (x1, z1))).min()
    start, edge = start[near <= bound], edge[near <= bound]
    # Between a rectangle and an edge the nearest is an end of the edge or a corner of the rectangle.
    ends = np.concatenate((start, start + edge))
    held = np.stack((np.clip(ends[:, 0], x0, x1), np.clip(ends[:, 1], z0, z1)), axis=1)
    corners = np.array([(x0, z0), (x1, z0), (x1, z1), (x0, z1)])
    off = corners[:, None] - start
    share = np.clip(np.sum(off * edge, axis=-1) / np.maximum(np.sum(edge * edge, axis=-1), 1e-300), 0, 1)
    feet = (start + share[..., None] * edge).reshape(-1, 2)
    on_pilot = np.concatenate((held, np.repeat(corners, len(start), axis=0)))
    on_edge = np.concatenate((ends, feet))
    distance = np.hypot(*(on_pilot - on_edge).T)
    i = int(np.argmin(distance))
    (px, pz), (qx, qz) = on_pilot[i], on_edge[i]
    value = float(distance[i])
    # What crosses the pilot: how much of it is over the lowest crossing.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        enters, leaves = np.sort((np.array([[x0], [x1]]) - start[:, 0]) / edge[:, 0], axis=0)
        first, last = np.fmax(enters, 0.0), np.fmin(leaves, 1.0)
        heights = np.sort(start[:, 1] + np.stack((first, last)) * edge[:, 1], axis=0)
    low = heights[0]
    out = (first <= last) & (low < z1) & (heights[1] > z0)
    if np.any(out):
        px, pz, qx, qz = pilot.x, z1, pilot.x, max(float(low[out].min()), z0)
        value = qz - pz
    return Wall(value, (float(px), pilot.y, float(pz)), (float(qx), pilot.y, float(qz)))


def _gaps(low: Array, high: Array, corner0: Point, corner1: Point) -> tuple[Array, Array]:
    """How far boxes lie from a rectangle, along each axis."""
    gap = np.maximum(np.maximum(low - np.array(corner1), np.array(corner0) - high), 0.0)
    return gap[:, 0], gap[:, 1]


def _disc_to_line(centre: Point, radius: float, line: shapely.Geometry, *, inside: bool) -> Wall:
    """From a circle in the side view to a line; the ends come as (u, 0, v).

    Negative by how far the circle reaches past the line: with its centre past it, its far side is farthest.
    """
    spot = shapely.Point(centre)
    near = line.interpolate(line.project(spot))
    gap = float(spot.distance(near))
    ux, uz = ((near.x - centre[0]) / gap, (near.y - centre[1]) / gap) if gap > 0 else (0.0, -1.0)
    if not inside:
        ux, uz = -ux, -uz
    value = (gap if inside else -gap) - radius
    return Wall(
        value, (centre[0] + radius * ux, 0.0, centre[1] + radius * uz), (float(near.x), 0.0, float(near.y))
    )


def _project(rod: Cylinder, point: Array) -> Array:
    """The point of a solid cylinder nearest to `point`."""
    along = float((point - rod.start) @ rod.axis)
    across = point - rod.start - along * rod.axis
    size = float(np.linalg.norm(across))
    if size > rod.radius:
        across = across * (rod.radius / size)
    held: Array = rod.start + min(max(along, 0.0), rod.length) * rod.axis + across
    return held


def _point3(p: Array) -> Point3:
    return (float(p[0]), float(p[1]), float(p[2]))
