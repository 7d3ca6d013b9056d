"""Commented designs to begin with; each passes the default rulebook and teaches the format."""

from __future__ import annotations

from pathlib import Path

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.units import LengthUnit

__all__ = ["DEFAULT_STARTER", "starter_text", "starters", "toml_text"]

DEFAULT_STARTER = "straight"

_FOLDER = Path(__file__).resolve().parent.parent / "starters"
_NAME = "{name}"

# What a TOML basic string cannot hold as it is (TOML 1.0, "String").
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}


def starters() -> tuple[str, ...]:
    """The kinds of starter, the easiest first."""
    known = {file.stem for file in _FOLDER.glob("*.toml")}
    return tuple(sorted(known, key=lambda kind: (kind != DEFAULT_STARTER, kind != "tapered", kind)))


def starter_text(kind: str, name: str, unit: LengthUnit = LengthUnit.MM) -> str:
    """The text of a new design file for a car called `name`, in inches or else in mm.

    Raises:
        ProblemsError: there is no such kind.
    """
    known = starters()
    if kind not in known:
        problem = Problem(
            "unknown-starter",
            f'there is no starter called "{kind}"',
            found=kind,
            expected=f"one of {', '.join(known)}",
            nearest=nearest(kind, known),
        )
        raise ProblemsError([problem])
    folder = _FOLDER / "inch" if unit is LengthUnit.IN else _FOLDER
    text = (folder / f"{kind}.toml").read_text(encoding="utf-8")
    return text.replace(f'"{_NAME}"', toml_text(name))


def toml_text(text: str) -> str:
    """The text as a TOML basic string, in its quotes."""
    return '"' + "".join(_escaped(letter) for letter in text) + '"'


def _escaped(letter: str) -> str:
    if letter in _ESCAPES:
        return _ESCAPES[letter]
    code = ord(letter)
    return f"\\u{code:04x}" if code < 0x20 or code == 0x7F else letter
