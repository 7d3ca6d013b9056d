"""The keys of a rule and of a change to one."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from bodyshop.car.measures.catalogue import MeasuringState, QuantityKind
from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort
from bodyshop.rules.rulebook.model import BreachEffects, CheckedBy, CountedAs, Doubt, Rounding, Times

__all__ = ["CHANGE", "COSTS", "LIMITS", "RULE"]

LIMITS: Final = "The limit"
"""The heading of the keys that bound a value."""
COSTS: Final = "What follows when it is broken"
"""The heading of the keys that say what a broken rule costs."""

_WHAT: Final = "What the rule is about"
_READ: Final = "How it is read"
_TOLD: Final = "How it is checked and told"

_PER_UNIT: Final = 'fails = "points per unit"\npoints = 2\nper = "1 mm"'

RULE: Final = LanguageTable(
    "[[rule]]",
    "A rule",
    "It bounds a measure, or says what an inspector looks for.",
    (
        LanguageKey(
            "clause",
            Sort.TEXT,
            "The label on the printed sheet; each stands once in a book.",
            'clause = "4.2"',
            _WHAT,
            needed=True,
        ),
        LanguageKey(
            "measure",
            Sort.TEXTS,
            "What is measured, by its id in `bodyshop measures`; or a list of measures of one kind.",
            'measure = "body.length"',
            _WHAT,
        ),
        LanguageKey(
            "item",
            Sort.TEXT,
            "What an inspector looks for, where no measure of the program says it.",
            'item = "No cracks in the wood."',
            _WHAT,
        ),
        LanguageKey(
            "kind",
            Sort.WORD,
            "What kind of quantity an item with a limit is.",
            'item = "Paint, thickest place."\nkind = "length"\nmax = 1',
            _WHAT,
            words=tuple(kind.value for kind in QuantityKind),
        ),
        LanguageKey(
            "division",
            Sort.TEXTS,
            "The division, or the divisions, that the rule is for; all where nothing is said.",
            'division = "open"',
            _WHAT,
        ),
        LanguageKey(
            "title",
            Sort.TEXT,
            "What the rule is called, where the name of its measure does not say it.",
            'title = "length of the car"',
            _WHAT,
            changeable=True,
        ),
        LanguageKey(
            "section",
            Sort.TEXT,
            "The heading that it stands under on the printed sheet.",
            'section = "Body"',
            _WHAT,
            changeable=True,
        ),
        LanguageKey(
            "min",
            Sort.AMOUNT,
            "The least that passes; the limit itself passes.",
            "min = 200",
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "max",
            Sort.AMOUNT,
            "The most that passes; the limit itself passes.",
            'max = "12 in"',
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "exact",
            Sort.AMOUNT,
            "The one value that passes, with tolerance beside it where it need not be met to the step.",
            'exact = 250\ntolerance = "0.5 mm"',
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "tolerance",
            Sort.AMOUNT,
            "How far from exact a value may be, either way.",
            "exact = 250\ntolerance = 0.5",
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "one_of",
            Sort.AMOUNTS,
            "The values of which one must be met.",
            'one_of = [200, "250 mm"]',
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "count",
            Sort.WHOLE,
            "How many there must be, with a measure or an item that is counted.",
            'measure = "body.pieces"\ncount = 1',
            LIMITS,
            changeable=True,
        ),
        LanguageKey(
            "past",
            Sort.LENGTH,
            "Counts only what lies past a plane that is set off this far.",
            'measure = "car.tail_overhang"\npast = "16 mm"\nmax = 50',
            _READ,
            changeable=True,
        ),
        LanguageKey(
            "first",
            Sort.LENGTH,
            "Looks at a wall of the cartridge hole over the first stretch from its mouth alone.",
            'measure = "bore.wall"\nfirst = "20 mm"\nmin = 3',
            _READ,
            changeable=True,
        ),
        LanguageKey(
            "resolution",
            Sort.AMOUNT,
            "The step to which this rule is read, where it is not that of [reading].",
            'resolution = "0.5 mm"',
            _READ,
            changeable=True,
        ),
        LanguageKey(
            "near",
            Sort.AMOUNT,
            "Inside by less than this is told as near, where it is not as [reading] says.",
            'near = "1 mm"',
            _READ,
            changeable=True,
        ),
        LanguageKey(
            "state",
            Sort.WORD,
            "The state in which an item is measured; a measure knows its own.",
            'item = "Height over the eyes."\nkind = "length"\nmax = 60\nstate = "on its wheels"',
            _READ,
            words=tuple(state.value for state in MeasuringState),
            changeable=True,
        ),
        LanguageKey(
            "together",
            Sort.WORD,
            "Of several measures the worst counts, or each that is outside.",
            'measure = ["front_wheel.width", "rear_wheel.width"]\nmin = 3\ntogether = "each"',
            _READ,
            words=tuple(together.value for together in CountedAs),
            changeable=True,
        ),
        LanguageKey(
            "fails",
            Sort.WORDS,
            "What follows; several that go together stand in a list.",
            'fails = ["points once", "no award"]\npoints = 5',
            COSTS,
            words=tuple(fails.value for fails in BreachEffects),
            needed=True,
            changeable=True,
        ),
        LanguageKey(
            "points",
            Sort.NUMBER,
            "How many points are taken: once, or for each unit.",
            'fails = "points once"\npoints = 5',
            COSTS,
            changeable=True,
        ),
        LanguageKey(
            "per",
            Sort.AMOUNT,
            "The unit that points, or grams of ballast, are counted by.",
            _PER_UNIT,
            COSTS,
            changeable=True,
        ),
        LanguageKey(
            "rounding",
            Sort.WORD,
            "How a part of a unit counts: as a whole one (up, the usual way), not at all, or by halves.",
            _PER_UNIT + '\nrounding = "down"',
            COSTS,
            words=tuple(rounding.value for rounding in Rounding),
            changeable=True,
        ),
        LanguageKey(
            "most_points",
            Sort.NUMBER,
            "The most points that the rule can take from a car.",
            _PER_UNIT + "\nmost_points = 10",
            COSTS,
            changeable=True,
        ),
        LanguageKey(
            "ballast",
            Sort.MASS,
            "The ballast for each unit that is missing; without it a light car is made up to its limit.",
            'measure = "car.mass"\nmin = 50\nfails = "ballast"\nballast = "0.2 g"\nper = "0.1 g"',
            COSTS,
            changeable=True,
        ),
        LanguageKey(
            "award",
            Sort.TEXT,
            "The award that is barred; every award where nothing is said.",
            'fails = "no award"\naward = "design prize"',
            COSTS,
            changeable=True,
        ),
        LanguageKey(
            "times",
            Sort.WORD,
            "With measures of wheels: whether it costs once, or once for every wheel of the pair.",
            'measure = "front_wheel.width"\nmin = 2\nfails = "points once"\npoints = 2\ntimes = "wheel"',
            COSTS,
            words=tuple(times.value for times in Times),
            changeable=True,
        ),
        LanguageKey(
            "doubt",
            Sort.WORD,
            "How a reading too close to its limit is decided, where it is not as [reading] says.",
            'doubt = "fail"',
            _TOLD,
            words=tuple(doubt.value for doubt in Doubt),
            changeable=True,
        ),
        LanguageKey(
            "checked_by",
            Sort.WORD,
            "Who has the last word on the finished car: the program, a gauge or eyes.",
            'checked_by = "gauge"',
            _TOLD,
            words=tuple(checked_by.value for checked_by in CheckedBy),
            changeable=True,
        ),
        LanguageKey(
            "reason",
            Sort.TEXT,
            "Why there is such a rule, told to the student; {min}, {max}, {points} and others are filled in.",
            'reason = "The block is {max} long."',
            _TOLD,
            needed=True,
            changeable=True,
        ),
        LanguageKey(
            "instruction",
            Sort.TEXT,
            "What the inspector does, with a gauge or eyes.",
            'checked_by = "gauge"\ninstruction = "Slide the car through the gauge."',
            _TOLD,
            changeable=True,
        ),
        LanguageKey(
            "source",
            Sort.TEXT,
            "Where the figure comes from.",
            'source = "this year\'s sheet, page 2"',
            _TOLD,
            changeable=True,
        ),
        LanguageKey(
            "accept",
            Sort.TEXT,
            "Why a clause that lint doubts is right all the same; lint then leaves it alone.",
            'max = 299.93\naccept = "The sheet prints it so."',
            _TOLD,
            changeable=True,
        ),
    ),
)

_OF_A_CHANGE: Final = "What is changed"

CHANGE: Final = LanguageTable(
    "[[change]]",
    "A change",
    "It alters a clause that the book inherits, or one of this book for some divisions; it names the clause, "
    "the reason, and the keys of the rule that change.",
    (
        LanguageKey(
            "clause",
            Sort.TEXT,
            "The clause that is altered.",
            'clause = "B1"\nmax = 290',
            _OF_A_CHANGE,
            needed=True,
        ),
        LanguageKey(
            "division",
            Sort.TEXTS,
            "The division, or the divisions, that it is altered for; all where nothing is said.",
            'division = "beginner"\nmax = 290',
            _OF_A_CHANGE,
        ),
        LanguageKey("drop", Sort.FLAG, "The clause does not hold.", "drop = true", _OF_A_CHANGE),
        LanguageKey(
            "because",
            Sort.TEXT,
            "The reason for the change.",
            'because = "The new block is shorter."\nmax = 290',
            _OF_A_CHANGE,
            needed=True,
        ),
        *(replace(key, needed=False) for key in RULE.keys if key.changeable),
    ),
)
