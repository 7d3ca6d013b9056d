"""Remedies that work: the smallest changes of a design's own numbers that make it pass.

Only numbers that the file writes out are changed; comments and layout stay as they are. Lengths count in
mm; a degree and a count of one are taken for 1 mm each, and a named dimension counts for the length that
moves most with it. What was weighed is a fact and is never changed.
"""

from bodyshop.fixing.advising import Opposed, best_single, opposed
from bodyshop.fixing.model import Conflict, Edit, Effect, Fix, Obstacle, Plan
from bodyshop.fixing.plan import SECONDS, fix_each, make_plan
from bodyshop.fixing.text import diff, write
from bodyshop.fixing.words import conflict_sentences, fix_sentence, headline, side_sentences

__all__ = [
    "SECONDS",
    "Conflict",
    "Edit",
    "Effect",
    "Fix",
    "Obstacle",
    "Opposed",
    "Plan",
    "best_single",
    "conflict_sentences",
    "diff",
    "fix_each",
    "fix_sentence",
    "headline",
    "make_plan",
    "opposed",
    "side_sentences",
    "write",
]
