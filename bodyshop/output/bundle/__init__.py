"""Everything that is made from one design: report, templates and solid, as files in one folder."""

from bodyshop.output.bundle.files import (
    BundlePart,
    default_folder,
    file_stem,
    jig_files,
    report_files,
    solid_files,
    template_files,
    verdict_word,
)
from bodyshop.output.bundle.writing import OtherFormats, refuse_other_design, write_parts

__all__ = [
    "OtherFormats",
    "BundlePart",
    "default_folder",
    "file_stem",
    "jig_files",
    "refuse_other_design",
    "report_files",
    "solid_files",
    "template_files",
    "verdict_word",
    "write_parts",
]
