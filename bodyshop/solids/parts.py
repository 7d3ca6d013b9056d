"""The parts of the whole car as solids, and the car put together of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.body import PilotHole
from bodyshop.car.design.model import Design
from bodyshop.car.stock.hardware import Axle, Bearing, Cartridge, ScrewEye, Washer, Wheel
from bodyshop.solids.mesh import CHORD_MM, Mesh
from bodyshop.solids.part_forms import BodyForm, EyeForm, PartForm, TurnedForm
from bodyshop.solids.threemf import HERE, ModelPart, ModelWords, Move, threemf_bytes

__all__ = ["CarPart", "assembly_3mf_bytes", "body_3mf_bytes", "car_parts", "model_words"]


WOOD: Final = "#D9B382"
STEEL: Final = "#9AA3AD"
BRASS: Final = "#C9A227"
PLASTIC: Final = "#F2F2F0"
RUBBERY: Final = "#2F3338"
SHELL: Final = "#B8BEC4"
_COLOURS: Final = {"steel": STEEL, "brass": BRASS}

# A hub's diameter, as a share of the wheel's and of its hole's: common practice, no published source.
HUB_OF_WHEEL, HUB_OF_HOLE = 0.3, 2.2


@dataclass(frozen=True, slots=True)
class CarPart:
    """One part of the car. `kind` names its form, which parts of the same kind share; `volume_mm3` follows
    from its sizes.
    """

    name: str
    kind: str
    form: PartForm
    move: Move
    colour: str
    material: str
    volume_mm3: float


def car_parts(car: Car, body: BodyForm) -> list[CarPart]:
    """The body and everything that is put to it: the cartridge seated, screw eyes turned home, rings facing
    nose and tail. An axle whose hole is not in wood, an eye without wood over it, and a cartridge without a
    bore are left out.
    """
    design = car.design
    parts = [CarPart("body", "body", body, HERE, WOOD, design.wood.label, car.body.volume)]
    for stack in car.stacks:
        parts.extend(_stack_parts(stack))
    parts.extend(_eye_parts(design, car.body.eye_pilots))
    bore = car.body.bore
    if bore is not None:
        x, z = bore.point(bore.depth)
        towards = tuple(-float(v) for v in bore.axis)
        form, volume = _cartridge(design.cartridge)
        place = _laid((x, bore.y, z), (towards[0], towards[1], towards[2]))
        parts.append(CarPart("cartridge", "cartridge", form, place, SHELL, "steel shell", volume))
    return parts


# ---------------------------------------------------------------- what is on an axle


def _stack_parts(stack: AxleStack) -> Iterator[CarPart]:
    axle, end = stack.axle, stack.axle.end.value
    x, z, middle = axle.x_mm, axle.height_mm, stack.middle

    def across(y: float, side: float = 1.0) -> Move:
        return _laid((x, y, z), (0.0, side, 0.0))

    form, volume = _rod(axle.axle, stack.axle_length_mm)
    yield CarPart(
        f"{end} axle",
        f"{end} axle",
        form,
        across(middle - 0.5 * stack.axle_length_mm),
        *_look(axle.axle),
        volume,
    )
    if axle.bearing is not None:
        form, volume = _tube(axle.bearing, stack.bearing_length_mm)
        yield CarPart(
            f"{end} bearing", f"{end} bearing", form, across(stack.faces[0]), *_look(axle.bearing), volume
        )
    wheel, wheel_volume = _wheel(axle.wheel)
    ring = _washer(axle.washer) if axle.washer is not None and axle.washers else None
    for side, word in ((-1.0, "left"), (1.0, "right")):
        hub = middle + side * (stack.hub_inner_mm - middle)
        yield CarPart(
            f"{end} wheel, {word}", f"{end} wheel", wheel, across(hub, side), RUBBERY, "plastic", wheel_volume
        )
        if ring is None or axle.washer is None:
            continue
        for number in range(axle.washers):
            # Against the hub; the play is left at the body.
            y = hub - side * (number + 1) * axle.washer.thickness_mm
            which = f" {number + 1}" if axle.washers > 1 else ""
            yield CarPart(
                f"{end} washer, {word}{which}",
                f"{end} washer",
                ring[0],
                across(y, side),
                *_look(axle.washer),
                ring[1],
            )


def _look(item: Axle | Bearing | Washer | ScrewEye) -> tuple[str, str]:
    """Colour and material."""
    return _COLOURS.get(item.material.id, PLASTIC), item.material.label


def _rod(axle: Axle, length: float) -> tuple[PartForm, float]:
    r = 0.5 * axle.diameter_mm
    return TurnedForm(((0.0, 0.0), (length, 0.0), (length, r), (0.0, r))), math.pi * r * r * length


def _tube(bearing: Bearing, length: float) -> tuple[PartForm, float]:
    return _ring(0.5 * bearing.inner_mm, 0.5 * bearing.outer_mm, length)


def _washer(washer: Washer) -> tuple[PartForm, float]:
    return _ring(0.5 * washer.inner_mm, 0.5 * washer.outer_mm, washer.thickness_mm)


def _ring(inner: float, outer: float, length: float) -> tuple[PartForm, float]:
    corners = ((0.0, inner), (length, inner), (length, outer), (0.0, outer))
    return TurnedForm(corners), math.pi * (outer**2 - inner**2) * length


def _wheel(wheel: Wheel) -> tuple[PartForm, float]:
    """The tread as a disc and the hub through it, from the hub's inner end outward."""
    hole, rim = 0.5 * wheel.bore_mm, wheel.radius_mm
    hub = 0.5 * min(max(HUB_OF_WHEEL * wheel.diameter_mm, HUB_OF_HOLE * wheel.bore_mm), wheel.diameter_mm)
    t0, t1 = wheel.hub_inboard_mm, wheel.hub_inboard_mm + wheel.width_mm
    # A hub reaches its tread, whatever the two lengths say.
    h0, h1 = min(0.0, t1), max(wheel.hub_length_mm, t0)
    profile = [(min(h0, t0), hole), (max(h1, t1), hole)]
    profile += [(h1, hub), (t1, hub)] if h1 > t1 else []
    profile += [(t1, rim), (t0, rim)]
    profile += [(t0, hub), (h0, hub)] if h0 < t0 else []
    area = (rim**2 - hole**2) * wheel.width_mm
    area += (hub**2 - hole**2) * (max(h1 - t1, 0.0) + max(t0 - h0, 0.0))
    return TurnedForm(tuple(profile)), math.pi * area


# ---------------------------------------------------------------- screw eyes and cartridge


def _eye_parts(design: Design, pilots: Sequence[PilotHole | None]) -> Iterator[CarPart]:
    placed = [(place, pilot) for place, pilot in zip(design.eyes, pilots, strict=True) if pilot is not None]
    forms: dict[str, tuple[PartForm, float]] = {}
    for number, (place, pilot) in enumerate(placed, 1):
        eye = place.eye
        if eye.id not in forms:
            forms[eye.id] = _screw_eye(eye)
        form, volume = forms[eye.id]
        # The ring's outside rests on the wood.
        move = (
            (1.0, 0.0, 0.0, place.x_mm),
            (0.0, 1.0, 0.0, place.offset_mm),
            (0.0, 0.0, 1.0, pilot.z - 0.5 * eye.ring_outer_mm),
        )
        yield CarPart(f"screw eye {number}", f"screw eye, {eye.id}", form, move, *_look(eye), volume)


def _screw_eye(eye: ScrewEye) -> tuple[PartForm, float]:
    wire, ring = 0.5 * eye.wire_mm, 0.5 * (eye.ring_inner_mm + eye.wire_mm)
    length = eye.shank_length_mm + wire
    volume = 2 * math.pi**2 * ring * wire**2 + math.pi * wire**2 * length - _in_ring(ring, wire)
    return EyeForm(ring, wire, length), volume


def _in_ring(ring: float, wire: float) -> float:
    """What a shank that starts on the middle of the wire shares with the ring, mm^3.

    In the plane u across the wire (along x) the ring fills radii up to ring + s, s = sqrt(wire^2 - u^2), of
    which the shank, |y| < s, takes the piece over the chord at height `ring`, half as long as b.
    """
    steps = 400
    total = 0.0
    for k in range(steps):
        # Even steps of an angle: the end where the chord shrinks away is then smooth.
        angle = math.pi * (k + 0.5) / steps
        s = wire * math.sin(angle)
        radius = ring + s
        b = min(s, math.sqrt(radius**2 - ring**2))
        under = 0.5 * (b * math.sqrt(radius**2 - b**2) + radius**2 * math.asin(b / radius))
        total += 2 * (under - ring * b) * wire * math.sin(angle) * math.pi / steps
    return total


def _cartridge(cartridge: Cartridge) -> tuple[PartForm, float]:
    """A round base, a straight shell, a shoulder at 45 degrees and a neck as long as it is wide.

    The table gives length, diameter and neck; where they leave no room for such a shoulder it is plain.
    """
    r, neck, length = 0.5 * cartridge.diameter_mm, 0.5 * cartridge.neck_diameter_mm, cartridge.length_mm
    slope = r - neck
    top = length - cartridge.neck_diameter_mm
    base = r
    if neck >= r or top - slope <= base:
        neck, slope, top, base = r, 0.0, length, min(r, 0.5 * length)
    corners = [(length, neck), (top, neck), (top - slope, r)] if slope else [(length, r)]
    form = TurnedForm(((0.0, 0.0), (length, 0.0), *corners, (base, r)), base)
    # Half an ellipsoid, a cylinder, the frustum of a cone, a cylinder.
    volume = math.pi * (
        2 / 3 * r * r * base
        + r * r * (top - slope - base)
        + slope / 3 * (r * r + r * neck + neck * neck)
        + neck * neck * (length - top)
    )
    return form, volume


# ---------------------------------------------------------------- places and files


def _laid(start: tuple[float, float, float], way: tuple[float, float, float]) -> Move:
    """A part that lies along x from 0, moved so that it starts at `start` and runs along the unit `way`,
    which lies level or along the car.
    """
    x = way
    # Any direction square to it serves, since all these parts are round: the one nearest to upright.
    up = (0.0, 0.0, 1.0) if abs(x[2]) < 0.9 else (1.0, 0.0, 0.0)
    along = sum(u * v for u, v in zip(up, x, strict=True))
    z = tuple(u - along * v for u, v in zip(up, x, strict=True))
    size = math.hypot(*z)
    z = tuple(v / size for v in z)
    y = (z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0])
    rows = tuple((x[k], y[k], z[k], start[k]) for k in range(3))
    return (rows[0], rows[1], rows[2])


def model_words(design: Design, what: str, chord_mm: float) -> ModelWords:
    """What a file says of a design; `what` it holds, in a few words."""
    return ModelWords(
        title=design.name,
        designer=design.bench,
        description=f"{what}; lengths in mm, flat faces within {chord_mm:g} mm of the true shape; "
        f"fingerprint {design.fingerprint}",
        fingerprint=design.fingerprint,
    )


def body_3mf_bytes(mesh: Mesh, design: Design) -> bytes:
    """The body as 3MF."""
    part = ModelPart(design.name or "body", "body", mesh, colour=WOOD, material=design.wood.label)
    return threemf_bytes([part], model_words(design, "Body of a wooden car", mesh.chord_mm))


def assembly_3mf_bytes(parts: Sequence[CarPart], design: Design, *, chord_mm: float = CHORD_MM) -> bytes:
    """The car as 3MF, every part an object with its name.

    Raises:
        SolidError: a mesh does not close; nothing may be written.
    """
    meshes: dict[str, Mesh] = {}
    for part in parts:
        if part.kind not in meshes:
            meshes[part.kind] = part.form.mesh(chord_mm)
    model = [ModelPart(p.name, p.kind, meshes[p.kind], p.move, p.colour, p.material) for p in parts]
    return threemf_bytes(model, model_words(design, "Wooden car with its wheels on", chord_mm))
