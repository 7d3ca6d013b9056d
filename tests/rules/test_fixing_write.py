"""Text in, text out: only numbers differ, and an interruption leaves the old file or the new one."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.rules.checking import open_car
from bodyshop.rules.remedies import Plan, diff, make_plan, write
from tests.rules.cases import ROOT, assert_only_numbers_differ, changed

SPOILT = (("depth = 52", "depth = 48"), ("diameter = 19.5", "diameter = 18.2"))


def planned(path: Path) -> Plan:
    plan = make_plan(open_car(path), seconds=None)
    assert plan.clears_all
    assert len(plan.fixes) == 2
    return plan


def test_the_file_holds_the_plan_and_nothing_else(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", *SPOILT)
    before = path.read_bytes()
    plan = planned(path)
    assert path.read_bytes() == before
    assert write(plan)
    assert path.read_bytes() == plan.text.encode("utf-8")
    assert path.read_bytes() == before.replace(b"depth = 48", b"depth = 51").replace(b"= 18.2", b"= 19")
    assert [file.name for file in tmp_path.iterdir()] == [path.name]
    assert not make_plan(open_car(path), seconds=None).fixes


def test_line_ends_and_byte_order_mark_stay(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", *SPOILT)
    text = path.read_text(encoding="utf-8").replace("depth = 48", "depth\t=   48\t# é ü 槌")
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode("utf-8"))
    before = path.read_bytes()
    plan = planned(path)
    assert_only_numbers_differ(plan)
    write(plan)
    assert path.read_bytes() == before.replace(b"=   48", b"=   51").replace(b"= 18.2", b"= 19")
    assert "\r" not in diff(plan)
    assert "\ufeff" not in diff(plan)


def test_nothing_to_change_writes_nothing(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight")
    stamp = path.stat().st_mtime_ns
    plan = make_plan(open_car(path), seconds=None)
    assert diff(plan) == ""
    assert not write(plan)
    assert path.stat().st_mtime_ns == stamp


def test_a_file_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", *SPOILT)
    plan = planned(path)
    path.write_bytes(path.read_bytes() + b"# one more thought\n")
    mine = path.read_bytes()
    with pytest.raises(WriteRefusedError, match="changed while"):
        write(plan)
    assert path.read_bytes() == mine
    path.unlink()
    with pytest.raises(WriteRefusedError, match="cannot be read"):
        write(plan)
    assert not path.exists()


def test_elsewhere_on_request(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", *SPOILT)
    before = path.read_bytes()
    plan = planned(path)
    write(plan, tmp_path / "better.toml")
    assert path.read_bytes() == before
    assert (tmp_path / "better.toml").read_bytes() == plan.text.encode("utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right of their own")
def test_a_link_stays_one(tmp_path: Path) -> None:
    real = changed(tmp_path, "straight", *SPOILT)
    link = tmp_path / "mine.toml"
    link.symlink_to(real)
    plan = planned(link)
    write(plan)
    assert link.is_symlink()
    assert real.read_bytes() == plan.text.encode("utf-8")


def test_the_difference_is_one_that_other_programs_apply(tmp_path: Path) -> None:
    # GNU or BSD patch, which had no part in making it.
    patch = shutil.which("patch")
    if patch is None:
        pytest.skip("there is no patch program here")
    path = changed(tmp_path, "straight", *SPOILT)
    plan = planned(path)
    done = subprocess.run(
        [patch, str(path)], input=diff(plan).encode("utf-8"), capture_output=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert path.read_bytes() == plan.text.encode("utf-8")


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    """A file in a folder of its own, and a plan for it, which is costlier than to write."""
    path = changed(tmp_path_factory.mktemp("spoilt"), "straight", *SPOILT)
    return path, planned(path)


class FailOnce:
    """Stands in for a system call and fails at one of its calls."""

    def __init__(self, call: Callable[..., object], at: int, error: BaseException) -> None:
        self._call, self._at, self._error = call, at, error
        self.calls = 0

    def __call__(self, *args: object, **kwargs: object) -> object:
        self.calls += 1
        if self.calls == self._at:
            raise self._error
        return self._call(*args, **kwargs)


@pytest.mark.parametrize(
    "error", [OSError(errno.ENOSPC, "full"), KeyboardInterrupt()], ids=["full", "stopped"]
)
@pytest.mark.parametrize("step", ["os.open", "os.fdopen", "os.fsync", "os.replace", "os.fchmod", "os.stat"])
def test_a_fault_at_any_step_leaves_the_old_file_or_the_new(
    spoilt: tuple[Path, Plan], monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    path, plan = spoilt
    old, new = plan.source.text.encode("utf-8"), plan.text.encode("utf-8")
    for at in range(1, 40):
        path.write_bytes(old)
        name = step.removeprefix("os.")
        with monkeypatch.context() as patched:
            stand_in = FailOnce(getattr(os, name), at, error)
            patched.setattr(os, name, stand_in)
            with suppress(WriteRefusedError, KeyboardInterrupt, OSError):
                write(plan)
        assert path.read_bytes() in (old, new)
        assert [file.name for file in path.parent.iterdir()] == [path.name]
        if stand_in.calls < at:
            break
    else:
        pytest.fail(f"{step} is called without end")
    assert at > 1, f"{step} is never called"
    assert path.read_bytes() == new


@pytest.mark.parametrize("step", ["os.fsync", "os.replace"])
def test_a_program_killed_on_the_way_leaves_the_old_file(spoilt: tuple[Path, Plan], step: str) -> None:
    # A process that is gone cannot tidy up: what counts is the design itself.
    path, plan = spoilt
    old, new = plan.source.text.encode("utf-8"), plan.text.encode("utf-8")
    path.write_bytes(old)
    program = (
        "import os\n"
        "from bodyshop.foundation.files.safe_writing import write_file\n"
        f"{step} = lambda *a, **k: os._exit(9)\n"
        f"write_file({str(path)!r}, {new!r})\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, check=False)
    assert done.returncode == 9, done.stderr
    assert path.read_bytes() == old
