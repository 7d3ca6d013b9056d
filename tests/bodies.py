"""Bodies and cars made in a few words, for tests of floors 3 and up. Every figure is invented."""

from __future__ import annotations

from collections.abc import Sequence

from bodyshop.car.assembly import Car
from bodyshop.car.body import Body
from bodyshop.car.design.model import AxleEnd, AxleSet, Bore, Design, EyePlace
from bodyshop.car.stock.blanks import Blank, blanks
from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import Wheel, hardware
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.toml import parse_source
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Outline, Point, Radius, Ring, Vertex, build_chain

__all__ = [
    "axle",
    "body",
    "box",
    "car",
    "design",
    "disc",
    "eye",
    "half",
    "outline",
    "rectangle",
    "ring",
]

Spot = Vertex | Point


def ring(*spots: Spot, mirror: bool = False, left: bool = True) -> Ring:
    """A closed ring through points and vertices; anticlockwise, or clockwise for a window."""
    chain, faults = build_chain([s if isinstance(s, Vertex) else Vertex(s) for s in spots], mirror=mirror)
    assert not faults, faults
    assert chain is not None
    return Ring(chain.curves, chain.owners).turned(left=left)


def outline(*spots: Spot, windows: Sequence[Ring] = ()) -> Outline:
    """An outline through points, with windows."""
    return Outline(ring(*spots), tuple(w.turned(left=False) for w in windows))


def half(*spots: Spot, windows: Sequence[Ring] = ()) -> Outline:
    """A plan from its left half, nose to tail; `windows` are those of both sides."""
    return Outline(ring(*spots, mirror=True), tuple(w.turned(left=False) for w in windows))


def rectangle(u0: float, v0: float, u1: float, v1: float) -> Ring:
    """A ring with square corners."""
    return ring((u0, v0), (u1, v0), (u1, v1), (u0, v1))


def disc(u: float, v: float, r: float) -> Ring:
    """A round ring, of four quarter circles."""
    return ring(
        Vertex((u + r, v), Radius(r)),
        Vertex((u, v + r), Radius(r)),
        Vertex((u - r, v), Radius(r)),
        Vertex((u, v - r), Radius(r)),
    )


def box(
    length: float, width: float, height: float, *, x: float = 0.0, z: float = 0.0
) -> tuple[Outline, Outline]:
    """Profile and plan of a box."""
    return (
        Outline(rectangle(x, z, x + length, z + height)),
        Outline(rectangle(x, -width / 2, x + length, width / 2)),
    )


def axle(
    end: AxleEnd,
    x: float,
    height: float,
    *,
    hole: float = 4.0,
    wheel: str | Wheel = "wheel-34",
    washers: int = 1,
    play: float = 0.5,
    length: float | None = None,
    bearing: str = "straw-4",
    washer: str = "washer-3",
) -> AxleSet:
    """An axle with stock parts."""
    stock = hardware()
    return AxleSet(
        end=end,
        x_mm=x,
        height_mm=height,
        hole_mm=hole,
        axle=stock.axles["axle-3"],
        length_mm=length,
        bearing=stock.bearings[bearing] if bearing else None,
        wheel=stock.wheels[wheel] if isinstance(wheel, str) else wheel,
        washer=stock.washers[washer] if washer else None,
        washers=washers if washer else 0,
        play_mm=play,
    )


def eye(x: float, offset: float = 0.0, kind: str = "screw-eye-small") -> EyePlace:
    """A stock screw eye placed by x."""
    return EyePlace(hardware().screw_eyes[kind], x, offset, None, 0.0)


def design(
    shape: tuple[Outline, Outline],
    *,
    edge_round: float = 0.0,
    bore: Bore | None = None,
    axles: tuple[AxleSet, AxleSet] | None = None,
    eyes: Sequence[EyePlace] = (),
    wood: str = "basswood",
    blank: str | Blank = "larkfield-block",
    weighed: float | None = None,
    finish: str = "bare",
    glue: str = "none",
    text: str = "format = 1",
) -> Design:
    """A design of a profile and a plan. Without `bore` or `axles`, holes far off the body: none."""
    profile, plan = shape
    x0, z0 = profile.bounds[:2]
    nowhere = Bore(10.0, 10.0, z0 - 1000.0)
    off = (
        axle(AxleEnd.FRONT, x0 - 1000.0, z0 - 1000.0),
        axle(AxleEnd.REAR, x0 - 900.0, z0 - 1000.0),
    )
    return Design(
        source=parse_source(text, "test.toml"),
        name="Dunlin",
        bench="Bench 3",
        unit=LengthUnit.MM,
        rulebook="",
        wood=woods()[wood],
        blank=blanks()[blank] if isinstance(blank, str) else blank,
        weighed_blank_g=weighed,
        balance_g=1.0,
        profile=profile,
        plan=plan,
        plan_mirrored=True,
        edge_round_mm=edge_round,
        bore=bore or nowhere,
        axles=axles or off,
        eyes=tuple(eyes),
        cartridge=hardware().cartridges["cartridge-8g"],
        finish=finishes()[finish],
        glue=glues()[glue],
        fingerprint="",
    )


def body(shape: tuple[Outline, Outline], **kw) -> Body:
    """A body of a profile and a plan."""
    return Body(design(shape, **kw))


def car(shape: tuple[Outline, Outline], **kw) -> Car:
    """A car of a profile and a plan."""
    return Car(design(shape, **kw))
