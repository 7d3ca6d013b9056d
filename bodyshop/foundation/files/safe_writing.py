"""Write files so that nothing is lost: all or nothing, and nothing of anybody else's.

A file is written beside its place under a passing name, flushed to the disk, and then renamed over it.
Passing files that a run left behind, since it was stopped half way, are taken away by the next one.
A folder that we fill holds a list of what we wrote there, with a fingerprint of each file. What is not
on the list, or is no longer as we wrote it, is somebody's work and is never touched.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from bodyshop.foundation.files.manifest import MANIFEST, Manifest, fingerprint, is_plain_name
from bodyshop.foundation.files.names import clear_stale, is_passing, passing_place
from bodyshop.foundation.problems import WriteRefusedError

__all__ = ["OutputFolder", "FolderChanges", "write_file"]

_CURE: Final = "move it away or choose another folder"


def write_file(path: Path | str, data: bytes) -> None:
    """Write one file whole or not at all; the permissions of a file that was there are kept.

    A link is followed: the file it means is written. Raises `WriteRefusedError` when the place is not
    for a file or cannot be written; then what was there is untouched.

    >>> import tempfile
    >>> place = Path(tempfile.mkdtemp()) / "wren.toml"
    >>> write_file(place, b"format = 1")
    >>> place.read_bytes()
    b'format = 1'
    """
    shown = str(path)
    place = _resolved(Path(path), shown)
    try:
        _refuse_special(place, shown)
        clear_stale(place.parent)
        temp = _write_beside(place, data)
        try:
            temp.replace(place)
        except BaseException:
            with suppress(OSError):
                temp.unlink()
            raise
    except OSError as error:
        raise WriteRefusedError(shown, _reason(error)) from None
    _sync_folder(place.parent)


@dataclass(frozen=True, slots=True)
class FolderChanges:
    """What became of a folder: names written anew, names that were the same already, names removed."""

    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]


class OutputFolder:
    """A folder that we fill with a set of files, and fill again later.

    `path` may be a link to a folder. Names are relative, with `/` between their parts.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)

    def check(self, names: Iterable[str]) -> None:
        """Refuse now what `write_all` would refuse for these names. Nothing is written.

        Raises `WriteRefusedError`.
        """
        self._look(sorted(names))

    def about(self, beginning: str) -> str:
        """What files with names of that beginning are said to be about; empty where that is not known."""
        try:
            return self._manifest(_resolved(self.path, str(self.path))).of.get(beginning, "")
        except (OSError, WriteRefusedError):
            return ""

    def write_all(self, files: Mapping[str, bytes], about: Mapping[str, str] | None = None) -> FolderChanges:
        """Write the whole set, or leave everything as it was.

        `about` says by the beginning of names what files are about, for the next time.

        Files of an earlier set that are not in this one are removed, if they are still as we wrote
        them. Raises `WriteRefusedError` before anything is written when a name is taken by a file that
        is not ours or was changed since, and when the folder cannot be written; `ValueError` for a
        name that is no plain relative one.
        """
        folder, old = self._look(sorted(files))
        told = {
            beginning: what
            for beginning, what in {**old.of, **(about or {})}.items()
            if any(name.startswith(beginning) for name in files)
        }
        new = Manifest({name: (fingerprint(data),) for name, data in files.items()}, told)
        write = [name for name in sorted(files) if _content(folder / name) != files[name]]
        stale = [name for name in old.files if name not in files and self._is_ours(folder, name, old)]
        unchanged = tuple(name for name in sorted(files) if name not in write)
        if not write and not stale and _content(folder / MANIFEST) == new.text():
            return FolderChanges((), unchanged, ())
        change = _Change()
        try:
            for each in {folder, *((folder / name).parent for name in files)}:
                clear_stale(each)
            change.make_folder(folder)
            # Between the first rename and the last, the list on the disk allows both sets: a machine
            # that stops in between leaves nothing that looks foreign next time.
            change.stage(folder / MANIFEST, old.joined(new).text())
            for name in write:
                change.make_folder((folder / name).parent)
                change.stage(folder / name, files[name])
            change.stage(folder / MANIFEST, new.text())
            change.carry_out([folder / name for name in stale])
        except OSError as error:
            change.undo()
            where = self._shown(folder, error.filename) if isinstance(error.filename, str) else str(self.path)
            raise WriteRefusedError(where, _reason(error)) from None
        except BaseException:
            change.undo()
            raise
        change.tidy(folder)
        return FolderChanges(tuple(write), unchanged, tuple(stale))

    def _shown(self, folder: Path, filename: str) -> str:
        """The name a person knows a place by: never that of a passing file."""
        place = Path(filename)
        if is_passing(place.name):
            place = place.parent
        try:
            below = place.relative_to(folder)
        except ValueError:
            # The folder itself, or one on the way to it, could not be made.
            return str(self.path)
        return str(self.path / below)

    def _look(self, names: list[str]) -> tuple[Path, Manifest]:
        """The real folder and its list, once it is clear that all names are free or ours."""
        _check_names(names)
        shown = str(self.path)
        folder = _resolved(self.path, shown)
        try:
            _refuse_no_folder(folder, shown)
            manifest = self._manifest(folder)
            refused = [(name, why) for name in names if (why := self._taken(folder, name, manifest))]
        except OSError as error:
            raise WriteRefusedError(shown, _reason(error)) from None
        if refused:
            name, why = refused[0]
            more = f" (and so are {len(refused) - 1} more)" if len(refused) > 1 else ""
            raise WriteRefusedError(str(self.path / name), f"{why}{more}; {_CURE}")
        return folder, manifest

    def _manifest(self, folder: Path) -> Manifest:
        place = folder / MANIFEST
        shown = str(self.path / MANIFEST)
        if not os.path.lexists(place):
            return Manifest({})
        if place.is_symlink() or not place.is_file():
            raise WriteRefusedError(shown, f"this is not the list of files that we keep here; {_CURE}")
        try:
            return Manifest.read(place.read_bytes())
        except ValueError:
            message = f"this list of files is damaged, so it is not clear what is whose; {_CURE}"
            raise WriteRefusedError(shown, message) from None

    def _taken(self, folder: Path, name: str, manifest: Manifest) -> str:
        """Why a name may not be written; empty when it may."""
        place = folder / name
        above = [folder / part for part in list(PurePosixPath(name).parents)[:-1]]
        if any(part.is_symlink() or (part.exists() and not part.is_dir()) for part in above):
            return "its folder is a link or a file"
        if not os.path.lexists(place):
            return ""
        mode = place.lstat().st_mode
        if not stat.S_ISREG(mode) or name not in manifest.files:
            return "something that we did not write has this name"
        if not self._is_ours(folder, name, manifest):
            return "this file was changed since we wrote it"
        if not mode & stat.S_IWUSR:
            return "this file is marked read-only"
        return ""

    @staticmethod
    def _is_ours(folder: Path, name: str, manifest: Manifest) -> bool:
        """Whether a listed file is there and still as we wrote it."""
        place = folder / name
        if any((folder / above).is_symlink() for above in PurePosixPath(name).parents):
            # The folder itself is resolved already; a link below it leads to somebody else's place.
            return False
        if place.is_symlink() or not place.is_file():
            return False
        return fingerprint(place.read_bytes()) in manifest.files.get(name, ())


class _Change:
    """A set of renames that can be taken back until it is complete."""

    def __init__(self) -> None:
        self._staged: list[tuple[Path, Path]] = []
        self._undo: list[Callable[[], object]] = []
        self._aside: list[Path] = []
        self._made: list[Path] = []
        self._emptied: set[Path] = set()

    def make_folder(self, folder: Path) -> None:
        missing = []
        while not folder.exists():
            missing.append(folder)
            folder = folder.parent
        for each in reversed(missing):
            each.mkdir()
            self._made.append(each)

    def stage(self, place: Path, data: bytes) -> None:
        """Write `data` beside its place, to be renamed later in the order of staging."""
        self._staged.append((_write_beside(place, data), place))

    def carry_out(self, stale: list[Path]) -> None:
        """Rename everything staged into place and take `stale` away."""
        last = self._staged[-1]
        for temp, place in self._staged[:-1]:
            self._put(temp, place)
        for place in stale:
            self._set_aside(place, keep=False)
            self._emptied.add(place.parent)
        self._put(*last)

    def _put(self, temp: Path, place: Path) -> None:
        if os.path.lexists(place):
            self._set_aside(place, keep=True)
        else:
            self._undo.append(lambda: place.unlink(missing_ok=True))
        temp.replace(place)

    def _set_aside(self, place: Path, *, keep: bool) -> None:
        """Give the old file a passing name, from which it can be brought back."""
        aside = passing_place(place)
        linked = False
        if keep:
            # With a second name for the old file its place is never empty, not for a moment.
            with suppress(OSError, NotImplementedError):
                aside.hardlink_to(place)
                linked = True
        if not linked:
            place.replace(aside)
        self._aside.append(aside)
        self._undo.append(lambda: aside.replace(place))

    def undo(self) -> None:
        """Bring everything back as far as the system lets us."""
        for step in reversed(self._undo):
            with suppress(OSError):
                step()
        self._remove_passing()
        for folder in reversed(self._made):
            with suppress(OSError):
                folder.rmdir()

    def tidy(self, folder: Path) -> None:
        """Make the renames last, and remove what was set aside."""
        try:
            for each in sorted({folder, *(place.parent for _, place in self._staged)}):
                _sync_folder(each)
        finally:
            self._remove_passing()
        for emptied in self._emptied:
            while emptied != folder and folder in emptied.parents:
                try:
                    emptied.rmdir()
                except OSError:
                    break
                emptied = emptied.parent  # noqa: PLW2901 - the walk up to the folder

    def _remove_passing(self) -> None:
        for path in [*(temp for temp, _ in self._staged), *self._aside]:
            with suppress(OSError):
                path.unlink(missing_ok=True)


def _check_names(names: list[str]) -> None:
    for name in names:
        if not is_plain_name(name) or name.casefold() == MANIFEST.casefold():
            raise ValueError(f"not a name for a file of ours: {name!r}")
    if len({name.casefold() for name in names}) != len(names):
        raise ValueError("two names differ in nothing but their capitals")


def _resolved(path: Path, shown: str) -> Path:
    """The real place that a path means, links followed."""
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError):
        raise WriteRefusedError(shown, "no file or folder can be here") from None


def _refuse_special(place: Path, shown: str) -> None:
    """Refuse a place that is not free and holds no ordinary file that may be written."""
    try:
        mode = place.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        if not place.parent.is_dir():
            raise WriteRefusedError(shown, "there is no folder to write it into") from None
        return
    if stat.S_ISDIR(mode):
        raise WriteRefusedError(shown, "this is a folder, not a file")
    if not stat.S_ISREG(mode):
        raise WriteRefusedError(shown, "this is not an ordinary file")
    if not mode & stat.S_IWUSR:
        raise WriteRefusedError(shown, "this file is marked read-only")


def _refuse_no_folder(folder: Path, shown: str) -> None:
    """Refuse a path that is, or leads through, something other than a folder."""
    place = folder
    while not place.exists() and place != place.parent:
        place = place.parent
    if not place.is_dir():
        what = "this is a file, not a folder" if place == folder else f"{place.name} is a file, not a folder"
        raise WriteRefusedError(shown, what)


def _content(place: Path) -> bytes | None:
    return place.read_bytes() if place.is_file() else None


def _write_beside(place: Path, data: bytes) -> Path:
    """Write `data` under a passing name in the same folder, down to the disk. Returns that name."""
    temp = passing_place(place)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    kept = stat.S_IMODE(place.stat().st_mode) if place.exists() else None
    # A new file has everyone's usual permissions, which the system's mask then narrows. One that is
    # written anew never has more than it had, not for a moment.
    descriptor = os.open(temp, flags, 0o666 if kept is None else kept)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            if kept is not None:
                _give_mode(stream.fileno(), temp, kept)
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        with suppress(OSError):
            temp.unlink()
        raise
    return temp


def _give_mode(descriptor: int, temp: Path, mode: int) -> None:
    """Give an empty file its final permissions, those that the mask took away among them."""
    if hasattr(os, "fchmod"):
        os.fchmod(descriptor, mode)
    else:
        temp.chmod(mode)


def _sync_folder(folder: Path) -> None:
    """Make renames in a folder last through a power cut, where the system has a way to."""
    if os.name == "nt":
        return
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _reason(error: OSError) -> str:
    reasons = {
        errno.ENOSPC: "the disk is full",
        errno.EDQUOT: "the disk space allowed is used up",
        errno.EROFS: "the disk is read-only",
        errno.ENAMETOOLONG: "the name is too long",
        errno.EFBIG: "the file is too large for the disk",
    }
    if isinstance(error, PermissionError):
        return "it may not be written: it is read-only, or open in another program"
    if error.errno in reasons:
        return reasons[error.errno]
    return f"the system says: {os.strerror(error.errno).lower() if error.errno else 'unknown reason'}"
