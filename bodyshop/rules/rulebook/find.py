"""Which file a rulebook's name means."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.toml import KeyPath, Source

__all__ = ["find_rulebook", "shipped_rulebooks"]

_SUFFIX: Final = ".toml"
_LONGEST_NAME: Final = 1000


def shipped_rulebooks() -> tuple[str, ...]:
    """Names of the rulebooks that come with the program, in order of the alphabet."""
    return tuple(sorted(file.stem for file in rules_folder().glob(f"*{_SUFFIX}")))


def find_rulebook(
    name_or_path: str, near: Path | None = None, *, at: tuple[Source, KeyPath] | None = None
) -> Path:
    """The file of a rulebook.

    A plain word is the name of a shipped rulebook, or else of a file `WORD.toml` in the folder `near`.
    Anything with a slash or the ending `.toml` is a path, taken from `near` unless it is absolute.
    `at` is the key that names it, for the place of a problem.

    Raises `ProblemsError` when there is none: with the nearest shipped name and the list of all.
    """
    folder = near if near is not None else Path()
    for file in _candidates(name_or_path, folder):
        if is_there(file):
            return file
    names = shipped_rulebooks()
    word = name_or_path.replace("\\", "/").rpartition("/")[2].removesuffix(_SUFFIX)
    close = nearest(word, names)
    shown = shortened(name_or_path, 80)
    message = f'there is no rulebook "{shown}"' if shown.strip() else "no rulebook is named"
    expected = f"{', '.join(names)}, or the path of a {_SUFFIX} file"
    if at is not None:
        source, path = at
        raise ProblemsError(
            [source.problem(path, "rulebook-missing", message, found=shown, expected=expected, nearest=close)]
        )
    raise ProblemsError(
        [Problem("rulebook-missing", message, file=shown, found=shown, expected=expected, nearest=close)]
    )


def _candidates(text: str, folder: Path) -> list[Path]:
    if not text.strip() or len(text) > _LONGEST_NAME:
        return []
    is_path = text.endswith(_SUFFIX) or "/" in text or "\\" in text
    if not is_path:
        shipped = [rules_folder() / f"{text}{_SUFFIX}"] if text in shipped_rulebooks() else []
        return [*shipped, folder / f"{text}{_SUFFIX}"]
    paths = [text, text.replace("\\", "/")]  # a path typed on Windows may be read elsewhere
    ending = [] if text.endswith(_SUFFIX) else [f"{path}{_SUFFIX}" for path in paths]
    return [folder / path for path in [*paths, *ending]]
