"""A whole class of designs: checked on every processor, summed up, and told in four forms.

from bodyshop.classwork import CheckOptions, check_files, class_files, class_report, class_table, supplies
found = class_files("designs")
rows, books = check_files(found.files, CheckOptions())
print(class_table(class_report(found.folder, rows, books, supplies(), found.closed)))

Nothing here loads what cars are measured with: the processes that check them do. The JSON, which shares its
words with the other reports, is in `bodyshop.classwork.json_file`.
"""

from bodyshop.classwork.csv_file import CSV_HEADER, class_csv
from bodyshop.classwork.found import Entry, Found, class_files
from bodyshop.classwork.model import CheckOptions
from bodyshop.classwork.page import GENERATOR, class_page
from bodyshop.classwork.pool import check_files
from bodyshop.classwork.summary import ClassReport, class_report
from bodyshop.classwork.supplies import Supplies, supplies
from bodyshop.classwork.table import class_table

__all__ = [
    "CSV_HEADER",
    "GENERATOR",
    "CheckOptions",
    "ClassReport",
    "Entry",
    "Found",
    "Supplies",
    "check_files",
    "class_csv",
    "class_files",
    "class_page",
    "class_report",
    "class_table",
    "supplies",
]
