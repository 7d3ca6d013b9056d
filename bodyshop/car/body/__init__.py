"""What the two cuts and the drills leave: sections, integrals, walls, areas."""

from bodyshop.car.body.body import Body
from bodyshop.car.body.faults import body_faults
from bodyshop.car.body.holes import AxleHole, BoreHole, PilotHole
from bodyshop.car.body.moments import Moments
from bodyshop.car.body.rectangles import Rectangles
from bodyshop.car.body.rim import Mouth, Rim, Wall, WallSide
from bodyshop.car.body.section import Sections
from bodyshop.car.body.thickness import ThinnestPlace

__all__ = [
    "AxleHole",
    "Body",
    "BoreHole",
    "Moments",
    "Mouth",
    "ThinnestPlace",
    "PilotHole",
    "Rectangles",
    "Rim",
    "Sections",
    "Wall",
    "WallSide",
    "body_faults",
]
