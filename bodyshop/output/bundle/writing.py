"""Files into a folder, a part of them at a time, without touching anybody else's."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from pathlib import Path

from bodyshop.car.design import Design
from bodyshop.foundation.files.manifest import MANIFEST, Manifest, fingerprint
from bodyshop.foundation.files.safe_writing import FolderChanges, OutputFolder
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.output.bundle.files import BundlePart, part_of

__all__ = ["OtherFormats", "refuse_other_design", "whose", "write_parts"]

_LONGEST = 120


def refuse_other_design(folder: Path, stem: str, design: Design) -> None:
    """Refuse a folder whose papers of that stem are those of another car.

    Two files of one name in two folders, or a car that has got another name, would else share one set.

    Raises:
        WriteRefusedError: they are.
    """
    before = OutputFolder(folder).about(stem)
    if before and before != whose(design):
        raise WriteRefusedError(
            str(folder),
            f"here are the papers of {before}, and this is {whose(design)}: choose another folder with "
            "--out, or move that one away",
        )


def whose(design: Design) -> str:
    """A design as the list of files in a folder remembers it: by its name and bench."""
    words = f"{design.name} ({design.bench})" if design.bench else design.name
    return words if len(words) <= _LONGEST else words[: _LONGEST - 1] + "…"


def write_parts(
    folder: Path,
    stem: str,
    parts: Collection[BundlePart],
    files: Mapping[str, bytes],
    *,
    design: Design | None = None,
    keep: Callable[[str, bytes], bool] | None = None,
) -> FolderChanges:
    """Write the files of some parts of a design: all of them, or none.

    Files that we wrote for these parts before and that are not made any more are removed, but for those
    that `keep` says yes to; those of other parts and of other designs in the folder stay. The result tells
    of the files given only. `design` is remembered as the one that the stem stands for.

    Raises:
        WriteRefusedError: a name is taken by somebody else's file, or the folder cannot be written.
    """
    others = {
        name: data
        for name, data in _ours(folder).items()
        if part_of(name, stem) not in parts or (name not in files and keep is not None and keep(name, data))
    }
    about = {} if design is None else {stem: whose(design)}
    done = OutputFolder(folder).write_all({**others, **files}, about)
    return FolderChanges(
        written=done.written,
        unchanged=tuple(name for name in done.unchanged if name in files),
        removed=done.removed,
    )


class OtherFormats:
    """Says of papers in a format that is not asked for now whether they stay: those of the design as it is.

    They are told by what is printed in them, the design's fingerprint and the verdict. `names` are those
    that stayed, `stale` those that did not.
    """

    def __init__(self, marks: Collection[str], formats: Collection[str]) -> None:
        self.names: list[str] = []
        self.stale: list[str] = []
        self._marks = [mark.encode("utf-8") for mark in marks]
        self._formats = formats

    def __call__(self, name: str, data: bytes) -> bool:
        """Whether a file stays that is not made now."""
        if name.rpartition(".")[2] in self._formats:
            return False
        stays = all(mark in data for mark in self._marks)
        (self.names if stays else self.stale).append(name)
        return stays


def _ours(folder: Path) -> dict[str, bytes]:
    """What we wrote into a folder before and nobody has changed since."""
    found: dict[str, bytes] = {}
    try:
        manifest = Manifest.read((folder / MANIFEST).read_bytes())
        for name, prints in manifest.files.items():
            file = folder / name
            if file.is_file() and not file.is_symlink():
                data = file.read_bytes()
                if fingerprint(data) in prints:
                    found[name] = data
    except (OSError, ValueError):
        return {}  # writing says what is wrong with the list, if anything is
    return found
