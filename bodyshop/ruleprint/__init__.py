"""A rulebook for people: a sheet to read on a terminal, and the official's inspection sheet on paper.

book = read_rulebook(find_rulebook("quarry-lane"))
print(rulebook_text(book))
inspection_pdf(book, sheet_sizes()["a4"])                           # blank, to be filled in by hand
inspection_pdf(book, sheet_sizes()["a4"], checked=check_car(...))   # with the car as designed
"""

from bodyshop.ruleprint.document import AsBuilt, InspectionOptions, inspection_pdf, inspection_sheets
from bodyshop.ruleprint.reading_sheet import rulebook_text
from bodyshop.ruleprint.rows import BuiltMark

__all__ = [
    "AsBuilt",
    "BuiltMark",
    "InspectionOptions",
    "inspection_pdf",
    "inspection_sheets",
    "rulebook_text",
]
