"""Rules as data: find and read a rulebook, judge readings by it, and say what would pass."""

from bodyshop.rulebook.find import find_rulebook, shipped_rulebooks
from bodyshop.rulebook.judge import (
    INTERVAL_SD,
    RANK,
    CarResult,
    Judgement,
    Outcome,
    Side,
    Verdict,
    judge,
    read_off,
)
from bodyshop.rulebook.load import read_rulebook
from bodyshop.rulebook.model import (
    Change,
    CheckedBy,
    Fails,
    Limits,
    Reads,
    Rounding,
    Rule,
    Rulebook,
    Score,
    Spot,
)
from bodyshop.rulebook.remedy import Driver, Remedy, driver_path, remedy
from bodyshop.rulebook.words import amount_text, limits_text, value_text

__all__ = [
    "INTERVAL_SD",
    "RANK",
    "CarResult",
    "Change",
    "CheckedBy",
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
    "Verdict",
    "amount_text",
    "driver_path",
    "find_rulebook",
    "judge",
    "limits_text",
    "read_off",
    "read_rulebook",
    "remedy",
    "shipped_rulebooks",
    "value_text",
]
