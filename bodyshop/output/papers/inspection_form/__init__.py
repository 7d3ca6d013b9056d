"""A rulebook for people: a sheet to read on a terminal, and the official's inspection sheet on paper.

book = read_rulebook(find_rulebook("quarry-lane"))
print(rulebook_text(book))
inspection_pdf(book, sheet_sizes()["a4"])                           # blank, to be filled in by hand
inspection_pdf(book, sheet_sizes()["a4"], checked=check_car(...))   # with the car as designed
"""

from bodyshop.output.papers.inspection_form.document import (
    InspectionOptions,
    MeasuredCar,
    inspection_pdf,
    inspection_sheets,
)
from bodyshop.output.papers.inspection_form.rows import BuiltMark

__all__ = [
    "MeasuredCar",
    "BuiltMark",
    "InspectionOptions",
    "inspection_pdf",
    "inspection_sheets",
]
