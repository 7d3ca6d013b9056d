"""The build sheet: what to lay ready, what to cut and drill, how an axle goes together, in shop order.

checked = check_car(open_car("samples/kestrel.toml"))
build_sheet_pdf(checked, sheet_sizes()["a4"])
"""

from bodyshop.output.papers.buildsheet.document import (
    BuildOptions,
    build_sheet_files,
    build_sheet_pdf,
    build_sheets,
)

__all__ = ["BuildOptions", "build_sheet_files", "build_sheet_pdf", "build_sheets"]
