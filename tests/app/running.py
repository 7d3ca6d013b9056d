"""Runs of the program, in this process and in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from bodyshop.app.cli import main

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Ran:
    """What a run printed and returned."""

    code: int
    out: str
    err: str


def run_here(capsys: pytest.CaptureFixture[str], *words: str) -> Ran:
    """Run in this process, from the current folder."""
    capsys.readouterr()
    code = main(list(words))
    captured = capsys.readouterr()
    return Ran(code, captured.out, captured.err)


def run_apart(
    *words: str,
    folder: Path,
    environment: Mapping[str, str] | None = None,
    utf8: bool = True,
) -> subprocess.CompletedProcess[bytes]:
    """Run in a process of its own, from `folder`."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in ("PYTHONIOENCODING", "COLUMNS", "NO_COLOR", "TERM", "BODYSHOP_DEBUG")
    }
    kept.update({"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1" if utf8 else "0"}, **(environment or {}))
    return subprocess.run(
        [sys.executable, "-m", "bodyshop", *words], cwd=folder, env=kept, capture_output=True, check=False
    )
