"""The body as a mesh: tubes laid over its sections, windows and holes cut out of them.

One maker for every file and picture that is made of triangles; it needs no 3D kernel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body import AxleHole, Body, BoreHole, PilotHole, Sections
from bodyshop.car.body.holes import Cylinder
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.geometry.outlines import Array, Outline
from bodyshop.solids.errors import SolidError
from bodyshop.solids.forms import SAME_MM, cut, joined, quarter_steps, rod, tube, window_tool
from bodyshop.solids.mesh import CHORD_MM, Ints, Mesh, closed_mesh

if TYPE_CHECKING:
    from manifold3d import Manifold

__all__ = ["body_mesh", "hole_rods", "sections_mesh"]

# A mesh's volume may differ from that of the sections by this share. Chords run inside a bulge, so it falls
# short of them; what is missing goes with the chord.
_SHORT = 8e-4
_TRIES = 5
# On rounded edges two chords add up, along the body and round the edge.
_SHARE = 0.55
# How much wider a hole is made where it only grazes a face, mm: its wall would have no thickness.
_WIDER_MM = (0.0, 0.01, -0.002, 0.02)
# How far a tool for a window stands out of the body, mm.
_BEYOND_MM = 1.0


def body_mesh(body: Body, chord_mm: float = CHORD_MM) -> Mesh:
    """The drilled body of a design, within `chord_mm` of it and within a thousandth of its volume.

    Raises:
        SolidError: placed in the design's file.
        ValueError: the chord is not positive.
    """
    try:
        return sections_mesh(body.sections, body.bore, body.axle_holes, body.pilots, chord_mm)
    except SolidError as fault:
        raise fault.named(body.design.source.name) from fault


def sections_mesh(
    sections: Sections,
    bore: BoreHole | None = None,
    axle_holes: Sequence[AxleHole] = (),
    pilots: Sequence[PilotHole] = (),
    chord_mm: float = CHORD_MM,
) -> Mesh:
    """A body and its holes as a mesh.

    Raises:
        SolidError: no mesh closes, or none has the volume of the sections.
        ValueError: the chord is not positive.
    """
    if not chord_mm > 0:
        raise ValueError("the chord must be positive")
    whole = _whole(sections, chord_mm)
    rods = hole_rods(sections, bore, axle_holes, pilots)
    for wider in _WIDER_MM if rods else ():
        try:
            return closed_mesh(cut(whole, [rod(one, chord_mm, wider) for one in rods]), chord_mm)
        except SolidError:
            continue
    return closed_mesh(cut(whole, [rod(one, chord_mm) for one in rods]), chord_mm)


def hole_rods(
    sections: Sections,
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
    pilots: Sequence[PilotHole],
) -> list[Cylinder]:
    """A cylinder for each hole, long enough to leave the body: the bore beyond its mouth, axle holes at
    both sides, pilots below the underside.
    """
    _, y0, _, y1 = sections.plan.bounds
    rods = []
    if bore is not None:
        beyond = 3 * bore.radius
        rods.append(
            Cylinder(bore.rod.start - beyond * bore.axis, bore.axis, bore.radius, bore.depth + beyond)
        )
    across, up = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    rods.extend(Cylinder(np.array([h.x, y0 - 1.0, h.z]), across, h.radius, y1 - y0 + 2.0) for h in axle_holes)
    rods.extend(Cylinder(np.array([p.x, p.y, p.z - p.depth]), up, p.radius, 2 * p.depth) for p in pilots)
    return rods


def _whole(sections: Sections, chord_mm: float) -> Manifold:
    """The body before drilling, at a chord at which its volume is near enough.

    Raises:
        SolidError: no chord gives the volume of the sections.
    """
    expected = undrilled_moments(sections).volume
    cuts = bool(sections.profile.windows or sections.plan.windows)
    # The edges are rounded while the body is whole; windows are cut afterwards.
    outside = sections
    if cuts:
        outside = Sections(
            Outline(sections.profile.outer), Outline(sections.plan.outer), sections.edge_round_mm
        )
    chord, held = chord_mm, 0.0
    for _ in range(_TRIES):
        tubes = list(_tubes(outside, chord))
        if not tubes:
            raise SolidError("the mesh of the body is empty")
        form = cut(joined(tubes), list(_window_tools(sections, chord)))
        held = form.volume()
        off = abs(held / expected - 1)
        if off <= _SHORT:
            return form
        # No finer than this at once: where the volume never agrees, ever finer meshes would fill the memory.
        chord *= max(0.2, min(0.7, 0.8 * _SHORT / off))
    raise SolidError(
        f"the mesh of the body holds {held / 1000:.2f} cm3 where the sections hold {expected / 1000:.2f} cm3"
    )


def _window_tools(sections: Sections, chord: float) -> Iterator[Manifold]:
    _, y0, _, y1 = sections.plan.bounds
    _, z0, _, z1 = sections.profile.bounds
    for ring in sections.profile.windows:
        yield window_tool(ring, y0 - _BEYOND_MM, y1 + _BEYOND_MM, chord, upright=False)
    for ring in sections.plan.windows:
        yield window_tool(ring, z0 - _BEYOND_MM, z1 + _BEYOND_MM, chord, upright=True)


def _tubes(sections: Sections, chord: float) -> Iterator[Manifold]:
    """A tube for every run of rectangles that go on into each other."""
    share = chord * (_SHARE if sections.edge_round_mm > 0 else 1.0)
    corners = np.unique(
        np.concatenate([o.outer.flattened(share)[0][:, 0] for o in (sections.profile, sections.plan)])
    )
    for run in _runs(sections):
        x, which = _stations(sections, run, corners)
        r = sections.rectangles(which, x)
        made = tube(x, r.ring(quarter_steps(float(r.radius.max()), share)))
        if made is not None:
            yield made


def _stations(sections: Sections, run: Sequence[int], corners: Array) -> tuple[Array, Ints]:
    """Where a run is cut, and through which of its rectangles."""
    x, which = [sections.breaks[sections.slab[run[:1]]]], [np.array(run[:1])]
    for one in run:
        low, high = sections.breaks[sections.slab[one] : sections.slab[one] + 2]
        inside = corners[(corners > low + SAME_MM) & (corners < high - SAME_MM)]
        x.append(np.append(inside, high))
        which.append(np.full(inside.size + 1, one))
    return np.concatenate(x), np.concatenate(which)


def _runs(sections: Sections) -> list[list[int]]:
    """Rectangles that follow each other, each beginning as the one before it ends."""
    r, first = sections.grid.r, sections.first_rectangle
    runs: list[list[int]] = []
    open_runs: list[list[int]] = []
    for slab in range(sections.breaks.size - 1):
        going = []
        for i in range(int(first[slab]), int(first[slab + 1])):
            start = np.array([side[i, 0] for side in r.sides])
            before = next((run for run in open_runs if _same(start, run[-1], sections)), None)
            if before is None:
                before = []
                runs.append(before)
            else:
                open_runs.remove(before)
            before.append(i)
            going.append(before)
        open_runs = going
    return runs


def _same(start: Array, other: int, sections: Sections) -> bool:
    """A rectangle ends as the next one starts, and is more than a line there."""
    r = sections.grid.r
    end = np.array([side[other, -1] for side in r.sides])
    open_ = min(end[1] - end[0], end[3] - end[2]) > SAME_MM
    return bool(open_ and np.all(np.abs(end - start) < SAME_MM))
