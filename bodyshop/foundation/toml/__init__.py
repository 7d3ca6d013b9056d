"""TOML files to values with the place of every key and value.

Beside what is named here: `splice` changes one value in a text, and `names` makes file names. They are
imported by those who need them.
"""

from bodyshop.foundation.toml.document import Source
from bodyshop.foundation.toml.places import KeyPath, dotted
from bodyshop.foundation.toml.reading import NESTING_LIMIT, SIZE_LIMIT, parse_source, read_source, read_text

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
