"""The rulebook language for teachers: printed by a command, and as the page `rules/LANGUAGE.md`.

Both are made from the table that the loader reads. After a change of the table:

    python -m bodyshop.output.terminal.rulebook_language
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from bodyshop.car.stock.hardware import PART_SHELVES
from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import printable, wrap
from bodyshop.rules.rulebook.language import (
    CHANGE,
    CHANGE_KEYS,
    FORMAT,
    RULE,
    STOCK,
    TABLES,
    LanguageKey,
    LanguageTable,
)
from bodyshop.rules.rulebook.words import FIELDS

__all__ = ["PAGE_FILE", "language_page", "language_text"]

PAGE_FILE: Final = "LANGUAGE.md"
"""The page's name, beside the shipped rulebooks."""

_TITLE: Final = f"The rulebook language, format {FORMAT}"
_INTRO: Final = (
    "A rulebook is a text file in TOML: keys with values, in tables. Below stands every key, with what it "
    "means, what it takes and an example. A key that is not here is told as a slip when the file is read. "
    "`bodyshop rulebook new NAME` writes a sheet to start from, "
    "and `bodyshop rulebook lint FILE` looks it over."
)


def language_text(*, width: int = 80, ink: TextStyle | None = None, about: str = "") -> str:
    """The language as a sheet to read on a terminal, or what is said `about` one key or table.

    Raises `ProblemsError` where no key and no table is called so.
    """
    ink = ink or TextStyle()
    lines: list[str] = []
    if not about:
        lines += [ink.strong(_TITLE), "", *wrap(_INTRO, width)]
    for table in _tables(about):
        lines += ["", ink.strong(_heading(table)), *wrap(table.meaning, width, "  ")]
        keys = [key for key in _own_keys(table) if not about or about in (key.name, _plain(table))]
        for key in keys:
            lines += ["", *_told(key, width, ink)]
        if about in ("", _plain(table)):
            for note in _notes(table):
                lines += ["", *wrap(note, width, "  ")]
    return "\n".join(lines).lstrip("\n") + "\n"


def language_page() -> str:
    """The language as a page in Markdown."""
    lines = [
        f"# {_TITLE}",
        "",
        "<!-- Made by python -m bodyshop.output.terminal.rulebook_language: change the table there. -->",
        "",
        _INTRO,
    ]
    for table in TABLES:
        lines += ["", f"## {_heading(table)}", "", table.meaning]
        own = _own_keys(table)
        for heading, keys in table.sections():
            rows = [_row(key) for key in keys if key in own]
            if rows:
                lines += ["", *([f"### {heading}", ""] if heading else [])]
                lines += ["| key | what it means | what it takes | example |", "|---|---|---|---|", *rows]
        for note in _notes(table):
            lines += ["", note]
    return "\n".join(lines) + "\n"


def _plain(table: LanguageTable) -> str:
    """The table's name as a person types it: `rule` for `[[rule]]`."""
    return table.name.strip("[]") or "top"


def _heading(table: LanguageTable) -> str:
    return f"{table.title}: {table.name}" if table.name else table.title


def _own_keys(table: LanguageTable) -> tuple[LanguageKey, ...]:
    """The keys that are told at the table: a change's without those of the rule."""
    return tuple(key for key in table.keys if table is not CHANGE or not key.changeable)


def _tables(about: str) -> tuple[LanguageTable, ...]:
    if not about:
        return TABLES
    found = tuple(
        table for table in TABLES if about in (_plain(table), *(key.name for key in _own_keys(table)))
    )
    if found:
        return found
    names = list(dict.fromkeys(name for table in TABLES for name in (_plain(table), *table.names)))
    shown = printable(about if len(about) <= 60 else about[:56] + "...")
    close = nearest(about, names)
    raise ProblemsError(
        [
            Problem(
                "language-key",
                f'the rulebook language has no key "{shown}"',
                found=shown,
                expected="" if close else "a key or a table that `bodyshop rulebook reference` lists",
                nearest=close,
            )
        ]
    )


def _told(key: LanguageKey, width: int, ink: TextStyle) -> Iterator[str]:
    first, *rest = wrap(f"{key.name}{_needed(key)}: {key.value_words}", width, "  ", "      ")
    yield ink.strong(first)
    yield from rest
    yield from wrap(key.meaning + _shelves(key), width, "      ")
    yield from (f"        {line}" for line in key.example.splitlines())


def _needed(key: LanguageKey) -> str:
    return " (needed)" if key.needed else ""


def _shelves(key: LanguageKey) -> str:
    return f" For {', '.join(key.items)}." if key.items else ""


def _row(key: LanguageKey) -> str:
    example = "<br>".join(f"`{line}`" for line in key.example.splitlines())
    needed = "<br>needed" if key.needed else ""
    return f"| `{key.name}`{needed} | {key.meaning}{_shelves(key)} | {key.value_words} | {example} |"


def _notes(table: LanguageTable) -> Iterator[str]:
    if table is RULE:
        names = ", ".join("{" + name + "}" for name in FIELDS)
        yield (
            f"Numbers that title, item, reason and instruction fill in, where the rule has them: {names}. "
            "A rule has either a measure or an item; and "
            "min and max, or exact with tolerance, or one_of, or count."
        )
    elif table is CHANGE:
        yield f"Beside them stand the keys of the rule that change: {', '.join(CHANGE_KEYS)}."
    elif table is STOCK:
        yield f"What like does not fill in is needed. The shelves: {', '.join(PART_SHELVES)}."


if __name__ == "__main__":
    Path(rules_folder() / PAGE_FILE).write_text(language_page(), encoding="utf-8")
