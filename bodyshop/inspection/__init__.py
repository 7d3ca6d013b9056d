"""The car as built: what an inspector measured and saw, judged by the same rulebook as the design.

found = read_words(checked, ["B1=304.5mm@0.5mm", "I1=yes"])
inspected = inspect(checked, found)
number = keep(book, "Kestrel", inspected).id
"""

from bodyshop.inspection.found import Found, Measured, read_values_csv, read_words
from bodyshop.inspection.judging import Change, Inspected, InspectedRow, inspect
from bodyshop.inspection.keeping import Past, keep, past_inspections
from bodyshop.inspection.sheet import as_built_pdf
from bodyshop.inspection.telling import inspected_data, inspected_text

__all__ = [
    "Change",
    "Found",
    "Inspected",
    "InspectedRow",
    "Measured",
    "Past",
    "as_built_pdf",
    "inspect",
    "inspected_data",
    "inspected_text",
    "keep",
    "past_inspections",
    "read_values_csv",
    "read_words",
]
