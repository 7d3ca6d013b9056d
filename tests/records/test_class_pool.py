from __future__ import annotations

import os
import signal
import sys
import time
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest

from bodyshop.foundation import workers
from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.classroom import CheckOptions, check_files, checking, class_files
from bodyshop.records.classroom import check_file as one_file
from bodyshop.records.classroom.check_file import shape_print
from bodyshop.rules.rulebook import find_rulebook, read_rulebook
from tests.app.running import run_apart
from tests.benchmarks.class_of_1000 import write_class
from tests.records.classes import BROKEN, ROOT, car, mixed, put, rows_of, square, unread
from tests.records.dying import check_or_die


def test_several_processes_say_what_one_says(tmp_path: Path) -> None:
    mixed(tmp_path)
    write_class(tmp_path, 21)
    files = class_files(tmp_path).files
    options = CheckOptions(thumbnails=True)
    counted: list[tuple[int, int]] = []
    rows, books = check_files(files, options, jobs=2, done=lambda done, of: counted.append((done, of)))
    alone, same_books = check_files(files, options, jobs=1)
    assert rows == alone
    assert books == same_books
    assert len(rows) == len(files) > 30
    assert counted[-1] == (len(files), len(files))
    assert counted == sorted(counted)


def test_the_same_class_is_generated_every_time(tmp_path: Path) -> None:
    one, other = (write_class(tmp_path / name, 9) for name in ("one", "other"))
    texts = [[file.read_text(encoding="utf-8") for file in files] for files in (one, other)]
    assert texts[0] == texts[1]
    assert len(set(texts[0])) == 9


def test_few_files_are_not_worth_a_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object, **__: object) -> None:
        raise AssertionError("a process was started")

    monkeypatch.setattr(workers, "ProcessPoolExecutor", none)
    rows, _ = check_files(class_files(mixed(tmp_path)).files, CheckOptions())
    assert len(rows) == 12
    assert check_files([], CheckOptions())[0] == []


def test_a_process_that_ends_costs_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "check_one", check_or_die)
    monkeypatch.setattr(checking, "CHUNK", 2)
    for number in range(5):
        put(tmp_path, f"{number}.toml", square(f"Wren {number}"))
    put(tmp_path, "3-deadly.toml", square("Shrike"))
    rows, books = check_files(class_files(tmp_path).files, CheckOptions(), jobs=2)
    named = {row.file: row for row in rows}
    (problem,) = unread(named.pop("3-deadly.toml")).problems
    assert problem.code == "program-fault"
    assert problem.file == str(tmp_path / "3-deadly.toml")
    assert sorted(car(row).name for row in named.values()) == [f"Wren {number}" for number in range(5)]
    assert len(books) == 1


@pytest.mark.parametrize(
    "error", [OSError(38, "no semaphores"), ImportError("no _multiprocessing"), NotImplementedError()]
)
def test_where_no_process_can_be_started_all_is_done_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    files = class_files(mixed(tmp_path)).files
    expected, _ = check_files(files, CheckOptions(), jobs=1)
    monkeypatch.setattr(workers, "ProcessPoolExecutor", fail)
    assert check_files(files, CheckOptions(), jobs=2)[0] == expected


def test_a_fault_of_ours_costs_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "robin.toml", square("Robin"))
    put(tmp_path, "wren.toml", square("Wren"))

    def stumble(found: object) -> str:
        if found.design.name == "Robin":  # type: ignore[attr-defined]
            raise ZeroDivisionError("float division by zero")
        return shape_print(found)  # type: ignore[arg-type]

    monkeypatch.setattr("bodyshop.records.classroom.check_file.shape_print", stumble)
    robin, wren = rows_of(tmp_path)
    (problem,) = unread(robin).problems
    assert problem.code == "program-fault"
    assert "ZeroDivisionError: float division by zero" in problem.message
    assert car(wren).name == "Wren"


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_rulebook_that_cannot_be_used_is_told_once(tmp_path: Path, jobs: int) -> None:
    files = class_files(mixed(tmp_path)).files
    with pytest.raises(ProblemsError) as told:
        check_files(files, CheckOptions(rulebook="quary-lane"), jobs=jobs)
    (problem,) = told.value.problems
    assert (problem.code, problem.nearest) == ("rulebook-missing", "quarry-lane")


def test_a_division_that_is_not_there_is_told_once(tmp_path: Path) -> None:
    put(tmp_path, "wren.toml", square())
    with pytest.raises(ProblemsError) as told:
        check_files(class_files(tmp_path).files, CheckOptions("quarry-lane-league", "opne"), jobs=1)
    assert [(problem.code, problem.nearest) for problem in told.value.problems] == [
        ("rulebook-division", "open")
    ]


def test_each_rulebook_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one_file.checker.cache_clear()
    read: list[Path] = []

    def counted(path: Path, **more: object) -> object:
        read.append(path)
        return read_rulebook(path, **more)  # type: ignore[arg-type]

    looked: list[str] = []

    def found(name: str, *more: object, **named: object) -> Path:
        looked.append(name)
        return find_rulebook(name, *more, **named)  # type: ignore[arg-type]

    monkeypatch.setattr("bodyshop.rules.checking.opening.read_rulebook", counted)
    monkeypatch.setattr("bodyshop.rules.checking.opening.find_rulebook", found)
    for number in range(4):
        put(tmp_path, f"{number}.toml", square(f"Wren {number}"))
    rows_of(tmp_path)
    one_file.checker.cache_clear()
    assert [path.stem for path in read] == ["quarry-lane"]
    assert looked == ["quarry-lane"]


def test_the_error_of_a_broken_pool_is_the_one_that_is_caught() -> None:
    # A pool tells so, and not by an OSError, which would have the file checked in this very process.
    assert not issubclass(BrokenProcessPool, OSError)


def test_the_process_that_waits_loads_nothing_that_measures(tmp_path: Path) -> None:
    script = put(
        tmp_path,
        "script.py",
        "import sys\n"
        "from pathlib import Path\n"
        "import bodyshop.app.cli.classroom\n"
        "from bodyshop.records.classroom import CheckOptions, check_files, class_files\n"
        "if __name__ == '__main__':\n"
        "    files = class_files(Path(sys.argv[1])).files\n"
        "    rows, _ = check_files(files, CheckOptions(), jobs=2)\n"
        "    print(len(rows), sorted({'numpy', 'shapely'} & set(sys.modules)))\n",
    )
    import subprocess

    ran = subprocess.run(
        [sys.executable, str(script), str(mixed(tmp_path / "class"))],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert (ran.stdout, ran.stderr) == ("12 []\n", "")


# ---------------------------------------------------------------- stopped from the keyboard


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of the Unix kind")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_stopping_it_leaves_nothing_behind(tmp_path: Path, jobs: str) -> None:
    import pty
    import subprocess

    write_class(tmp_path / "class", 600)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "bodyshop", "class", "class", "--jobs", jobs, "--csv", "class.csv"]
    running = subprocess.Popen(
        command,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "PYTHONUTF8": "1"},
        stdout=subprocess.PIPE,
        stderr=theirs,
        start_new_session=True,
    )
    os.close(theirs)
    seen = b""
    while b" of 600" not in seen:
        seen += os.read(ours, 4096)
    # What the terminal does for ^C: the whole group gets it.
    os.killpg(running.pid, signal.SIGINT)
    out, _ = running.communicate()
    try:
        while more := os.read(ours, 4096):
            seen += more
    except OSError:  # how Linux says that nobody has the terminal open any more
        pass
    os.close(ours)
    assert running.returncode == 130
    assert out == b""
    assert b"Traceback" not in seen
    assert seen.replace(b"\r\n", b"\n").endswith(b"\nStopped.\n")
    assert not (tmp_path / "class.csv").exists()
    assert gone(running.pid)


@pytest.mark.skipif(sys.platform == "win32", reason="needs groups of processes of the Unix kind")
def test_the_processes_end_with_the_one_that_asked_however_it_ends(tmp_path: Path) -> None:
    import subprocess

    script = put(
        tmp_path,
        "script.py",
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from bodyshop.records.classroom import CheckOptions, check_files, class_files\n"
        "def kill(done, of):\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
        "if __name__ == '__main__':\n"
        "    check_files(class_files(Path(sys.argv[1])).files, CheckOptions(), jobs=2, done=kill)\n",
    )
    running = subprocess.Popen(
        [sys.executable, str(script), str(mixed(tmp_path / "class"))],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    assert running.wait() == -signal.SIGKILL
    assert gone(running.pid)


def gone(group: int) -> bool:
    """Whether a group of processes comes to its end: the last of them may be a moment behind."""
    until = time.monotonic() + 30.0
    while time.monotonic() < until:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        os.sched_yield()
    return False


def test_nothing_is_shown_of_progress_where_nobody_watches(tmp_path: Path) -> None:
    write_class(tmp_path / "class", 21)
    ran = run_apart("class", "class", "--jobs", "2", folder=tmp_path)
    assert ran.stderr == b""
    assert ran.returncode in (0, 1, 2)


def test_broken_files_break_no_process(tmp_path: Path) -> None:
    for number in range(3):
        for name, content in BROKEN.items():
            put(tmp_path, f"{number}/{name}", content)
    rows, _ = check_files(class_files(tmp_path).files, CheckOptions(), jobs=2)
    assert len(rows) == 3 * len(BROKEN)
    assert all(unread(row).count for row in rows)
