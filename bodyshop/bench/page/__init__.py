"""The page: plain HTML, CSS and JavaScript, made anew by nobody and loaded from nowhere else."""

from __future__ import annotations

import json
from collections.abc import Mapping
from html import escape
from pathlib import Path
from typing import Final

__all__ = ["FOLDER", "page_html"]

FOLDER: Final = Path(__file__).resolve().parent


def page_html(kind: str, name: str, nonce: str, modules: Mapping[str, str]) -> str:
    """One page: `kind` is `design` or `gallery`, `name` the design's file, `modules` where modules are.

    `nonce` is the word by which the browser knows the page's own script and style from any others.
    """
    filled = (FOLDER / f"{kind}.html").read_text(encoding="utf-8")
    for mark, value in {
        "@NAME@": escape(name),
        "@NONCE@": escape(nonce),
        "@MODULES@": json.dumps({"imports": dict(modules)}).replace("<", "\\u003c"),
    }.items():
        filled = filled.replace(mark, value)
    return filled
