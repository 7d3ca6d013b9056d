"""Judging a car loads little: asked of the import cache of a fresh interpreter."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.architecture.loading import HEAVY, LIGHT, foreign, loaded_by

RUN = """
import contextlib, io
from bodyshop.app.cli import main
with contextlib.redirect_stdout(io.StringIO()):
    assert main({words!r}) in (0, 1)
"""


@pytest.mark.parametrize(
    "words",
    [
        ["check", "samples/kestrel.toml"],
        ["check", "samples/lapwing.toml", "--full"],
        ["check", "samples/kestrel.toml", "--json"],
        ["measure", "samples/kestrel.toml"],
        ["stock"],
        ["--help"],
    ],
)
def test_only_the_light_libraries(root: Path, words: list[str]) -> None:
    loaded = loaded_by(root, RUN.format(words=words))
    json = {"msgspec", "typing_extensions"} if "--json" in words else set()
    assert foreign(loaded) - {"bodyshop"} <= LIGHT | json
    assert not loaded & HEAVY


@pytest.mark.parametrize("words", [["--help"], ["--version"]])
def test_help_needs_no_numbers(root: Path, words: list[str]) -> None:
    assert "shapely" not in loaded_by(root, RUN.format(words=words))


def test_making_papers_is_seen_to_load_more(root: Path, tmp_path: Path) -> None:
    # The guard above is seen red: drawing does load the PDF library.
    words = ["templates", "samples/wren.toml", "--out", str(tmp_path / "out")]
    assert loaded_by(root, RUN.format(words=words)) & HEAVY
