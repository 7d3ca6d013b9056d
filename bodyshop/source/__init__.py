"""TOML files to values with the place of every key and value; small changes to them; safe writing."""

from bodyshop.source.document import Source, dotted
from bodyshop.source.manifest import MANIFEST
from bodyshop.source.names import safe_stem
from bodyshop.source.places import KeyPath
from bodyshop.source.reading import NESTING_LIMIT, SIZE_LIMIT, parse_source, read_source
from bodyshop.source.safewrite import OutputFolder, Written, write_file
from bodyshop.source.splice import splice_number

__all__ = [
    "MANIFEST",
    "NESTING_LIMIT",
    "SIZE_LIMIT",
    "KeyPath",
    "OutputFolder",
    "Source",
    "Written",
    "dotted",
    "parse_source",
    "read_source",
    "safe_stem",
    "splice_number",
    "write_file",
]
