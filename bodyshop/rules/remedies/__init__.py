"""Remedies that work: the smallest changes of a design's own numbers that make it pass.

Only numbers that the file writes out are changed; comments and layout stay as they are. Lengths count in
mm; a degree and a count of one are taken for 1 mm each, and a named dimension counts for the length that
moves most with it. What was weighed is a fact and is never changed.
"""

from bodyshop.rules.remedies.advice import Opposed, best_single, opposed
from bodyshop.rules.remedies.model import Conflict, Edit, Fix, Obstacle, Plan, SideEffect
from bodyshop.rules.remedies.plan import SECONDS, diff, fix_each, make_plan, write

__all__ = [
    "SECONDS",
    "Conflict",
    "Edit",
    "SideEffect",
    "Fix",
    "Obstacle",
    "Opposed",
    "Plan",
    "best_single",
    "diff",
    "fix_each",
    "make_plan",
    "opposed",
    "write",
]
