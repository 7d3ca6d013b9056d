"""The keys of the design file's running gear: axles, what sits on them, and screw eyes."""

from __future__ import annotations

from bodyshop.car.design.fields import LEAST_G, LEAST_MM, Field, KeyKind, Shelf

__all__ = ["AXLES", "MAX_EYES", "SCREW_EYES"]

MAX_EYES = 20

_WHEEL = (
    Field(
        "stock", KeyKind.STOCK, "The stock wheel it is like.", default="the kit's wheel", shelf=Shelf.WHEELS
    ),
    Field(
        "diameter",
        KeyKind.LENGTH,
        "Its own diameter.",
        default="the stock wheel's",
        least=LEAST_MM,
        most=150.0,
    ),
    Field(
        "width",
        KeyKind.LENGTH,
        "Its own width at the track.",
        default="the stock wheel's",
        least=0.2,
        most=60.0,
    ),
    Field("mass", KeyKind.MASS, "Its own mass.", default="the stock wheel's", least=LEAST_G, most=500.0),
)


def _axle(end: str) -> Field:
    return Field(
        end,
        KeyKind.TABLE,
        f"The {end} axle and all that is on it.",
        required=True,
        fields=(
            Field(
                "x",
                KeyKind.LENGTH,
                "The middle of the axle hole from the nose end of the blank.",
                required=True,
            ),
            Field(
                "height",
                KeyKind.LENGTH,
                "The middle of the axle hole above the underside of the blank.",
                required=True,
            ),
            Field(
                "hole",
                KeyKind.LENGTH,
                "Diameter of the axle hole.",
                default="the bearing's outside; without a bearing, the axle and 0.5 mm",
                least=LEAST_MM,
                most=30.0,
            ),
            Field(
                "axle", KeyKind.STOCK, "The rod it is cut from.", default="the kit's axle", shelf=Shelf.AXLES
            ),
            Field(
                "bearing",
                KeyKind.STOCK,
                'The straw or tube it turns in, or "none".',
                default="the kit's bearing, or none",
                shelf=Shelf.BEARINGS,
                may_be_none=True,
            ),
            Field(
                "wheel",
                KeyKind.WHEEL,
                "The wheel at each side.",
                default=f"the kit's {end} wheel",
                shelf=Shelf.WHEELS,
                fields=_WHEEL,
            ),
            Field(
                "washer",
                KeyKind.STOCK,
                'The washer between wheel and body, or "none".',
                default="the kit's washer, or none",
                shelf=Shelf.WASHERS,
                may_be_none=True,
            ),
            Field(
                "washers",
                KeyKind.COUNT,
                "How many washers at each wheel.",
                default="the kit's number",
                least=0,
                most=10,
            ),
            Field(
                "play", KeyKind.LENGTH, "The free gap at each side.", default="0.5 mm", least=0.0, most=20.0
            ),
            Field(
                "length",
                KeyKind.LENGTH,
                "The length the axle is cut to.",
                default="as long as what is on it",
                least=LEAST_MM,
                most=300.0,
            ),
        ),
    )


AXLES = Field(
    "axles",
    KeyKind.TABLE,
    "The two axles.",
    required=True,
    fields=(_axle("front"), _axle("rear")),
)

SCREW_EYES = Field(
    "screw_eye",
    KeyKind.TABLES,
    "A screw eye in the underside, for the guide line. Say how far behind or ahead of an axle, or its x.",
    default="none",
    limit=MAX_EYES,
    fields=(
        Field("axle", KeyKind.CHOICE, "The axle it is measured from.", words=("front", "rear")),
        Field("behind", KeyKind.LENGTH, "How far behind that axle.", least=0.0),
        Field("ahead", KeyKind.LENGTH, "How far ahead of that axle.", least=0.0),
        Field("x", KeyKind.LENGTH, "How far from the nose end of the blank, instead of an axle."),
        Field(
            "offset",
            KeyKind.LENGTH,
            "How far right of the centre line, looking forward from the tail.",
            default="0",
            least=-150.0,
            most=150.0,
        ),
        Field(
            "eye", KeyKind.STOCK, "Which screw eye.", default="the kit's screw eye", shelf=Shelf.SCREW_EYES
        ),
    ),
    ways=(("axle", "behind"), ("axle", "ahead"), ("x",)),
)
