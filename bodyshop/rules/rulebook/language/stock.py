"""The keys of an item that an event brings of its own: those of the stock tables, without their units."""

from __future__ import annotations

from typing import Final

from bodyshop.car.stock.hardware import PART_SHELVES, WheelEnd
from bodyshop.foundation.toml.rows import Confidence
from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort

__all__ = ["STOCK"]

STOCK: Final = LanguageTable(
    "[[stock]]",
    "Parts of the event's own",
    "A part that designs under this book may name like one in stock; which keys it has depends on its shelf. "
    "A book may say anew what it inherits, under the same id.",
    (
        LanguageKey(
            "shelf",
            Sort.WORD,
            "What sort of part it is.",
            'shelf = "wheels"',
            "What it is",
            words=tuple(PART_SHELVES),
            needed=True,
        ),
        LanguageKey(
            "id",
            Sort.TEXT,
            "What a kit or a design calls it: small letters, digits and hyphens, and no name in stock.",
            'id = "lane-wheel"',
            "What it is",
            needed=True,
        ),
        LanguageKey(
            "like",
            Sort.TEXT,
            "The item in stock, or brought, that fills in what is not said.",
            'like = "wheel-34"',
            "What it is",
        ),
        LanguageKey(
            "label",
            Sort.TEXT,
            "What it is called in lists and on paper.",
            'label = "lane wheel, 31 mm"',
            "What it is",
        ),
        LanguageKey(
            "end",
            Sort.WORD,
            "The end of the car that the wheel is made for.",
            'end = "either"',
            "What it is",
            items=("wheels",),
            words=tuple(end.value for end in WheelEnd),
        ),
        LanguageKey(
            "diameter",
            Sort.LENGTH,
            "The diameter, over the tread of a wheel.",
            'diameter = "31 mm"',
            "Its figures",
            items=("wheels", "axles", "cartridges"),
        ),
        LanguageKey(
            "width",
            Sort.LENGTH,
            "The width of the tread.",
            'width = "12 mm"',
            "Its figures",
            items=("wheels",),
        ),
        LanguageKey(
            "hub_length",
            Sort.LENGTH,
            "The width at the hub.",
            "hub_length = 9",
            "Its figures",
            items=("wheels",),
        ),
        LanguageKey(
            "hub_inboard",
            Sort.LENGTH,
            "How far the hub stands out of the tread towards the body; negative where it is set back.",
            "hub_inboard = -1",
            "Its figures",
            items=("wheels",),
        ),
        LanguageKey(
            "bore", Sort.LENGTH, "The hole for the axle.", "bore = 3.1", "Its figures", items=("wheels",)
        ),
        LanguageKey(
            "mass", Sort.MASS, "The mass of one.", 'mass = "1.4 g"', "Its figures", items=("wheels",)
        ),
        LanguageKey(
            "moment_factor",
            Sort.NUMBER,
            "How its mass is spread: 0.5 for a plain disc, 1 for a thin ring.",
            "moment_factor = 0.7",
            "Its figures",
            items=("wheels",),
        ),
        LanguageKey(
            "stock_length",
            Sort.LENGTH,
            "The length that the rod comes in.",
            "stock_length = 300",
            "Its figures",
            items=("axles",),
        ),
        LanguageKey(
            "outer",
            Sort.LENGTH,
            "The outside diameter.",
            "outer = 7",
            "Its figures",
            items=("bearings", "washers"),
        ),
        LanguageKey(
            "inner",
            Sort.LENGTH,
            "The inside diameter.",
            "inner = 3.2",
            "Its figures",
            items=("bearings", "washers"),
        ),
        LanguageKey(
            "thickness", Sort.LENGTH, "The thickness.", "thickness = 0.5", "Its figures", items=("washers",)
        ),
        LanguageKey(
            "wire",
            Sort.LENGTH,
            "The thickness of the wire.",
            "wire = 1.5",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "ring_inner",
            Sort.LENGTH,
            "The inside diameter of the ring.",
            "ring_inner = 5",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "shank_length",
            Sort.LENGTH,
            "From the outside of the ring to the point.",
            "shank_length = 10",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "thread",
            Sort.LENGTH,
            "The diameter over the thread.",
            "thread = 1.8",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "pilot_diameter",
            Sort.LENGTH,
            "The diameter of the hole that is drilled for it.",
            "pilot_diameter = 1.2",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "pilot_depth",
            Sort.LENGTH,
            "The depth of the hole that is drilled for it.",
            "pilot_depth = 8",
            "Its figures",
            items=("screw-eyes",),
        ),
        LanguageKey(
            "length", Sort.LENGTH, "The length over all.", "length = 65", "Its figures", items=("cartridges",)
        ),
        LanguageKey(
            "neck_diameter",
            Sort.LENGTH,
            "The diameter of the neck.",
            "neck_diameter = 8",
            "Its figures",
            items=("cartridges",),
        ),
        LanguageKey(
            "balance_from_base",
            Sort.LENGTH,
            "How far its balance point lies from the end of the round base.",
            "balance_from_base = 31",
            "Its figures",
            items=("cartridges",),
        ),
        LanguageKey(
            "full_mass",
            Sort.MASS,
            "The mass of a full one.",
            'full_mass = "28 g"',
            "Its figures",
            items=("cartridges",),
        ),
        LanguageKey(
            "charge",
            Sort.MASS,
            "The mass of the gas in it.",
            'charge = "8 g"',
            "Its figures",
            items=("cartridges",),
        ),
        LanguageKey(
            "material",
            Sort.TEXT,
            "What it is made of, by its name in the table of materials.",
            'material = "steel"',
            "Its figures",
            items=("axles", "bearings", "washers", "screw-eyes"),
        ),
        LanguageKey(
            "mass_spread",
            Sort.NUMBER,
            "How far the masses of several differ: one standard deviation, as a part of the mass.",
            "mass_spread = 0.05",
            "How well they are known",
        ),
        LanguageKey(
            "source",
            Sort.TEXT,
            "Where its figures come from.",
            'source = "this year\'s sheet, page 2"',
            "How well they are known",
            needed=True,
        ),
        LanguageKey(
            "confidence",
            Sort.WORD,
            "How well the figures are known: read, read in a copy, computed, from memory, common practice.",
            'confidence = "R"',
            "How well they are known",
            words=tuple(confidence.value for confidence in Confidence),
        ),
        LanguageKey(
            "note",
            Sort.TEXT,
            "What else is to be said.",
            'note = "Weighed in our shop."',
            "How well they are known",
        ),
    ),
)
