"""The rulebook language as one table: every key, what it means, what it takes, and an example.

The loader knows a key because it stands here; the reference, the page for teachers and the JSON Schema are
made from the same rows. A key is added by its row in `language.toml`, and by what
reads it (`rules.py`, `load.py`, ...).
"""

from typing import Final

from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort
from bodyshop.rules.rulebook.language.tables import TABLES

__all__ = [
    "CHANGE",
    "CHANGE_KEYS",
    "COST_KEYS",
    "FORMAT",
    "HEAD",
    "KIT",
    "LIMIT_KEYS",
    "READING",
    "RULE",
    "SCORE",
    "STOCK",
    "TABLES",
    "LanguageKey",
    "LanguageTable",
    "Sort",
    "stock_keys",
]

FORMAT: Final = 1
"""The version of the language that is read."""

HEAD, READING, KIT, SCORE, RULE, CHANGE, STOCK = TABLES

LIMIT_KEYS: Final = RULE.under("The limit")
"""The keys that bound a value."""
COST_KEYS: Final = RULE.under("What follows when it is broken")
"""The keys that say what follows when a rule is broken."""
CHANGE_KEYS: Final = tuple(key.name for key in RULE.keys if key.changeable)
"""The keys of a rule that a change may alter."""


def stock_keys(shelf: str) -> tuple[str, ...]:
    """The keys of an item of a shelf."""
    return tuple(key.name for key in STOCK.keys if not key.items or shelf in key.items)
