"""Files that a person names for us to write: nothing that we did not write is written over."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bodyshop.foundation.files.manifest import is_plain_name
from bodyshop.foundation.files.safe_writing import OutputFolder
from bodyshop.foundation.problems import WriteRefusedError

__all__ = ["refuse_foreign", "refuse_taken", "write_own"]

_MOST: Final = 1 << 24
"""How much of a file is read for its marks, bytes."""


def refuse_foreign(path: Path, *marks: bytes, looked_at: int = _MOST) -> None:
    """Refuse a place that no file can be written to, or that holds a file without our `marks`.

    Raises:
        WriteRefusedError: with what to do instead.
    """
    try:
        _refuse_no_place(path)
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


def refuse_taken(path: Path) -> None:
    """Refuse a place that no file can be written to, or whose file is not as `write_own` left it.

    Raises:
        WriteRefusedError: with what to do instead.
    """
    folder, name = _place(path)
    folder.check([name])


def write_own(path: Path, data: bytes) -> None:
    """Write a file as one of a folder's that we keep a list of: never over one that was changed since.

    Raises:
        WriteRefusedError: it was, or it is not ours, or it cannot be written.
    """
    from bodyshop.output.bundle import write_parts

    folder, name = _place(path)
    folder.check([name])
    write_parts(folder.path, "", (), {name: data})


def _place(path: Path) -> tuple[OutputFolder, str]:
    try:
        _refuse_no_place(path)
    except (OSError, ValueError):
        raise WriteRefusedError(str(path), "no file can be written here") from None
    if not is_plain_name(path.name):
        raise WriteRefusedError(str(path), "no file can have this name on every system; choose another")
    return OutputFolder(path.parent), path.name


def _refuse_no_place(path: Path) -> None:
    if path.is_dir():
        raise WriteRefusedError(str(path), "this is a folder, not a file")
    if not path.parent.is_dir():
        raise WriteRefusedError(str(path), "there is no folder to write it into")
