"""Passing files: never wider open than the file they become, and never left behind for good."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from bodyshop.foundation.files.names import clear_stale, is_passing, passing_place
from bodyshop.foundation.files.safe_writing import OutputFolder, write_file

KILLED = 7
POSIX = pytest.mark.skipif(os.name == "nt", reason="permissions and signals of POSIX")


def killed(script: str, *words: str) -> None:
    """Run a script that ends without a chance to tidy up."""
    code = textwrap.dedent(script)
    done = subprocess.run([sys.executable, "-c", code, *words], check=False, capture_output=True, text=True)
    assert done.returncode == KILLED, done.stderr


def passing_in(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir() if is_passing(file.name))


@POSIX
def test_what_a_stopped_write_left_is_taken_away_by_the_next(tmp_path: Path) -> None:
    target = tmp_path / "wren.toml"
    target.write_text("old", encoding="utf-8")
    killed(
        f"""
        import os, sys
        from pathlib import Path
        from bodyshop.foundation.files.safe_writing import write_file
        Path.replace = lambda *_: os._exit({KILLED})
        write_file(sys.argv[1], b"new")
        """,
        str(target),
    )
    assert len(passing_in(tmp_path)) == 1
    assert target.read_text(encoding="utf-8") == "old"
    write_file(target, b"newer")
    assert [file.name for file in tmp_path.iterdir()] == ["wren.toml"]
    assert target.read_bytes() == b"newer"


@POSIX
@pytest.mark.parametrize("renames", range(4))
def test_a_folder_that_was_half_filled_is_filled_and_tidied(tmp_path: Path, renames: int) -> None:
    folder = tmp_path / "out"
    OutputFolder(folder).write_all({"a.txt": b"1", "deep/b.txt": b"1", "gone.txt": b"1"})
    killed(
        f"""
        import os, sys
        from pathlib import Path
        from bodyshop.foundation.files.safe_writing import OutputFolder
        left, real = [{renames}], Path.replace
        def replace(self, target):
            if not left[0]:
                os._exit({KILLED})
            left[0] -= 1
            return real(self, target)
        Path.replace = replace
        OutputFolder(sys.argv[1]).write_all({{"a.txt": b"2", "deep/b.txt": b"2"}})
        """,
        str(folder),
    )
    assert passing_in(folder)
    OutputFolder(folder).write_all({"a.txt": b"3", "deep/b.txt": b"3"})
    assert sorted(str(file.relative_to(folder)) for file in folder.rglob("*") if file.is_file()) == [
        "a.txt",
        "bodyshop-wrote.json",
        os.path.join("deep", "b.txt"),  # noqa: PTH118 - compared with what rglob says
    ]


@POSIX
def test_a_book_that_was_half_made_leaves_nothing_for_good(tmp_path: Path) -> None:
    script = f"""
        import os, sys
        from pathlib import Path
        import bodyshop.records.book.database_file as filing
        filing._put_in_place = lambda *_: os._exit({KILLED})
        filing.create_file(Path(sys.argv[1]))
        """
    killed(script, str(tmp_path / "class.trials"))
    assert passing_in(tmp_path)
    write_file(tmp_path / "note.txt", b"x")
    assert [file.name for file in tmp_path.iterdir()] == ["note.txt"]


def test_files_of_a_running_process_and_of_others_stay(tmp_path: Path) -> None:
    ours = passing_place(tmp_path / "wren.toml")
    elsewhere = tmp_path / ".bodyshop-00000000-1-0123456789abcdef.tmp"
    names = [ours.name, elsewhere.name, ".bodyshop-notes.tmp", ".bodyshop-0123.tmp", "0123456789abcdef.tmp"]
    for name in names:
        (tmp_path / name).write_bytes(b"x")
    clear_stale(tmp_path)
    assert sorted(file.name for file in tmp_path.iterdir()) == sorted(names)


def test_what_nobody_can_be_asked_about_goes_after_a_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = [".bodyshop-0123456789abcdef.tmp", ".bodyshop-00000000-1-0123456789abcdef.tmp-wal", "mine.tmp"]
    for name in names:
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / ".bodyshop-aaaaaaaaaaaaaaaa.tmp").mkdir()
    made = (tmp_path / names[0]).stat().st_ctime
    monkeypatch.setattr(time, "time", lambda: made + 23 * 3600.0)
    clear_stale(tmp_path)
    assert len(list(tmp_path.iterdir())) == 4
    monkeypatch.setattr(time, "time", lambda: made + 25 * 3600.0)
    clear_stale(tmp_path)
    assert sorted(file.name for file in tmp_path.iterdir()) == [".bodyshop-aaaaaaaaaaaaaaaa.tmp", "mine.tmp"]


def test_tidying_a_folder_that_is_none_is_no_fault(tmp_path: Path) -> None:
    clear_stale(tmp_path / "nowhere")
    clear_stale(Path("n" * 5000))


@POSIX
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o666])
def test_a_private_file_is_private_at_every_moment_of_being_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mode: int
) -> None:
    target = tmp_path / "marks.csv"
    target.write_bytes(b"old")
    target.chmod(mode)
    seen: list[int] = []
    real_open, real_sync = os.open, os.fsync

    def opened(*words: object, **more: object) -> int:
        descriptor = real_open(*words, **more)  # type: ignore[arg-type]
        seen.append(stat.S_IMODE(os.fstat(descriptor).st_mode))
        return descriptor

    def synced(descriptor: int) -> None:
        if stat.S_ISREG(os.fstat(descriptor).st_mode):
            seen.append(stat.S_IMODE(os.fstat(descriptor).st_mode))
        real_sync(descriptor)

    mask = os.umask(0o022)
    try:
        monkeypatch.setattr(os, "open", opened)
        monkeypatch.setattr(os, "fsync", synced)
        write_file(target, b"new")
        monkeypatch.undo()
        assert seen[0] & ~mode == 0  # as it is made: never more than the file has
        assert seen[1] == mode  # before it has its name
        write_file(tmp_path / "fresh.csv", b"new")
    finally:
        os.umask(mask)
    assert stat.S_IMODE(target.stat().st_mode) == mode
    assert stat.S_IMODE((tmp_path / "fresh.csv").stat().st_mode) == 0o644
