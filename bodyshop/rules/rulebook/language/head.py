"""The keys at the top of a rulebook, and those of its single tables: reading, kit, score."""

from __future__ import annotations

from typing import Final

from bodyshop.car.stock.cautions import Operation
from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort
from bodyshop.rules.rulebook.model import Doubt

__all__ = ["HEAD", "KIT", "READING", "SCORE"]

_DOUBTS: Final = tuple(doubt.value for doubt in Doubt)

HEAD: Final = LanguageTable(
    "",
    "The top of the file",
    "What the book is called, what it builds on and which unit it is in.",
    (
        LanguageKey(
            "format",
            Sort.WHOLE,
            "The version of the language that the file is written in.",
            "format = 1",
            needed=True,
        ),
        LanguageKey("name", Sort.TEXT, "What the rulebook is called.", 'name = "Our sprint"', needed=True),
        LanguageKey(
            "event",
            Sort.TEXT,
            "The event, as it stands at the top of the printed sheet.",
            'event = "Our sprint, school workshop"',
        ),
        LanguageKey(
            "note",
            Sort.TEXT,
            "A note on the whole sheet, such as where its figures come from.",
            'note = "The judge at the event has the last word."',
        ),
        LanguageKey(
            "units",
            Sort.UNIT,
            "The unit of every length that is written without one; a book that inherits may leave it out.",
            'units = "mm"',
            words=("mm", "cm", "in"),
        ),
        LanguageKey(
            "inherits",
            Sort.TEXT,
            "The book that this one builds on, by name or by path from this file; its rules come first.",
            'inherits = "quarry-lane"',
        ),
        LanguageKey(
            "divisions",
            Sort.TEXTS,
            "The divisions of the event, such as age groups; rules and changes may be for one of them.",
            'divisions = ["beginner", "open"]',
        ),
        LanguageKey(
            "cautions",
            Sort.WORDS,
            "The work whose cautions stand on the printed sheet; cartridge and race where nothing is said.",
            'cautions = ["cartridge", "race"]',
            words=tuple(operation.value for operation in Operation),
        ),
        LanguageKey(
            "track_length",
            Sort.TRACK,
            "The length of the lane, from start to finish.",
            'track_length = "20 m"',
        ),
        LanguageKey(
            "reading",
            Sort.TABLE,
            "How sizes are read before they are compared.",
            '[reading]\nresolution = "0.1 mm"',
        ),
        LanguageKey(
            "kit",
            Sort.TABLE,
            "The kit that the event hands out; a design that names no part of its own uses it.",
            '[kit]\nwood = "basswood"',
        ),
        LanguageKey("score", Sort.TABLE, "The points that a car starts with.", "[score]\nfull = 100"),
        LanguageKey(
            "stock",
            Sort.TABLES,
            "Parts that the event brings of its own.",
            '[[stock]]\nshelf = "wheels"\nid = "lane-wheel"\nlike = "wheel-34"\nsource = "our own sheet"',
        ),
        LanguageKey(
            "rule",
            Sort.TABLES,
            "The rules, one table each.",
            '[[rule]]\nclause = "B1"\nmeasure = "body.length"\nmax = 300\nfails = "disqualify"\n'
            'reason = "The block is {max} long."',
        ),
        LanguageKey(
            "change",
            Sort.TABLES,
            "What this book, or one of its divisions, alters in a clause.",
            '[[change]]\nclause = "B1"\nmax = 290\nbecause = "The new block is shorter."',
        ),
    ),
)

READING: Final = LanguageTable(
    "[reading]",
    "How sizes are read",
    "A value is rounded to the resolution, halves to even, and then compared; a limit itself passes, and "
    "what is inside as it stands is never rounded out.",
    (
        LanguageKey(
            "resolution",
            Sort.LENGTH,
            "The step to which lengths are read; 0 reads them as they are.",
            'resolution = "0.1 mm"',
            needed=True,
        ),
        LanguageKey(
            "near",
            Sort.LENGTH,
            "A length inside its limit by less than this is told as near: 0.5 mm where nothing is said.",
            'near = "0.5 mm"',
        ),
        LanguageKey(
            "mass_resolution",
            Sort.MASS,
            "The step to which masses are read: 0.1 g where nothing is said.",
            'mass_resolution = "0.1 g"',
        ),
        LanguageKey(
            "mass_near",
            Sort.MASS,
            "A mass inside its limit by less than this is told as near.",
            'mass_near = "1 g"',
        ),
        LanguageKey(
            "angle_resolution",
            Sort.ANGLE,
            "The step to which angles are read: 0.1 degrees where nothing is said.",
            'angle_resolution = "0.5 deg"',
        ),
        LanguageKey(
            "angle_near",
            Sort.ANGLE,
            "An angle inside its limit by less than this is told as near.",
            "angle_near = 1",
        ),
        LanguageKey(
            "doubt",
            Sort.WORD,
            "How a reading of the finished car is decided that is closer to its limit than the instrument "
            "can tell: open where nothing is said.",
            'doubt = "for the car"',
            words=_DOUBTS,
        ),
    ),
)

KIT: Final = LanguageTable(
    "[kit]",
    "The kit",
    "Parts that a design gets where it names none; `bodyshop stock` lists what there is.",
    (
        LanguageKey("blank", Sort.STOCKED, "The block of wood.", 'blank = "larkfield-block"'),
        LanguageKey("wood", Sort.STOCKED, "The kind of wood.", 'wood = "basswood"'),
        LanguageKey("axle", Sort.ITEM, "The rod that axles are cut from.", 'axle = "axle-3"'),
        LanguageKey("bearing", Sort.ITEM, "The straw or tube that an axle turns in.", 'bearing = "straw-4"'),
        LanguageKey("front_wheel", Sort.ITEM, "The front wheels.", 'front_wheel = "wheel-front-32"'),
        LanguageKey("rear_wheel", Sort.ITEM, "The rear wheels.", 'rear_wheel = "wheel-rear-34"'),
        LanguageKey("washer", Sort.ITEM, "The washer between wheel and body.", 'washer = "washer-3"'),
        LanguageKey("washers", Sort.WHOLE, "How many washers are at each wheel.", "washers = 1"),
        LanguageKey(
            "screw_eye",
            Sort.ITEM,
            "The screw eye that runs on the guide line.",
            'screw_eye = "screw-eye-small"',
        ),
        LanguageKey("cartridge", Sort.ITEM, "The gas cartridge.", 'cartridge = "cartridge-8g"'),
        LanguageKey("finish", Sort.STOCKED, "The paint or varnish.", 'finish = "painted"'),
        LanguageKey("glue", Sort.STOCKED, "The glue that holds the parts.", 'glue = "drops"'),
    ),
)

SCORE: Final = LanguageTable(
    "[score]",
    "The score",
    "Points that a car starts with; broken rules take from them.",
    (
        LanguageKey("full", Sort.NUMBER, "The points that a car starts with.", "full = 100", needed=True),
        LanguageKey(
            "least", Sort.NUMBER, "A car that ends with fewer is not legal.", "full = 100\nleast = 80"
        ),
    ),
)
