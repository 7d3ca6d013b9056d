"""Passing names: what a file is called until it is whole, and what a stopped run left under such names.

The name says which machine and which process it is of: `.bodyshop-1a2b3c4d-4711-0123456789abcdef.tmp`. A
process that is no more needs its files no more. Where that cannot be told (another machine on the same
share, a number that was given anew) a day decides.
"""

from __future__ import annotations

import os
import re
import time
import zlib
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Final

__all__ = ["clear_stale", "is_passing", "passing_place"]

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
