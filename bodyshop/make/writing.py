"""Files into a folder, a part of them at a time, without touching anybody else's."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from bodyshop.make.files import Part, part_of
from bodyshop.source.manifest import MANIFEST, Manifest, fingerprint
from bodyshop.source.safewrite import OutputFolder, Written

__all__ = ["write_parts"]


def write_parts(folder: Path, stem: str, parts: Collection[Part], files: Mapping[str, bytes]) -> Written:
    """Write the files of some parts of a design: all of them, or none.

    Files that we wrote for these parts before and that are not made any more are removed; those of other
    parts and of other designs in the folder stay. The result tells of the files given only.

    Raises:
        WriteRefusedError: a name is taken by somebody else's file, or the folder cannot be written.
    """
    others = {name: data for name, data in _ours(folder).items() if part_of(name, stem) not in parts}
    done = OutputFolder(folder).write_all({**others, **files})
    return Written(
        written=done.written,
        unchanged=tuple(name for name in done.unchanged if name in files),
        removed=done.removed,
    )


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
