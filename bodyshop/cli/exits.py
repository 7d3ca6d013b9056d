"""What the program says to the one that called it, beside its words."""

from __future__ import annotations

from enum import IntEnum

__all__ = ["Exit"]


class Exit(IntEnum):
    """Exit codes of every command."""

    PASSES = 0
    """The design passes; or the command did what it was asked."""
    FAILS = 1
    """The design can be read, and breaks a rule."""
    UNREADABLE = 2
    """Something cannot be read, judged or written, or the command line makes no sense."""
    STOPPED = 130
    """Stopped from the keyboard."""
