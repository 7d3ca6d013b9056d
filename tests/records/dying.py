"""A check that ends its own process, for the tests of what the others then do."""

from __future__ import annotations

import os

from bodyshop.records.classroom import CheckOptions, ClassFile
from bodyshop.records.classroom.checking import CheckedFile, check_one

__all__ = ["check_or_die"]


def check_or_die(entry: ClassFile, options: CheckOptions) -> CheckedFile:
    """Check a file, unless it is called deadly."""
    if "deadly" in entry.shown:
        os._exit(3)
    return check_one(entry, options)
