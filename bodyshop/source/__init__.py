"""TOML files to values with the place of every key and value; small changes to them; safe writing."""

from bodyshop.source.document import Source, dotted
from bodyshop.source.places import KeyPath
from bodyshop.source.reading import NESTING_LIMIT, SIZE_LIMIT, parse_source, read_source
from bodyshop.source.splice import splice_number

__all__ = [
    "NESTING_LIMIT",
    "SIZE_LIMIT",
    "KeyPath",
    "Source",
    "dotted",
    "parse_source",
    "read_source",
    "splice_number",
]
