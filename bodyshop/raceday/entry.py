"""What is typed for a lane: a time in seconds, or how the run ended otherwise."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.problems import Problem
from bodyshop.trials.model import RunEnd

__all__ = ["KEYS", "Said", "read_said", "said_words"]

KEYS: Final = (
    "Type a time in seconds (1.042 or 1,042), dnf where the car did not finish, dns where it did not start, "
    "void where the run counts for nobody."
)

_WORDS: Final[Mapping[str, RunEnd]] = {
    "dnf": RunEnd.STOPPED,
    "dns": RunEnd.NO_START,
    "v": RunEnd.VOID,
    "void": RunEnd.VOID,
}
_TIME: Final = re.compile(r"([0-9]{1,4})(?:[.,]([0-9]{1,6}))?\s*(?:s|sec|seconds)?")


@dataclass(frozen=True, slots=True)
class Said:
    """What was typed. `leaves` is the empty line: the lane waits."""

    end: RunEnd = RunEnd.VOID
    time_s: float | None = None
    leaves: bool = False


def read_said(text: str) -> Said | Problem:
    """What a line means, or what is wrong with it."""
    word = text.strip().casefold()
    if not word:
        return Said(leaves=True)
    if word in _WORDS:
        return Said(_WORDS[word])
    match = _TIME.fullmatch(word)
    if match is None:
        return Problem(
            "raceday-time",
            f'"{text.strip()[:40]}" is no time and no way to end a run',
            found=text.strip()[:40],
            expected="seconds as 1.042, or dnf, dns, void",
        )
    return Said(RunEnd.FINISHED, float(f"{match[1]}.{match[2] or '0'}"))


def said_words(said: Said, decimals: int = 3) -> str:
    """The same as it is read back."""
    return f"{said.time_s:.{decimals}f} s" if said.time_s is not None else said.end.value
