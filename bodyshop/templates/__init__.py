"""Full-size paper templates for the drill press and the bandsaw, from a car and the verdict it had."""

from bodyshop.drawing.stamp import UNCHECKED, Standing, VerdictStamp, stamp_of
from bodyshop.templates.document import (
    TemplateOptions,
    TemplateSet,
    template_set,
    template_sheets,
    templates_drawing,
    templates_pdf,
    templates_svg,
)

__all__ = [
    "UNCHECKED",
    "Standing",
    "TemplateOptions",
    "TemplateSet",
    "VerdictStamp",
    "stamp_of",
    "template_set",
    "template_sheets",
    "templates_drawing",
    "templates_pdf",
    "templates_svg",
]
