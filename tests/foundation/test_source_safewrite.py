"""Safe writing: all or nothing at every step that can fail, and nobody else's files."""

import errno
import json
import os
import stat
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from bodyshop.foundation.files.manifest import MANIFEST, Manifest, fingerprint, is_plain_name
from bodyshop.foundation.files.safe_writing import FolderChanges, OutputFolder, write_file
from bodyshop.foundation.problems import WriteRefusedError

OLD = {
    "side.svg": b"old side\n",
    "top.svg": b"old top\n",
    "solid/body.stl": b"\x00old\r\n\xff",
    "gone.txt": b"gone\n",
}
NEW = {
    "side.svg": b"new side\n",
    "top.svg": b"old top\n",
    "solid/body.stl": b"\x00new",
    "more/new.txt": b"new\n",
}


def content(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def files_in(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in content(folder).items() if name != MANIFEST}


class FailOnce:
    """Stands in for a system call and fails at one of its calls."""

    def __init__(self, call: Callable[..., object], at: int, error: BaseException) -> None:
        self._call = call
        self._at = at
        self._error = error
        self.calls = 0

    def __call__(self, *args: object, **kwargs: object) -> object:
        self.calls += 1
        if self.calls == self._at:
            raise self._error
        return self._call(*args, **kwargs)


# --- one file ----------------------------------------------------------------------------------------


def test_a_file_is_written_and_written_over(tmp_path: Path) -> None:
    place = tmp_path / "wren.toml"
    write_file(place, b"one\r\n")
    assert place.read_bytes() == b"one\r\n"
    write_file(str(place), b"two")
    assert content(tmp_path) == {"wren.toml": b"two"}


@pytest.mark.skipif(sys.platform == "win32", reason="permission bits of another kind")
def test_permissions_stay(tmp_path: Path) -> None:
    place = tmp_path / "a"
    write_file(place, b"1")
    plain = tmp_path / "b"
    plain.write_bytes(b"1")
    assert stat.S_IMODE(place.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)
    place.chmod(0o640)
    write_file(place, b"2")
    assert stat.S_IMODE(place.stat().st_mode) == 0o640


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own")
def test_a_link_is_followed(tmp_path: Path) -> None:
    place = tmp_path / "real"
    place.write_bytes(b"1")
    link = tmp_path / "link"
    link.symlink_to(place)
    write_file(link, b"2")
    assert link.is_symlink()
    assert place.read_bytes() == b"2"


@pytest.mark.parametrize("call", ["replace", "fsync", "open", "fdopen"])
def test_a_file_is_whole_or_untouched(call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "a"
    place.write_bytes(b"old")
    monkeypatch.setattr(os, call, FailOnce(getattr(os, call), 1, OSError(errno.ENOSPC, "full")))
    with pytest.raises(WriteRefusedError, match="the disk is full") as caught:
        write_file(place, b"new")
    assert caught.value.path == str(place)
    monkeypatch.undo()
    assert content(tmp_path) == {"a": b"old"}


def test_an_interrupt_leaves_a_file_untouched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "a"
    place.write_bytes(b"old")
    monkeypatch.setattr(os, "replace", FailOnce(os.replace, 1, KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt):
        write_file(place, b"new")
    monkeypatch.undo()
    assert content(tmp_path) == {"a": b"old"}


def test_places_that_are_not_for_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    (tmp_path / "locked").write_bytes(b"old")
    (tmp_path / "locked").chmod(0o444)
    for place, reason in (
        (tmp_path, "this is a folder"),
        (tmp_path / "none" / "a", "there is no folder"),
        (tmp_path / "file" / "a", "there is no folder"),
        (tmp_path / "locked", "read-only"),
        (tmp_path / "a\0b", "no file"),
        (tmp_path / ("x" * 300), "name is too long|cannot be written"),
    ):
        with pytest.raises(WriteRefusedError, match=reason) as caught:
            write_file(place, b"new")
        assert caught.value.path == str(place)
    assert content(tmp_path) == {"file": b"", "locked": b"old"}


# --- a folder ----------------------------------------------------------------------------------------


def test_a_set_is_written_then_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "papers" / "kestrel"
    output = OutputFolder(folder)
    assert output.write_all(OLD) == FolderChanges(tuple(sorted(OLD)), (), ())
    assert files_in(folder) == OLD
    assert output.write_all(NEW) == FolderChanges(
        ("more/new.txt", "side.svg", "solid/body.stl"), ("top.svg",), ("gone.txt",)
    )
    assert files_in(folder) == NEW
    assert output.write_all(NEW) == FolderChanges((), tuple(sorted(NEW)), ())
    # A folder that is left empty goes too.
    assert output.write_all({"side.svg": b"x"}).removed == ("more/new.txt", "solid/body.stl", "top.svg")
    assert sorted(path.name for path in folder.iterdir()) == [MANIFEST, "side.svg"]


def test_the_list_says_the_same_for_the_same_files(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "elsewhere" / "two"
    OutputFolder(one).write_all(OLD)
    OutputFolder(two).write_all(NEW)
    OutputFolder(two).write_all(dict(reversed(OLD.items())))
    assert (one / MANIFEST).read_bytes() == (two / MANIFEST).read_bytes()
    said = json.loads((one / MANIFEST).read_text(encoding="utf-8"))
    assert list(said["files"]) == sorted(OLD)
    assert str(tmp_path) not in (one / MANIFEST).read_text(encoding="utf-8")


def test_an_unchanged_file_is_not_written_again(tmp_path: Path) -> None:
    output = OutputFolder(tmp_path)
    output.write_all(OLD)
    os.utime(tmp_path / "top.svg", (1, 1))
    output.write_all(NEW)
    assert (tmp_path / "top.svg").stat().st_mtime == 1


def test_files_of_others_are_refused_before_anything_is_written(tmp_path: Path) -> None:
    (tmp_path / "top.svg").write_bytes(b"mine")
    (tmp_path / "notes.txt").write_bytes(b"notes")
    before = content(tmp_path)
    for attempt in (lambda: OutputFolder(tmp_path).write_all(NEW), lambda: OutputFolder(tmp_path).check(NEW)):
        with pytest.raises(WriteRefusedError, match=r"we did not write.*move it away or choose") as caught:
            attempt()
        assert caught.value.path == str(tmp_path / "top.svg")
    assert content(tmp_path) == before
    assert not (tmp_path / "more").exists()


def test_a_file_like_ours_is_still_not_ours(tmp_path: Path) -> None:
    (tmp_path / "top.svg").write_bytes(NEW["top.svg"])
    with pytest.raises(WriteRefusedError, match="we did not write"):
        OutputFolder(tmp_path).write_all(NEW)


def test_changed_files_are_refused(tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    (tmp_path / "side.svg").write_bytes(b"old side, coloured in\n")
    (tmp_path / "solid" / "body.stl").write_bytes(b"other")
    before = content(tmp_path)
    with pytest.raises(WriteRefusedError, match=r"changed since we wrote it \(and so are 1 more\)") as caught:
        OutputFolder(tmp_path).write_all(NEW)
    assert caught.value.path == str(tmp_path / "side.svg")
    assert content(tmp_path) == before


def test_a_changed_file_is_kept_when_the_set_has_it_no_more(tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    (tmp_path / "gone.txt").write_bytes(b"edited")
    assert OutputFolder(tmp_path).write_all(NEW).removed == ()
    assert files_in(tmp_path) == {**NEW, "gone.txt": b"edited"}
    # It is its editor's from now on.
    with pytest.raises(WriteRefusedError, match="we did not write"):
        OutputFolder(tmp_path).write_all(OLD)


def test_a_deleted_file_is_written_again(tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    (tmp_path / "gone.txt").unlink()
    (tmp_path / "top.svg").unlink()
    assert OutputFolder(tmp_path).write_all(OLD).written == ("gone.txt", "top.svg")
    assert files_in(tmp_path) == OLD


def test_line_ends_that_version_control_changed_do_not_matter(tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    for path in [*tmp_path.glob("*.svg"), tmp_path / MANIFEST]:
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    OutputFolder(tmp_path).write_all(NEW)
    assert files_in(tmp_path) == NEW


def test_read_only_files_are_left_alone(tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    (tmp_path / "side.svg").chmod(0o444)
    with pytest.raises(WriteRefusedError, match="read-only"):
        OutputFolder(tmp_path).write_all(NEW)
    assert files_in(tmp_path) == OLD


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b'{"format": 2, "files": {}}',
        b'{"format": 1, "files": []}',
        b'{"format": 1, "files": {"../../x": "1"}}',
        b'{"format": 1, "files": {"x": 1}}',
        b'{"format": 1, "files": {"x": [1]}}',
        b"[" * 100_000,
    ],
    ids=range(10),
)
def test_a_damaged_list_is_refused(damage: bytes, tmp_path: Path) -> None:
    OutputFolder(tmp_path).write_all(OLD)
    (tmp_path / MANIFEST).write_bytes(damage)
    before = content(tmp_path)
    with pytest.raises(WriteRefusedError, match="damaged") as caught:
        OutputFolder(tmp_path).write_all(NEW)
    assert caught.value.path == str(tmp_path / MANIFEST)
    assert content(tmp_path) == before


def test_places_that_are_not_for_a_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"x")
    for place, reason in (
        (tmp_path / "file", "this is a file, not a folder"),
        (tmp_path / "file" / "sub" / "sub", "file is a file"),
        (tmp_path / "a\0b", "no file or folder"),
    ):
        with pytest.raises(WriteRefusedError, match=reason) as caught:
            OutputFolder(place).write_all(NEW)
        assert caught.value.path == str(place)
    (tmp_path / "more").write_bytes(b"x")
    with pytest.raises(WriteRefusedError, match="its folder is a link or a file"):
        OutputFolder(tmp_path).write_all(NEW)
    assert content(tmp_path) == {"file": b"x", "more": b"x"}


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own")
def test_links(tmp_path: Path) -> None:
    real, elsewhere = tmp_path / "real", tmp_path / "elsewhere"
    real.mkdir()
    elsewhere.mkdir()
    (tmp_path / "link").symlink_to(real)
    OutputFolder(tmp_path / "link").write_all(OLD)
    assert files_in(real) == OLD
    assert (tmp_path / "link").is_symlink()
    # A link below the folder leads out of it: nothing is written through it, nor removed.
    (elsewhere / "top.svg").write_bytes(OLD["top.svg"])
    (real / "top.svg").unlink()
    (real / "top.svg").symlink_to(elsewhere / "top.svg")
    with pytest.raises(WriteRefusedError, match=r"top\.svg"):
        OutputFolder(real).write_all(NEW)
    OutputFolder(real).write_all({"side.svg": b"x"})
    assert (real / "top.svg").is_symlink()
    assert files_in(elsewhere) == {"top.svg": OLD["top.svg"]}
    (real / "more").symlink_to(elsewhere)
    with pytest.raises(WriteRefusedError, match="its folder is a link"):
        OutputFolder(real).write_all({"more/new.txt": b""})
    (tmp_path / "round").symlink_to(tmp_path / "round")
    with pytest.raises(WriteRefusedError):
        OutputFolder(tmp_path / "round").write_all(NEW)


@pytest.mark.parametrize(
    "name",
    ["", " ", "..", "../x", "/x", "a/../b", "a//b", "a\\b", "c:x", "a\x00", "x.", "x ", "a*", MANIFEST, "a/"],
)
def test_names_that_leave_the_folder(name: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not a name"):
        OutputFolder(tmp_path).write_all({name: b""})
    assert is_plain_name(name) == (name == MANIFEST)


def test_names_that_one_system_takes_for_the_same(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="capitals"):
        OutputFolder(tmp_path).write_all({"a.svg": b"", "A.svg": b""})


# --- failure at every step ---------------------------------------------------------------------------

CALLS = ["replace", "fsync", "open", "fdopen", "mkdir", "link"]
ERRORS: list[BaseException] = [
    OSError(errno.ENOSPC, "full"),
    PermissionError(errno.EACCES, "no"),
    KeyboardInterrupt(),
]


def count_calls(call: str, folder: Path) -> int:
    OutputFolder(folder).write_all(OLD)
    with pytest.MonkeyPatch.context() as patch:
        counter = FailOnce(getattr(os, call), -1, RuntimeError())
        patch.setattr(os, call, counter)
        OutputFolder(folder).write_all(NEW)
    return counter.calls


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
@pytest.mark.parametrize("call", CALLS)
def test_a_failure_at_any_step_leaves_the_old_set_or_the_new(
    call: str, error: BaseException, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = count_calls(call, tmp_path / "count")
    assert steps >= 1
    untouched = 0
    for step in range(1, steps + 1):
        folder = tmp_path / f"{step}"
        OutputFolder(folder).write_all(OLD)
        before = content(folder)
        failed = False
        with monkeypatch.context() as patch:
            patch.setattr(os, call, FailOnce(getattr(os, call), step, error))
            try:
                OutputFolder(folder).write_all(NEW)
            except (WriteRefusedError, KeyboardInterrupt):
                failed = True
        if failed and isinstance(error, KeyboardInterrupt) and files_in(folder) == NEW:
            pass  # interrupted when all was done
        elif failed:
            untouched += 1
            assert content(folder) == before
            assert not (folder / "more").exists()
        else:
            assert files_in(folder) == NEW
        # Whichever it was, the next run goes through.
        OutputFolder(folder).write_all(NEW)
        assert files_in(folder) == NEW
    # Flushing a folder, and a second name for a file, may fail without harm; nothing else may.
    assert untouched >= 1 or (call == "link" and not isinstance(error, KeyboardInterrupt))


def test_a_failure_in_a_fresh_folder_leaves_no_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "replace", FailOnce(os.replace, 2, OSError(errno.EROFS, "no")))
    with pytest.raises(WriteRefusedError, match="the disk is read-only"):
        OutputFolder(tmp_path / "a" / "b").write_all(NEW)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("step", range(1, 8))
def test_a_machine_that_stops_leaves_nothing_foreign(
    step: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # All calls from this one on fail, so that nothing can be brought back either.
    OutputFolder(tmp_path).write_all(OLD)
    calls = 0

    def stopped(*args: object, **kwargs: object) -> None:
        nonlocal calls
        calls += 1
        if calls >= step:
            raise OSError(errno.EIO, "stopped")
        replace(*args, **kwargs)  # type: ignore[arg-type]

    replace = os.replace
    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", stopped)
        try:
            OutputFolder(tmp_path).write_all(NEW)
            stopped_in_time = False
        except WriteRefusedError:
            stopped_in_time = True
    assert stopped_in_time == (step <= 6)
    for name, data in files_in(tmp_path).items():
        assert data in (OLD.get(name), NEW.get(name))
    OutputFolder(tmp_path).write_all(NEW)
    assert files_in(tmp_path) == NEW


def test_folders_without_second_names_for_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*args: object, **kwargs: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    OutputFolder(tmp_path).write_all(OLD)
    monkeypatch.setattr(os, "link", no_links)
    OutputFolder(tmp_path).write_all(NEW)
    assert files_in(tmp_path) == NEW


def test_fingerprints() -> None:
    # SHA-256 of "abc", FIPS 180-2, appendix B.1.
    assert fingerprint(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert fingerprint(b"a\r\nb") == fingerprint(b"a\nb") != fingerprint(b"ab")
    both = Manifest({"a": ("1",)}).joined(Manifest({"a": ("2",), "b": ("3",)}))
    assert Manifest.read(both.text()) == Manifest({"a": ("1", "2"), "b": ("3",)})
