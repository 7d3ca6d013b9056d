"""The papers of a whole class as one PDF in class order, with bookmarks and an index.

found = class_files("designs")
made = make_papers(found.files, PaperRequest(sheet_size("a4")))
class_papers_pdf(found.folder, made, PaperRequest(sheet_size("a4")))
"""

from bodyshop.output.papers.class_set.document import class_papers_pdf
from bodyshop.output.papers.class_set.making import (
    CarPapers,
    FailedPapers,
    PaperKind,
    PaperRequest,
    make_papers,
    usual_unit,
)

__all__ = [
    "CarPapers",
    "PaperKind",
    "PaperRequest",
    "FailedPapers",
    "class_papers_pdf",
    "make_papers",
    "usual_unit",
]
