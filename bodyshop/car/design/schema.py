"""The design file as one table: every key, what it holds, what it may be, and a sentence about it.

The loader checks files against this table and the JSON Schema is made from it, so that both say the same.
A length is in mm here, a mass in g, an angle in degrees.
"""

from __future__ import annotations

from bodyshop.car.design.fields import FORMAT, LEAST_G, LEAST_MM, MAX_TEXT, Field, KeyKind, Shelf
from bodyshop.car.design.gear_keys import AXLES, SCREW_EYES

__all__ = [
    "CIRCLE_KEYS",
    "EDGE_KEYS",
    "MAX_DIMENSIONS",
    "MAX_POINTS",
    "MAX_WINDOWS",
    "MAX_WINDOW_POINTS",
    "POINT_FIELDS",
    "ROOT",
]

MAX_POINTS = 5000
"""Points in one outline; far more than a person writes, few enough to be read at once."""

MAX_WINDOW_POINTS = 500
MAX_WINDOWS = 60
MAX_DIMENSIONS = 500

EDGE_KEYS = ("through", "radius", "handles", "smooth")
"""The keys of a point that say how the line gets there; a point has one of them at most."""

CIRCLE_KEYS = ("circle", "diameter")

POINT_FIELDS = (
    Field(
        "to",
        KeyKind.POINT,
        "Where the line goes: [x, height] in the profile, [x, y] in the plan.",
        required=True,
    ),
    Field(
        "round",
        KeyKind.LENGTH,
        "Radius of the rounding of the corner here.",
        default="0, a sharp corner",
        least=0.0,
    ),
    Field("through", KeyKind.POINT, "Get here by an arc that passes through this point."),
    Field(
        "radius",
        KeyKind.LENGTH,
        "Get here by an arc of this radius. It bulges outwards unless hollow.",
        least=LEAST_MM,
    ),
    Field("hollow", KeyKind.FLAG, "The arc of this radius hollows the shape instead.", default="false"),
    Field(
        "long",
        KeyKind.FLAG,
        "The arc of this radius goes the long way, more than half a turn.",
        default="false",
    ),
    Field("handles", KeyKind.HANDLES, "Get here by a Bézier curve with these two handles."),
    Field(
        "smooth",
        KeyKind.FLAG,
        "Get here by a smooth curve; neighbouring smooth points share one curve without corners.",
        default="false",
    ),
    Field(
        "tangent",
        KeyKind.FLAG,
        "A smooth curve that starts or ends here leaves in the direction of the neighbouring line.",
        default="false",
    ),
)

_POINTS = Field(
    "points",
    KeyKind.POINTS,
    "The outline, point by point. A point is [x, y] for a straight line to it, or a table.",
    required=True,
    limit=MAX_POINTS,
    fields=POINT_FIELDS,
)

_WINDOW = Field(
    "window",
    KeyKind.TABLES,
    "A hole cut right through: its own points, or a circle.",
    default="none",
    limit=MAX_WINDOWS,
    fields=(
        Field(
            "points",
            KeyKind.POINTS,
            "The window's outline, point by point.",
            limit=MAX_WINDOW_POINTS,
            fields=POINT_FIELDS,
        ),
        Field("circle", KeyKind.POINT, "The centre of a round window."),
        Field("diameter", KeyKind.LENGTH, "The diameter of a round window.", least=LEAST_MM),
    ),
    ways=(("points",), CIRCLE_KEYS),
)

_BLANK = Field(
    "blank",
    KeyKind.TABLE,
    "The block of wood that the car is cut from.",
    default="the kit's blank and wood",
    fields=(
        Field(
            "stock",
            KeyKind.STOCK,
            "The name of a stock blank. A block of your own has length, width and height instead.",
            default="the kit's blank",
            shelf=Shelf.BLANKS,
        ),
        Field("length", KeyKind.LENGTH, "Length of a block of your own.", least=LEAST_MM, most=1000.0),
        Field("width", KeyKind.LENGTH, "Width of a block of your own.", least=LEAST_MM, most=300.0),
        Field("height", KeyKind.LENGTH, "Height of a block of your own.", least=LEAST_MM, most=300.0),
        Field(
            "height_nose", KeyKind.LENGTH, "Height of a wedge at its nose end.", least=LEAST_MM, most=300.0
        ),
        Field(
            "height_tail", KeyKind.LENGTH, "Height of a wedge at its tail end.", least=LEAST_MM, most=300.0
        ),
        Field(
            "bore",
            KeyKind.TABLE,
            "The cartridge hole that a block of your own is drilled with already.",
            default="not drilled",
            fields=(
                Field("diameter", KeyKind.LENGTH, "Its diameter.", required=True, least=LEAST_MM, most=60.0),
                Field(
                    "depth",
                    KeyKind.LENGTH,
                    "Its depth from the tail end.",
                    required=True,
                    least=LEAST_MM,
                    most=200.0,
                ),
                Field(
                    "height",
                    KeyKind.LENGTH,
                    "Its centre above the underside of the blank.",
                    required=True,
                    least=LEAST_MM,
                    most=200.0,
                ),
            ),
        ),
        Field(
            "wood",
            KeyKind.STOCK,
            "The wood, by its name in the table of woods.",
            default="the kit's wood",
            shelf=Shelf.WOODS,
        ),
        Field(
            "weighed",
            KeyKind.MASS,
            "What your blank weighed before you cut it; makes the car's mass much surer.",
            default="not weighed",
            least=LEAST_G,
            most=20_000.0,
        ),
        Field(
            "balance",
            KeyKind.MASS,
            "The smallest step that your balance shows.",
            default="1 g",
            least=LEAST_G,
            most=100.0,
        ),
    ),
)

_PROFILE = Field(
    "profile",
    KeyKind.TABLE,
    "The side view: x from the nose, height from the underside of the blank. It closes by itself.",
    required=True,
    fields=(_POINTS, _WINDOW),
)

_PLAN = Field(
    "plan",
    KeyKind.TABLE,
    "The top view: x from the nose, y out from the centre line.",
    required=True,
    fields=(
        _POINTS,
        Field(
            "mirror",
            KeyKind.FLAG,
            "The points are one side, from nose to tail, and the other side is the same.",
            default="true",
        ),
        _WINDOW,
    ),
)

_EDGES = Field(
    "edges",
    KeyKind.TABLE,
    "What sanding does to the long edges.",
    default="square edges",
    fields=(
        Field(
            "round",
            KeyKind.LENGTH,
            "Radius left on the long edges by sanding.",
            default="0",
            least=0.0,
            most=20.0,
        ),
    ),
)

_BORE = Field(
    "bore",
    KeyKind.TABLE,
    "The cartridge hole, drilled from the tail.",
    default="the bore of a blank that is drilled already",
    fields=(
        Field(
            "diameter",
            KeyKind.LENGTH,
            "Its diameter.",
            default="that of the drilled blank",
            least=LEAST_MM,
            most=60.0,
        ),
        Field(
            "depth",
            KeyKind.LENGTH,
            "Its depth from the tail of the body.",
            default="what is left of the drilled blank's",
            least=LEAST_MM,
            most=200.0,
        ),
        Field(
            "height",
            KeyKind.LENGTH,
            "The centre of its mouth above the underside of the blank.",
            default="that of the drilled blank",
            least=-200.0,
            most=300.0,
        ),
        Field(
            "offset",
            KeyKind.LENGTH,
            "Its mouth right of the centre line, looking forward from the tail.",
            default="0",
            least=-150.0,
            most=150.0,
        ),
        Field(
            "angle",
            KeyKind.ANGLE,
            "Its tilt; positive raises the blind end.",
            default="0",
            least=-45.0,
            most=45.0,
        ),
    ),
)

ROOT = (
    Field(
        "format", KeyKind.COUNT, "The version of this file format: 1.", required=True, least=1, most=FORMAT
    ),
    Field("name", KeyKind.TEXT, "What the car is called.", required=True, limit=MAX_TEXT),
    Field("bench", KeyKind.TEXT, "The bench or team that builds it.", default="nothing", limit=MAX_TEXT),
    Field("units", KeyKind.UNIT, "The unit of every number that has none of its own.", default="mm"),
    Field(
        "rulebook", KeyKind.TEXT, "The rulebook it is built for: its name, or the path to one.", limit=1000
    ),
    Field(
        "dimensions",
        KeyKind.LENGTHS,
        "Lengths with names of your own, which any other length may use: change one and the rest follows.",
        default="none",
        limit=MAX_DIMENSIONS,
    ),
    _BLANK,
    _PROFILE,
    _PLAN,
    _EDGES,
    _BORE,
    AXLES,
    SCREW_EYES,
    Field(
        "cartridge",
        KeyKind.TABLE,
        "The gas cartridge.",
        default="the kit's cartridge",
        fields=(
            Field(
                "stock",
                KeyKind.STOCK,
                "Which cartridge.",
                default="the kit's cartridge",
                shelf=Shelf.CARTRIDGES,
            ),
        ),
    ),
    Field(
        "finish",
        KeyKind.TABLE,
        "What goes on the wood and what holds the parts.",
        default="the kit's finish and glue",
        fields=(
            Field(
                "finish",
                KeyKind.STOCK,
                "The finish.",
                default="the kit's finish, or bare",
                shelf=Shelf.FINISHES,
            ),
            Field("glue", KeyKind.STOCK, "The glue.", default="the kit's glue, or none", shelf=Shelf.GLUES),
        ),
    ),
    Field(
        "parts",
        KeyKind.TABLE,
        "What the drawing does not show: small parts, spares, the number on the side.",
        default="none",
        fields=(
            Field("clips", KeyKind.COUNT, "How many clips hold the axles.", default="0", least=0, most=40),
            *(
                Field(
                    f"spare_{what}", KeyKind.COUNT, f"How many spare {words}.", default="0", least=0, most=40
                )
                for what, words in (
                    ("wheels", "wheels"),
                    ("axles", "axles"),
                    ("washers", "washers"),
                    ("eyes", "screw eyes"),
                    ("clips", "clips"),
                )
            ),
            Field(
                "number_height",
                KeyKind.LENGTH,
                "How high the figures of the car's number are.",
                default="not said",
                least=LEAST_MM,
                most=100.0,
            ),
        ),
    ),
)
