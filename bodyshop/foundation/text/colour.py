"""Colour as an extra: every word says the same without it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TextStyle"]


@dataclass(frozen=True, slots=True)
class TextStyle:
    """Wraps words in the control codes of ECMA-48 (bold, colours), or leaves them as they are.

    To be used on whole lines or on words already laid out: the codes have no width.
    """

    on: bool = False

    def strong(self, text: str) -> str:
        """What is read first."""
        return self._in("1", text)

    def bad(self, text: str) -> str:
        """What is wrong."""
        return self._in("1;31", text)

    def near(self, text: str) -> str:
        """What wants a second look."""
        return self._in("33", text)

    def good(self, text: str) -> str:
        """What is as it should be."""
        return self._in("32", text)

    def quiet(self, text: str) -> str:
        """What may be skipped."""
        return self._in("2", text)

    def _in(self, code: str, text: str) -> str:
        return f"\x1b[{code}m{text}\x1b[0m" if self.on and text else text
