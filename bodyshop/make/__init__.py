"""Everything that is made from one design: report, templates and solid, as files in one folder."""

from bodyshop.make.files import (
    FORMATS,
    Part,
    default_folder,
    default_sheet,
    file_stem,
    report_files,
    template_files,
    verdict_word,
)
from bodyshop.make.solids import SOLID_FORMATS, jig_files, solid_files
from bodyshop.make.writing import Kept, refuse_other_design, write_parts

__all__ = [
    "FORMATS",
    "SOLID_FORMATS",
    "Kept",
    "Part",
    "default_folder",
    "default_sheet",
    "file_stem",
    "jig_files",
    "refuse_other_design",
    "report_files",
    "solid_files",
    "template_files",
    "verdict_word",
    "write_parts",
]
