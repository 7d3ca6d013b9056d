"""Rules as data: find and read a rulebook, judge readings by it, and say what would pass.

The language is TOML. `language` is its table: every key with its meaning, what it takes and an example; the
loader knows no other keys. `bodyshop rulebook reference` prints it, and `rules/LANGUAGE.md` is the same page.

A file is a head, `[reading]`, `[kit]`, `[score]`, and any number of `[[stock]]`, `[[rule]]` and `[[change]]`.
What a book inherits comes first, then its own, then its division's (`layers`). A value is rounded to the
resolution, halves to even, and then compared; limits are inclusive.
"""

from bodyshop.rules.rulebook.consequences import cost_of
from bodyshop.rules.rulebook.find import find_rulebook, shipped_rulebooks
from bodyshop.rules.rulebook.judge import (
    INTERVAL_SD,
    RANK,
    CarResult,
    Judgement,
    LimitSide,
    Outcome,
    Verdict,
    conclude,
    judge,
    read_off,
)
from bodyshop.rules.rulebook.load import read_rulebook
from bodyshop.rules.rulebook.model import (
    SIDES_OF_A_WHEEL,
    BreachEffects,
    CheckedBy,
    ClauseChange,
    CountedAs,
    Doubt,
    Limits,
    ReadingSteps,
    Rounding,
    Rule,
    Rulebook,
    RulebookPlace,
    Score,
    Times,
)
from bodyshop.rules.rulebook.remedy import Driver, Remedy, driver_path, remedy
from bodyshop.rules.rulebook.words import (
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
    "ClauseChange",
    "CheckedBy",
    "Doubt",
    "Driver",
    "BreachEffects",
    "Judgement",
    "Limits",
    "Outcome",
    "ReadingSteps",
    "Remedy",
    "Rounding",
    "Rule",
    "Rulebook",
    "Score",
    "LimitSide",
    "RulebookPlace",
    "Times",
    "CountedAs",
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
