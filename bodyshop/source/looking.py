"""Whether something is at a path that somebody typed. A name that no file can have is the name of nothing."""

from __future__ import annotations

from pathlib import Path

__all__ = ["is_file", "is_folder", "is_there"]


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
