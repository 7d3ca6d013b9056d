"""What every test shares: no chance, no writing in the checkout, golden files."""

from __future__ import annotations

import difflib
import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parents[1]
GOLDEN = ROOT / "tests" / "golden"

# The same examples in every run, nothing written between runs, and no clock: the machine may be busy.
settings.register_profile(
    "bodyshop",
    max_examples=50,
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("bodyshop")

# Written by Python and by the test tools themselves.
_TOOLS = (
    "__pycache__",
    ".pytest_cache",
    "pytest-cache-files",
    ".hypothesis",
    ".mypy_cache",
    ".ruff_cache",
    ".git",
)
_accepting = False


class WroteInCheckoutError(BaseException):
    """A test wrote below the checkout instead of its tmp_path. Not an Exception, so nothing swallows it."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--accept", action="store_true", help="keep what the code makes now as golden files")


def pytest_configure(config: pytest.Config) -> None:
    global _accepting  # noqa: PLW0603  an audit hook cannot be handed anything
    _accepting = bool(config.getoption("--accept"))
    sys.addaudithook(_watch_writes)
    # Tests started in the background are handed a Ctrl-C that is ignored, and would hand that on to the
    # programs that they stop.
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _watch_writes(event: str, arguments: tuple[object, ...]) -> None:
    if event != "open":
        return
    path, mode, flags = arguments[:3]
    writes = (isinstance(mode, str) and any(letter in mode for letter in "wax+")) or (
        isinstance(flags, int) and bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
    )
    if not writes or not isinstance(path, (str, bytes, os.PathLike)):
        return
    full = os.path.abspath(os.fsdecode(path))  # noqa: PTH100  inside an audit hook: as little as can be
    if not full.startswith(str(ROOT) + os.sep) or any(tool in full for tool in _TOOLS):
        return
    if _accepting and full.startswith(str(GOLDEN) + os.sep):
        return
    raise WroteInCheckoutError(full)


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with `tests/golden/NAME`; `pytest --accept` writes it there instead."""

    def compare(name: str, text: str) -> None:
        compare_golden(GOLDEN / name, text, accept=bool(request.config.getoption("--accept")))

    return compare


def compare_golden(file: Path, text: str, *, accept: bool) -> None:
    """Fail with a unified diff when `file` does not hold `text`, newlines aside."""
    if accept:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8", newline="\n")
        return
    if not file.exists():
        pytest.fail(f"no golden file {file.name}: look at the output, then --accept it", pytrace=False)
    kept = file.read_text(encoding="utf-8")
    if kept != text:
        diff = difflib.unified_diff(
            kept.splitlines(), text.splitlines(), f"golden/{file.name}", "made now", lineterm=""
        )
        pytest.fail("\n".join(diff) or "differs in its newlines only", pytrace=False)


@pytest.fixture
def root() -> Path:
    """The top folder of the checkout."""
    return ROOT
