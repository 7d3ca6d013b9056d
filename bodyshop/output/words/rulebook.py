"""The clauses of a rulebook by section."""

from __future__ import annotations

from typing import Final

from bodyshop.rules.rulebook import Rule, Rulebook

__all__ = ["NO_SECTION", "sections"]


NO_SECTION: Final = "Rules"
"""The heading of rules that have no section."""


def sections(book: Rulebook) -> dict[str, list[Rule]]:
    """The rules by their section, in the order of the book."""
    found: dict[str, list[Rule]] = {}
    for rule in book.rules:
        found.setdefault(rule.section or NO_SECTION, []).append(rule)
    return found
