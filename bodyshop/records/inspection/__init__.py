"""The car as built: what an inspector measured and saw, judged by the same rulebook as the design.

found = read_words(checked, ["B1=304.5mm@0.5mm", "I1=yes"])
inspected = inspect(checked, found)
number = keep(book, "Kestrel", inspected).id
"""

from bodyshop.records.inspection.input import InspectionInput, MeasuredValue, read_values_csv, read_words
from bodyshop.records.inspection.judging import DimensionChange, InspectedRow, InspectionResult, inspect
from bodyshop.records.inspection.storage import EarlierInspection, keep, past_inspections

__all__ = [
    "DimensionChange",
    "InspectionInput",
    "InspectionResult",
    "InspectedRow",
    "MeasuredValue",
    "EarlierInspection",
    "inspect",
    "keep",
    "past_inspections",
    "read_values_csv",
    "read_words",
]
