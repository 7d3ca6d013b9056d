"""Files that a person names for us to write: nothing that we did not write is written over."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bodyshop.problems import WriteRefusedError

__all__ = ["refuse_foreign"]

_MOST: Final = 1 << 24
"""How much of a file is read for its marks, bytes."""


def refuse_foreign(path: Path, *marks: bytes, looked_at: int = _MOST) -> None:
    """Refuse a place that no file can be written to, or that holds a file without our `marks`.

    Raises:
        WriteRefusedError: with what to do instead.
    """
    try:
        if path.is_dir():
            raise WriteRefusedError(str(path), "this is a folder, not a file")
        if not path.parent.is_dir():
            raise WriteRefusedError(str(path), "there is no folder to write it into")
        if not path.is_file():
            return
        with path.open("rb") as stream:
            text = stream.read(looked_at)
    except (OSError, ValueError):
        raise WriteRefusedError(str(path), "no file can be written here") from None
    if not all(mark in text for mark in marks):
        raise WriteRefusedError(
            str(path), "something that we did not write has this name; move it away or choose another"
        )
