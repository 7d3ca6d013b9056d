"""Full-size paper templates for the drill press and the bandsaw, from a car and the verdict it had."""

from bodyshop.output.papers.templates.document import (
    TemplateOptions,
    TemplateSet,
    template_set,
    template_sheets,
    templates_drawing,
)
from bodyshop.output.words.papers import UNCHECKED, PrintedVerdict, VerdictStamp, stamp_of

__all__ = [
    "UNCHECKED",
    "PrintedVerdict",
    "TemplateOptions",
    "TemplateSet",
    "VerdictStamp",
    "stamp_of",
    "template_set",
    "template_sheets",
    "templates_drawing",
]
