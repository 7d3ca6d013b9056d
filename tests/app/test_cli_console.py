"""The streams: width, colour, code pages, closed pipes, full disks, stops by the keyboard, own faults."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import bodyshop.app.cli.check
from bodyshop.app.cli.console import Console, Progress, process_console
from bodyshop.app.cli.main import main
from bodyshop.foundation.text.columns import width_of
from tests.app.running import ROOT, run_apart, run_here

POSIX = os.name == "posix"
LAPWING = str(ROOT / "samples" / "lapwing.toml")
WREN = str(ROOT / "samples" / "wren.toml")


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("NO_COLOR", "COLUMNS", "TERM", "BODYSHOP_DEBUG"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


# ---------------------------------------------------------------- width


@pytest.mark.parametrize(("told", "width"), [("20", 60), ("60", 60), ("80", 80), ("97", 97), ("400", 100)])
def test_the_page_is_as_wide_as_told(capsys, monkeypatch, told: str, width: int) -> None:
    monkeypatch.setenv("COLUMNS", told)
    for words in (
        ["check", LAPWING],
        ["measure", WREN],
        ["measures"],
        ["stock"],
        ["--help"],
        ["make", "--help"],
    ):
        lines = run_here(capsys, *words).out.splitlines()
        widest = max(width_of(line) for line in lines)
        assert widest <= width, words
        assert widest > width - 12, words


@pytest.mark.parametrize("told", ["", "0", "-5", "wide", "9" * 5000, "½"])
def test_an_odd_width_is_the_usual_one(capsys, monkeypatch, told: str) -> None:
    monkeypatch.setenv("COLUMNS", told)
    assert 60 <= max(width_of(line) for line in run_here(capsys, "check", LAPWING).out.splitlines()) <= 100


# ---------------------------------------------------------------- colour


def console_with(environment: dict[str, str], monkeypatch, *, terminal: bool) -> Console:
    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return terminal

    monkeypatch.setattr(sys, "stdout", Screen())
    monkeypatch.setattr(sys, "stderr", Screen())
    return process_console(environment)


@pytest.mark.parametrize(
    ("environment", "terminal", "colour"),
    [
        ({"TERM": "xterm"}, True, True),
        ({"TERM": "xterm"}, False, False),
        ({"TERM": "xterm", "NO_COLOR": "1"}, True, False),
        ({"TERM": "xterm", "NO_COLOR": ""}, True, True),  # no-color.org: empty is as if not set
        ({"TERM": "dumb"}, True, False),
    ],
)
def test_colour_only_where_it_is_wanted(monkeypatch, environment, terminal: bool, colour: bool) -> None:
    console = console_with(environment, monkeypatch, terminal=terminal)
    assert console.ink.on is colour
    assert console.err_ink.on is colour


def test_a_pipe_gets_no_colour() -> None:
    ran = run_apart("check", LAPWING, folder=Path.cwd(), environment={"TERM": "xterm"})
    assert b"\x1b" not in ran.stdout


@pytest.mark.skipif(not POSIX, reason="needs a terminal of its own")
@pytest.mark.parametrize("no_colour", [False, True])
def test_on_a_real_terminal(elsewhere: Path, no_colour: bool) -> None:
    import pty

    main_end, their_end = pty.openpty()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "72"}
    if no_colour:
        environment["NO_COLOR"] = "1"
    with subprocess.Popen(
        [sys.executable, "-m", "bodyshop", "check", LAPWING],
        stdout=their_end,
        stderr=their_end,
        cwd=elsewhere,
        env=environment,
    ) as process:
        os.close(their_end)
        seen = b""
        while True:
            try:
                more = os.read(main_end, 65536)
            except OSError:  # the other end is closed
                break
            if not more:
                break
            seen += more
    os.close(main_end)
    assert process.returncode == 1
    assert (b"\x1b[1;31m" in seen) is not no_colour
    assert b"Lapwing does not pass yet" in seen


# ---------------------------------------------------------------- code pages


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii", "latin-1", "utf-8"])
@pytest.mark.parametrize(
    "words", [["check", LAPWING], ["measure", WREN], ["stock"], ["check", "no-such-½-file"]]
)
def test_no_code_page_spoils_a_run(elsewhere: Path, encoding: str, words: list[str]) -> None:
    ran = run_apart(*words, folder=elsewhere, environment={"PYTHONIOENCODING": encoding}, utf8=False)
    assert ran.returncode in (0, 1, 2)
    assert b"Traceback" not in ran.stderr
    assert b"Sorry" not in ran.stderr
    assert ran.stdout.decode(encoding) or ran.stderr.decode(encoding)


def test_our_own_signs_are_spelt_where_they_are_lacking(elsewhere: Path) -> None:
    ran = run_apart("check", LAPWING, folder=elsewhere, environment={"PYTHONIOENCODING": "ascii"}, utf8=False)
    assert b"+/- " in ran.stdout
    assert b" -> " in ran.stdout  # old value -> new value, in a change that the report proposes
    assert b"?" not in ran.stdout


def test_json_is_the_same_in_every_code_page(elsewhere: Path) -> None:
    (elsewhere / "vogel.toml").write_text(
        Path(WREN).read_text(encoding="utf-8").replace('"Wren"', '"Grünspecht 車"'), encoding="utf-8"
    )
    texts = {
        run_apart(
            "check",
            "--json",
            "vogel.toml",
            folder=elsewhere,
            environment={"PYTHONIOENCODING": each},
            utf8=False,
        ).stdout
        for each in ("cp1252", "utf-8")
    }
    assert len(texts) == 1
    assert b"Gr\\u00fcnspecht \\u8eca" in texts.pop()


# ---------------------------------------------------------------- streams that refuse


@pytest.mark.skipif(not POSIX, reason="closes one end of a pipe before the program writes")
@pytest.mark.parametrize("words", [["check", WREN], ["measure", WREN], ["--help"], ["check", "--json", WREN]])
def test_a_reader_that_has_gone_away_is_no_fault(elsewhere: Path, words: list[str]) -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    ran = subprocess.run(
        [sys.executable, "-m", "bodyshop", *words],
        stdout=write_end,
        stderr=subprocess.PIPE,
        cwd=elsewhere,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    os.close(write_end)
    assert ran.stderr == b""
    assert ran.returncode == 0  # the verdict is the same whether or not somebody reads it


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no disk that is always full")
def test_a_full_disk_is_told(elsewhere: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "bodyshop", "check", WREN],
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=elsewhere,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            check=False,
        )
    assert ran.returncode == 2
    assert b"the output cannot be written (no space left on device)" in ran.stderr
    assert b"Traceback" not in ran.stderr


@pytest.mark.skipif(not POSIX, reason="closes a stream of the child")
def test_a_closed_error_stream_is_no_fault(elsewhere: Path) -> None:
    command = f'"{sys.executable}" -m bodyshop check no-such-file 2>&-'
    ran = subprocess.run(
        ["/bin/sh", "-c", command],
        stdout=subprocess.PIPE,
        cwd=elsewhere,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert ran.returncode == 2
    assert ran.stdout == b""


def test_no_streams_at_all(monkeypatch) -> None:
    # A program started without a console on Windows has none.
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["check", WREN]) == 0
    assert main(["check", "no-such-file"]) == 2


# ---------------------------------------------------------------- stops and faults


def raising(error: BaseException):
    def instead(*_: object, **__: object) -> None:
        raise error

    return instead


def test_a_stop_from_the_keyboard(capsys, monkeypatch) -> None:
    monkeypatch.setattr(bodyshop.app.cli.check, "check_car", raising(KeyboardInterrupt()))
    ran = run_here(capsys, "check", WREN)
    assert (ran.code, ran.out, ran.err) == (130, "", "\nStopped.\n")


@pytest.mark.skipif(not POSIX, reason="sends a signal")
def test_a_real_stop_leaves_nothing_behind(elsewhere: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "bodyshop", "make", WREN, "--out", "out"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=elsewhere,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as process:
        assert process.stderr is not None
        process.stderr.readline()  # the first step has begun
        process.send_signal(signal.SIGINT)
        _, err = process.communicate()
    assert process.returncode == 130
    assert b"Stopped." in err
    assert b"Traceback" not in err
    assert not (elsewhere / "out").exists()


def test_a_fault_of_our_own_is_an_apology_on_one_screen(elsewhere: Path, capsys, monkeypatch) -> None:
    monkeypatch.setattr(bodyshop.app.cli.check, "check_car", raising(ZeroDivisionError("by zero")))
    (elsewhere / "robin.toml").write_text(Path(WREN).read_text(encoding="utf-8"), encoding="utf-8")
    ran = run_here(capsys, "check", "robin.toml")
    assert ran.code == 2
    assert ran.out == ""
    assert "Traceback" not in ran.err
    assert "robin.toml" in ran.err
    assert "ZeroDivisionError in bodyshop.app.cli.check, line " in " ".join(ran.err.split())
    assert len(ran.err.splitlines()) < 12


def test_the_traceback_is_there_when_asked_for(capsys, monkeypatch) -> None:
    monkeypatch.setattr(bodyshop.app.cli.check, "check_car", raising(ZeroDivisionError("by zero")))
    monkeypatch.setenv("BODYSHOP_DEBUG", "1")
    ran = run_here(capsys, "check", WREN)
    assert ran.code == 2
    assert ran.err.startswith("Traceback")


# ---------------------------------------------------------------- progress


def test_progress_on_a_terminal_is_one_line_that_goes_away() -> None:
    err = io.StringIO()
    console = Console(io.StringIO(), err, width=60, err_is_terminal=True)
    with Progress(console, 2) as progress:
        progress.step("drawing")
        progress.within("page " + "1" * 100, 0.5)
        progress.step("building")
        progress.within("mesh", 0.75)
    drawn = err.getvalue().split("\r")
    assert "\n" not in err.getvalue()
    assert max(len(line) for line in drawn) < 60
    assert [line.count("#") for line in drawn if "#" in line] == [3, 6, 10]
    assert drawn[-1] == ""
    assert not drawn[-2].strip()
    assert len(drawn[-2]) == max(len(line) for line in drawn)


def test_progress_in_a_log_is_a_line_a_step() -> None:
    err = io.StringIO()
    console = Console(io.StringIO(), err)
    with Progress(console, 2) as progress:
        progress.step("drawing")
        progress.within("page 1", 0.5)
        progress.step("building")
    with Progress(console, 2, log=False) as quiet:
        quiet.step("checking")
    assert err.getvalue() == "[1/2] drawing\n[2/2] building\n"
