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
_MARK: Final = re.compile("@(?:NAME|NONCE|MODULES)@")


def page_html(kind: str, name: str, nonce: str, modules: Mapping[str, str]) -> str:
    """One page: `kind` is `design` or `gallery`, `name` the design's file, `modules` where modules are.

    `nonce` is the word by which the browser knows the page's own script and style from any others.
    """
    values = {
        "@NAME@": escape(name),
        "@NONCE@": escape(nonce),
        "@MODULES@": json.dumps({"imports": dict(modules)}).replace("<", "\\u003c"),
    }
    text = (FOLDER / f"{kind}.html").read_text(encoding="utf-8")
    # In one go: a file may be called as a mark is, and what was filled in is not filled in again.
    return _MARK.sub(lambda found: values[found[0]], text)
