"""The page: plain HTML, CSS and JavaScript, made anew by nobody and loaded from nowhere else."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Final

__all__ = ["FOLDER", "page_html"]

FOLDER: Final = Path(__file__).resolve().parent
_MARK: Final = re.compile("@(?:NAME|NONCE|MODULES|LIST|TEXT)@")


def page_html(
    kind: str, name: str, nonce: str, modules: Mapping[str, str], parts: Mapping[str, str] | None = None
) -> str:
    """One page: `kind` is `design`, `gallery` or `guide`, `name` the design's file or the topic, `modules`
    where modules are; `parts` are pieces of HTML by the marks that they take the place of.

    `nonce` is the word by which the browser knows the page's own script and style from any others.
    """
    values = {
        "@NAME@": escape(name),
        "@NONCE@": escape(nonce),
        "@MODULES@": json.dumps({"imports": dict(modules)}).replace("<", "\\u003c"),
    }
    values |= parts or {}
    text = (FOLDER / f"{kind}.html").read_text(encoding="utf-8")
    # In one go: a file may be called as a mark is, and what was filled in is not filled in again.
    return _MARK.sub(lambda found: values[found[0]], text)
