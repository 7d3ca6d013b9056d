"""The browser is led to the bench by a file, so that the key is on no command line."""

from __future__ import annotations

import os
import stat
import sys
import tempfile
from pathlib import Path

import pytest

from bodyshop.app.bench.server import StartPage
from tests.app.benching import Page
from tests.app.running import run_here

ADDRESS = "http://127.0.0.1:8123/?key=SECRET"


def test_the_start_page_is_for_its_owner_alone_and_can_be_taken_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    page = StartPage(ADDRESS)
    assert "SECRET" not in page.uri
    assert page.uri.startswith("file:")
    assert ADDRESS in page.file.read_text(encoding="utf-8")
    if os.name != "nt":
        assert stat.S_IMODE(page.file.stat().st_mode) == 0o600
        assert stat.S_IMODE(page.file.parent.stat().st_mode) == 0o700
    page.remove()
    page.remove()
    assert list(tmp_path.iterdir()) == []


def test_the_command_hands_the_browser_no_key_and_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    opened: list[str] = []
    left: list[int] = []
    monkeypatch.setattr("webbrowser.open", opened.append)

    def serve(_bench: object, listener: object, _key: object, ready: object, came_in: object) -> None:
        assert callable(ready)
        assert callable(came_in)
        ready()
        left.append(len(list(tmp_path.iterdir())))
        came_in()
        left.append(len(list(tmp_path.iterdir())))
        listener.close()  # type: ignore[attr-defined]

    monkeypatch.setattr("bodyshop.app.bench.server.serve", serve)
    ran = run_here(capsys, "bench", "wren")
    key = ran.out.partition("key=")[2].split()[0]
    assert len(key) > 20
    assert [key in address or "key=" in address for address in opened] == [False]
    assert key not in " ".join(sys.argv)
    assert left == [1, 0]


def test_a_browser_that_opens_the_start_page_comes_to_the_bench(
    page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    page.browser.delete_all_cookies()
    page.browser.get(StartPage(page.served.address).uri)
    page.until(lambda: page.text_of("count") not in ("", "looking"))
    assert page.browser.current_url == f"{page.served.base}/"
