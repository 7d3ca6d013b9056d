"""The list that we keep in a folder of ours: which files we wrote there, and a fingerprint of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

__all__ = ["MANIFEST", "Manifest", "fingerprint", "is_plain_name"]

MANIFEST: Final = "bodyshop-wrote.json"
"""Name of the list."""

_FORMAT: Final = 1
_ABOUT: Final = "Files that bodyshop wrote into this folder and may replace. Changed files are left alone."


def fingerprint(data: bytes) -> str:
    """SHA-256 of a file, the same whichever way its lines end: version control may change that."""
    import hashlib

    return hashlib.sha256(data.replace(b"\r\n", b"\n")).hexdigest()


def is_plain_name(name: str) -> bool:
    """Whether a name is relative, stays inside its folder and is the same on every system."""
    parts = name.split("/")
    return bool(name.strip()) and all(
        part and part[-1] not in ". " and part.isprintable() and not set(part) & set('\\:*?"<>|')
        for part in parts
    )


@dataclass(frozen=True, slots=True)
class Manifest:
    """File names with the fingerprints each may have: one, or two while a change is under way.

    `of` tells by the beginning of file names what they are about, where that is known: which design.
    """

    files: Mapping[str, tuple[str, ...]]
    of: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def read(cls, data: bytes) -> Manifest:
        """Read the list. Raises `ValueError` for anything but a list of ours."""
        import json

        try:
            read = json.loads(data.decode("utf-8"))
        except RecursionError:
            raise ValueError("nested too deep") from None
        if (
            not isinstance(read, dict)
            or read.get("format") != _FORMAT
            or not isinstance(read.get("files"), dict)
        ):
            raise ValueError("not a list of files")
        files: dict[str, tuple[str, ...]] = {}
        for name, prints in read["files"].items():
            allowed = [prints] if isinstance(prints, str) else prints
            if not is_plain_name(name) or not isinstance(allowed, list):
                raise ValueError("not a list of files")
            if not all(isinstance(each, str) for each in allowed):
                raise ValueError("not a list of files")
            files[name] = tuple(allowed)
        about = read.get("of", {})
        if not isinstance(about, dict) or not all(isinstance(what, str) for what in about.values()):
            raise ValueError("not a list of files")
        return cls(files, about)

    def joined(self, other: Manifest) -> Manifest:
        """A list that allows what either allows."""
        names = {*self.files, *other.files}
        return Manifest(
            {name: tuple(sorted({*self.files.get(name, ()), *other.files.get(name, ())})) for name in names},
            {**self.of, **other.of},
        )

    def text(self) -> bytes:
        """The list as a file: the same for the same files, whenever and wherever it is made."""
        import json

        files = {name: prints[0] if len(prints) == 1 else list(prints) for name, prints in self.files.items()}
        content: dict[str, object] = {"about": _ABOUT, "format": _FORMAT, "files": files}
        if self.of:
            content["of"] = dict(self.of)
        return (json.dumps(content, indent=2, sort_keys=True, ensure_ascii=False) + "\n").encode("utf-8")
