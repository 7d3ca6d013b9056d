"""Rules as data: find and read a rulebook, judge readings by it, and say what would pass.

The language is TOML. `language` is its table: every key with its meaning, what it takes and an example; the
loader knows no other keys. `bodyshop rulebook reference` prints it, and `rules/LANGUAGE.md` is the same page.

A file is a head, `[reading]`, `[kit]`, `[score]`, and any number of `[[stock]]`, `[[rule]]` and `[[change]]`.
What a book inherits comes first, then its own, then its division's (`layers`). A value is rounded to the
resolution, halves to even, and then compared; limits are inclusive.
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
