"""The papers of a whole class as one PDF in class order, with bookmarks and an index.

found = class_files("designs")
made = make_papers(found.files, PapersAsked(sheet_size("a4")))
class_papers_pdf(found.folder, made, PapersAsked(sheet_size("a4")))
"""

from bodyshop.classpapers.document import class_papers_pdf
from bodyshop.classpapers.model import CarPapers, Content, PapersAsked, Unmade
from bodyshop.classpapers.pool import make_papers
from bodyshop.classpapers.units import usual_unit

__all__ = [
    "CarPapers",
    "Content",
    "PapersAsked",
    "Unmade",
    "class_papers_pdf",
    "make_papers",
    "usual_unit",
]
