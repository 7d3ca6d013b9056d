"""Names of files: what a name may hold, names until a file is whole, and whether something is there."""

from __future__ import annotations

import os
import re
import time
import unicodedata
import zlib
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Final

__all__ = ["clear_stale", "is_file", "is_folder", "is_passing", "is_there", "passing_place", "safe_stem"]


_LONGEST: Final = 40
_FALLBACK: Final = "car"
# Names that one system keeps for its devices, in any case and with any ending.
_RESERVED: Final = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789"))
)


def safe_stem(name: str, fallback: str = _FALLBACK) -> str:
    """A stem for a file name that is legal on every system: letters, digits, - and _.

    Letters of any alphabet are kept; everything else becomes a single -, and never stands first or
    last. A name with nothing to keep becomes `fallback`.
    """
    kept: list[str] = []
    for char in unicodedata.normalize("NFC", name):
        if char.isalpha() or char.isdecimal() or char == "_" or (kept and _is_part_of_letter(char, kept[-1])):
            kept.append(char)
        elif kept and kept[-1] != "-":
            kept.append("-")
        if len(kept) >= _LONGEST:
            break
    stem = "".join(kept).strip("-_")
    if not stem:
        return fallback
    return f"{stem}-{fallback}" if stem.casefold() in _RESERVED else stem


def _is_part_of_letter(char: str, before: str) -> bool:
    """Whether a mark belongs to the letter before it, as vowels do in several scripts."""
    variation = "\ufe00" <= char <= "\ufe0f"
    return unicodedata.category(char) in ("Mn", "Mc") and before not in "-_" and not variation


_NAME: Final = re.compile(
    r"\.bodyshop-(?:(?P<machine>[0-9a-f]{8})-(?P<process>[0-9]{1,20})-)?[0-9a-f]{16}\.tmp(?:-wal|-shm|-journal)?"
)
_OLD_S: Final = 24 * 3600.0
_MOST_LOOKED_AT: Final = 20_000


def passing_place(place: Path) -> Path:
    """A name beside `place` that nothing has, for what is to be renamed to it."""
    return place.with_name(f".bodyshop-{_machine()}-{os.getpid()}-{os.urandom(8).hex()}.tmp")


def is_passing(name: str) -> bool:
    """Whether a file of this name is one of ours on its way."""
    return _NAME.fullmatch(name) is not None


def clear_stale(folder: Path) -> None:
    """Take away what a run that was stopped left in a folder. Never fails: it is no more than tidying."""
    with suppress(OSError), os.scandir(folder) as entries:
        for _, entry in zip(range(_MOST_LOOKED_AT), entries, strict=False):
            found = _NAME.fullmatch(entry.name) if entry.name.startswith(".bodyshop-") else None
            if found is not None and _is_stale(found, entry):
                with suppress(OSError):
                    Path(entry.path).unlink()


def _is_stale(name: re.Match[str], entry: os.DirEntry[str]) -> bool:
    if not entry.is_file(follow_symlinks=False):
        return False
    process = name["process"]
    if process is not None and name["machine"] == _machine() and not _lives(int(process)):
        return True
    # When it was made or given this name; its content may be older.
    return time.time() - entry.stat(follow_symlinks=False).st_ctime > _OLD_S


def _lives(process: int) -> bool:
    """Whether a process of this machine is there, as far as can be told without touching it."""
    if os.name == "nt":  # asking is ending there
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


@cache
def _machine() -> str:
    name = os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "")
    return f"{zlib.crc32(name.encode('utf-8', 'replace')):08x}"


def is_there(path: Path | str) -> bool:
    """Whether anything is at the path, as far as may be seen."""
    try:
        return Path(path).exists()
    except (OSError, ValueError):
        return False


def is_file(path: Path | str) -> bool:
    """Whether an ordinary file is at the path, as far as may be seen."""
    try:
        return Path(path).is_file()
    except (OSError, ValueError):
        return False


def is_folder(path: Path | str) -> bool:
    """Whether a folder is at the path, as far as may be seen."""
    try:
        return Path(path).is_dir()
    except (OSError, ValueError):
        return False
