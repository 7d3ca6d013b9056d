"""Small rulebooks for the tests of this floor."""

from __future__ import annotations

from pathlib import Path

from bodyshop.rulebook import Rulebook, read_rulebook

__all__ = ["HEAD", "INCH_HEAD", "book_of", "rule_text", "write_book"]

HEAD = 'format = 1\nname = "Test"\nunits = "mm"\n\n[reading]\nresolution = "0.1 mm"\nnear = 0\n\n'
INCH_HEAD = 'format = 1\nname = "Test"\nunits = "in"\n\n[reading]\nresolution = "1/64 in"\nnear = 0\n\n'


def rule_text(body: str, clause: str = "X1", measure: str = "body.length", fails: str = "disqualify") -> str:
    """A rule with everything it needs beside `body`."""
    return (
        f'[[rule]]\nclause = "{clause}"\nmeasure = "{measure}"\n{body}\n'
        f'fails = "{fails}"\nreason = "Because."\n\n'
    )


def write_book(folder: Path, text: str, name: str = "book.toml") -> Path:
    """The text as a file."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def book_of(folder: Path, text: str, division: str = "") -> Rulebook:
    """The rulebook that a text says, read from a file."""
    return read_rulebook(write_book(folder, text), division=division)
