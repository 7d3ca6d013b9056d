"""What the two cuts and the drills leave: sections, integrals, walls, areas."""

from bodyshop.body.body import Body
from bodyshop.body.faults import body_faults
from bodyshop.body.holes import AxleHole, BoreHole, PilotHole
from bodyshop.body.moments import Moments
from bodyshop.body.mouth import Mouth
from bodyshop.body.rectangles import Rectangles
from bodyshop.body.rim import Rim
from bodyshop.body.section import Sections
from bodyshop.body.thickness import Neck
from bodyshop.body.wall import Wall, WallSide

__all__ = [
    "AxleHole",
    "Body",
    "BoreHole",
    "Moments",
    "Mouth",
    "Neck",
    "PilotHole",
    "Rectangles",
    "Rim",
    "Sections",
    "Wall",
    "WallSide",
    "body_faults",
]
