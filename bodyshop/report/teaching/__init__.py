"""The report that teaches: one judged car on one or two pages, as a web page or as a PDF."""

from bodyshop.report.teaching.paper import teaching_pdf, teaching_sheets
from bodyshop.report.teaching.web import teaching_html

__all__ = ["teaching_html", "teaching_pdf", "teaching_sheets"]
