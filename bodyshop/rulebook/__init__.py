"""Rules as data: find and read a rulebook, judge readings by it, and say what would pass.

The language, TOML. At the top of the file:

    format = 1                      # this language's version
    name, event, note               # words; note says where the figures come from
    units = "mm"                    # or "cm" or "in": the unit of lengths without one of their own
    inherits = "quarry-lane"        # a shipped book, or a path from this file; its rules come first
    divisions = ["beginner", "open"]
    cautions = ["cartridge", "race"]  # operations whose cautions stand on the printed sheet
    track_length = 20000            # or "20 m", "40 ft", "65 ft 7 in"

`[reading]`: `resolution` (needed), `near`, and the same for masses and angles: `mass_resolution`,
`mass_near`, `angle_resolution`, `angle_near`. A value is rounded to the resolution, halves to even, and
then compared; limits are inclusive. A pass by less than `near` is near: 0.5 mm for lengths where nothing
is said. `doubt` says how a reading of the finished car is decided that lies within its instrument's step of a
limit: "open" (where nothing is said), "for the car", or "fail". `[kit]`: names of stock items that designs
default to. `[score]`: `full` and `least` points.

`[[stock]]`, hardware of the event's own, as many as there are. Kit and designs name it like what is in stock:

    shelf = "wheels"                # axles, bearings, washers, screw-eyes, cartridges
    id = "lane-wheel"               # small letters, digits and hyphens; not that of an item in stock
    like = "wheel-34"               # what is not said here is as in that item
    diameter = 31                   # the figures of `bodyshop stock`, by their names without the unit:
    mass = "1.4 g"                  # width, hub_length, bore; outer, inner, thickness, material; length, ...
    label, note, confidence         # where they are wanted
    source = "this year's sheet"    # where the figures come from; needed

A book may say anew what it inherits, under the same id.

`[[rule]]`, as many as there are:

    clause = "4.2"                  # the label on the printed sheet, each once
    measure = "bore.wall"           # an id of the catalogue, or a list of them, all of one kind; or
    item = "No cracks."             # what an inspector looks for; with limits it needs kind = "length"
    min, max                        # one or both; or exact with tolerance; or one_of; or count
    together = "worst"              # of several measures the worst counts; or "each" that is outside
    fails = "disqualify"            # show only, ballast, points per unit, points once, no award, advice;
                                    # or a list of those that go together: ["points once", "no award"]
    points = 2                      # with "points once"; with "points per unit" also per = "1 mm" and,
                                    # if it is not "up", rounding = "down" or "nearest"
    most_points = 10                # the most that the rule can take
    ballast = "0.2 g"               # with "ballast": so much for each per = "0.1 g"; else up to the limit
    award = "design prize"          # with "no award": which one
    times = "wheel"                 # with measures of wheels: what it costs counts for every wheel
    doubt = "for the car"           # where it is not as [reading] says
    checked_by = "program"          # gauge, eyes: then it is listed for the inspector, with instruction
    reason = "Under {min} it splits."  # numbers of the rule are filled in: {min} {max} {limits} {points} ...
    past = "16 mm"                  # count only what lies past a plane set off this far: with
                                    # car.nose_overhang, past a plane 16 mm ahead of the front axle
    first = "20 mm"                 # a wall of the bore over the first stretch from its mouth alone
    accept = "It is printed so."    # dismisses lint's warnings of this rule, with the reason
    source = "this year's sheet"    # where the figure comes from
    title, section, state, resolution, near, division = "open"   # where they are wanted

A limit is a number in the book's unit (grams, degrees for masses and angles) or a text with its own unit.

`[[change]]` alters a clause that is inherited, or one of this book for some divisions: `clause`, the keys
that change or `drop = true`, `because` (needed), and `division` where it holds for some only.
"""

from bodyshop.rulebook.costs import cost_of
from bodyshop.rulebook.find import find_rulebook, shipped_rulebooks
from bodyshop.rulebook.judge import (
    INTERVAL_SD,
    RANK,
    CarResult,
    Judgement,
    Outcome,
    Side,
    Verdict,
    conclude,
    judge,
    read_off,
)
from bodyshop.rulebook.load import read_rulebook
from bodyshop.rulebook.model import (
    SIDES_OF_A_WHEEL,
    Change,
    CheckedBy,
    Doubt,
    Fails,
    Limits,
    Reads,
    Rounding,
    Rule,
    Rulebook,
    Score,
    Spot,
    Times,
    Together,
)
from bodyshop.rulebook.remedy import Driver, Remedy, driver_path, remedy
from bodyshop.rulebook.words import (
    amount_text,
    barred_text,
    chance_text,
    doubt_text,
    fails_text,
    limits_text,
    points_text,
    probably_text,
    result_reason,
    result_text,
    score_text,
    value_text,
)

__all__ = [
    "INTERVAL_SD",
    "RANK",
    "SIDES_OF_A_WHEEL",
    "CarResult",
    "Change",
    "CheckedBy",
    "Doubt",
    "Driver",
    "Fails",
    "Judgement",
    "Limits",
    "Outcome",
    "Reads",
    "Remedy",
    "Rounding",
    "Rule",
    "Rulebook",
    "Score",
    "Side",
    "Spot",
    "Times",
    "Together",
    "Verdict",
    "amount_text",
    "barred_text",
    "chance_text",
    "conclude",
    "cost_of",
    "doubt_text",
    "driver_path",
    "fails_text",
    "find_rulebook",
    "judge",
    "limits_text",
    "points_text",
    "probably_text",
    "read_off",
    "read_rulebook",
    "remedy",
    "result_reason",
    "result_text",
    "score_text",
    "shipped_rulebooks",
    "value_text",
]
