"""TOML files to values with the place of every key and value.

Beside what is named here: `splice` changes one value in a text, `safewrite` writes files and folders
so that nothing is lost, `names` makes file names. They are imported by those who need them.
"""

from bodyshop.source.document import Source
from bodyshop.source.paths import KeyPath, dotted
from bodyshop.source.reading import NESTING_LIMIT, SIZE_LIMIT, parse_source, read_source, read_text

__all__ = [
    "NESTING_LIMIT",
    "SIZE_LIMIT",
    "KeyPath",
    "Source",
    "dotted",
    "parse_source",
    "read_source",
    "read_text",
]
