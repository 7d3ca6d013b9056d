"""A change of a text as one replaced stretch: applied, taken back, carried over another one."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Splice", "between", "combined", "from_units", "rebased", "to_units", "with_endings"]


@dataclass(frozen=True, slots=True)
class Splice:
    """`old` at offset `start` becomes `new`. Offsets count characters."""

    start: int
    old: str
    new: str

    @property
    def end(self) -> int:
        """Offset behind the old text."""
        return self.start + len(self.old)

    @property
    def longer(self) -> int:
        """By how many characters the text grows."""
        return len(self.new) - len(self.old)

    @property
    def back(self) -> Splice:
        """What takes it back."""
        return Splice(self.start, self.new, self.old)

    def on(self, text: str) -> str:
        """The text with the change made. Raises `ValueError` where the old text does not stand there."""
        if self.start < 0 or text[self.start : self.end] != self.old:
            raise ValueError(f"the text at {self.start} is not what was to be replaced")
        return text[: self.start] + self.new + text[self.end :]


def between(before: str, after: str) -> Splice | None:
    """The shortest single stretch that makes `after` of `before`; None when they are the same."""
    if before == after:
        return None
    most = min(len(before), len(after))
    head = _common(before, after, most)
    tail = _common(before[head:][::-1], after[head:][::-1], most - head)
    return Splice(head, before[head : len(before) - tail], after[head : len(after) - tail])


def _common(one: str, other: str, most: int) -> int:
    """How many characters are the same from the start, found by halving."""
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        if one[low:middle] == other[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low


def combined(text: str, splices: Iterable[tuple[int, int, str]]) -> Splice | None:
    """Several stretches of one text (start, end, new), none over another, as a single one.

    Raises `ValueError` for stretches outside the text or over each other.
    """
    ordered = sorted(splices, key=lambda each: (each[0], each[1]))
    if not ordered:
        return None
    at: int = max(ordered[0][0], 0)
    parts: list[str] = []
    for start, end, new in ordered:
        if not at <= start <= end <= len(text):
            raise ValueError("stretches of a change lie outside the text or over each other")
        parts += [text[at:start], new]
        at = end
    first = ordered[0][0]
    splice = Splice(first, text[first:at], "".join(parts))
    return None if splice.old == splice.new else splice


def rebased(splice: Splice, over: Splice) -> Splice | None:
    """The same change in a text in which `over` has been made first; None where they touch the same text.

    Two insertions at one place both stay, the earlier one first.
    """
    if splice.end < over.start or (splice.end == over.start and (splice.old or over.old)):
        return splice
    if splice.start >= over.end:
        return Splice(splice.start + over.longer, splice.old, splice.new)
    return None


def to_units(text: str, offset: int) -> int:
    """An offset in characters as one in 16-bit units, in which a browser counts."""
    if text.isascii():
        return offset
    return offset + sum(1 for char in text[:offset] if char > "\uffff")


def from_units(text: str, units: int) -> int:
    """An offset in 16-bit units as one in characters.

    Raises `ValueError` outside the text and inside a character.
    """
    if text.isascii() and 0 <= units <= len(text):
        return units
    left = units
    for place, char in enumerate(text):
        if left <= 0:
            break
        left -= 2 if char > "\uffff" else 1
        if left == 0:
            return place + 1
    if units == 0:
        return 0
    raise ValueError(f"there is no place {units} in the text")


def with_endings(before: str, text: str) -> str:
    """`text`, whose lines end in a plain line feed, with the line ends of the file it began as.

    In a file of mixed line ends every line that is still there keeps its own; new ones end as most do.
    """
    windows = before.count("\r\n")
    if not windows:
        return text
    if windows == before.count("\n"):
        return text.replace("\n", "\r\n")
    most = "\r\n" if windows * 2 > before.count("\n") else "\n"
    old, new = before.splitlines(keepends=True), text.splitlines(keepends=True)
    ended = [line.replace("\n", most) for line in new]
    plain = [line.replace("\r\n", "\n") for line in old]
    for same in difflib.SequenceMatcher(None, plain, new, autojunk=False).get_matching_blocks():
        ended[same.b : same.b + same.size] = old[same.a : same.a + same.size]
    return "".join(ended)
