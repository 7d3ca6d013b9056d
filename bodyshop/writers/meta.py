"""What a file says about itself."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DocMeta", "plain"]


@dataclass(frozen=True, slots=True)
class DocMeta:
    """Title, author (owner or bench), subject and keywords of a file."""

    title: str
    author: str = ""
    subject: str = ""
    keywords: tuple[str, ...] = ()


def plain(text: str) -> str:
    """`text` without what XML and PDF strings may not hold: control characters, lone surrogates."""
    return "".join(
        " " if c in "\t\n\r" else c
        for c in text
        if (ord(c) >= 32 or c in "\t\n\r") and not 0x7F <= ord(c) <= 0x9F and not 0xD800 <= ord(c) <= 0xDFFF
        if ord(c) not in (0xFFFE, 0xFFFF)
    )
