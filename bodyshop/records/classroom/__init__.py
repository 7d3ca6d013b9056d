"""A whole class of designs: checked on every processor and summed up.

from bodyshop.records.classroom import CheckOptions, check_files, class_files, class_report, supplies
found = class_files("designs")
rows, books = check_files(found.files, CheckOptions())
report = class_report(found.folder, rows, books, supplies(), found.closed)

Nothing here loads what cars are measured with: the processes that check them do. Tables, page,
CSV and JSON of the report are in `output`.
"""

from bodyshop.records.classroom.checking import check_files
from bodyshop.records.classroom.discovery import CheckOptions, ClassFile, ClassFolder, class_files
from bodyshop.records.classroom.stock_plan import Supplies, supplies
from bodyshop.records.classroom.summary import ClassReport, class_report

__all__ = [
    "CheckOptions",
    "ClassReport",
    "ClassFile",
    "ClassFolder",
    "Supplies",
    "check_files",
    "class_files",
    "class_report",
    "supplies",
]
