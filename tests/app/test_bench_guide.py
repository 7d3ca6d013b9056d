"""The guide on the bench: every page is served, and a wrong name is told the nearest."""

from __future__ import annotations

from pathlib import Path

from bodyshop.output.guide.pages import TOPICS, guide_title
from tests.app.benching import serve


def test_every_page_is_served(tmp_path: Path) -> None:
    served = serve(tmp_path)
    try:
        status, first = served.ask("/guide")
        assert status == 200
        for topic in TOPICS:
            assert f'href="/guide/{topic}"'.encode() in first
            status, page = served.ask(f"/guide/{topic}")
            assert status == 200
            assert guide_title(topic).encode() in page
        status, words = served.ask("/guide/studnt")
        assert (status, b"did you mean student" in words.lower()) == (404, True)
    finally:
        served.close()
