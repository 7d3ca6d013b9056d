"""Pages of the guide, as they are written, wrapped for a terminal, and as HTML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import wrap

if TYPE_CHECKING:
    from markdown_it.tree import SyntaxTreeNode

__all__ = ["TOPICS", "guide_html", "guide_list", "guide_text", "guide_title", "page_source"]

TOPICS: Final = (
    "student",
    "teacher",
    "shop",
    "design",
    "report",
    "commands",
    "rulebook",
    "rulebook-language",
    "printing",
    "trial-book",
    "inspection",
    "measurements",
    "race",
    "race-day",
    "bench",
    "accuracy",
    "windows",
)
"""Every page, in the order in which one would read them."""

_LINK: Final = re.compile(r"\[([^\]]+)\]\([^)]+\)")
_PAGE_LINK: Final = re.compile(r'href="([a-z-]+)\.md"')
_CODE_INDENT: Final = "    "


def page_source(topic: str) -> str:
    """A page as it is written.

    Raises:
        ProblemsError: there is no such page.
    """
    if topic not in TOPICS:
        close = nearest(topic, TOPICS)
        expected = "" if close else f"one of {', '.join(TOPICS)}"
        message = f'the guide has no page "{topic}"'
        raise ProblemsError([Problem("guide-topic", message, found=topic, expected=expected, nearest=close)])
    # The page on the rulebook language is made from the language itself, and lies beside the rulebooks.
    file = (
        rules_folder() / "LANGUAGE.md"
        if topic == "rulebook-language"
        else Path(__file__).with_name(f"{topic}.md")
    )
    return file.read_text(encoding="utf-8")


def guide_title(topic: str) -> str:
    """The heading of a page."""
    return page_source(topic).split("\n", 1)[0].removeprefix("# ")


def guide_list(width: int) -> str:
    """All pages with their headings."""
    wide = max(map(len, TOPICS)) + 2
    lines = ["The guide has these pages. Read one with: bodyshop guide TOPIC", ""]
    for topic in TOPICS:
        lines += wrap(guide_title(topic), width, f"  {topic.ljust(wide)}", " " * (wide + 2))
    return "\n".join(lines) + "\n"


def guide_html(topic: str) -> str:
    """The page as HTML, links to other pages as `/guide/TOPIC`; what is HTML in its text stays text.

    Raises:
        ProblemsError: there is no such page.
    """
    from markdown_it import MarkdownIt

    made = str(MarkdownIt("commonmark", {"html": False}).enable("table").render(page_source(topic)))
    return _PAGE_LINK.sub(r'href="/guide/\1"', made)


def guide_text(topic: str, width: int, ink: TextStyle) -> str:
    """The page for a terminal: headings bold, paragraphs wrapped, examples indented, tables row by row.

    Raises:
        ProblemsError: there is no such page.
    """
    from markdown_it import MarkdownIt
    from markdown_it.tree import SyntaxTreeNode

    tokens = MarkdownIt("commonmark", {"html": False}).enable("table").parse(page_source(topic))
    lines = (line for node in SyntaxTreeNode(tokens).children for line in _lines(node, width, ink, ""))
    return "\n".join(lines).strip("\n") + "\n"


def _lines(node: SyntaxTreeNode, width: int, ink: TextStyle, indent: str, bullet: str = "") -> Iterator[str]:
    """The lines of a piece of the page, an empty one behind it."""
    match node.type:
        case "heading":
            yield from ("", ink.strong(_plain(node.children[0].content)), "")
        case "paragraph":
            first = indent[: len(indent) - len(bullet)] + bullet
            yield from (*wrap(_plain(node.children[0].content), width, first, indent), "")
        case "fence":
            code = node.content.rstrip("\n").split("\n")
            yield from (*(f"{indent}{_CODE_INDENT}{line}".rstrip() for line in code), "")
        case "bullet_list" | "ordered_list":
            for number, item in enumerate(node.children, 1):
                mark = f"{number}. " if node.type == "ordered_list" else "-  "
                for place, part in enumerate(item.children):
                    yield from _lines(part, width, ink, f"{indent}   ", "" if place else mark)
        case "table":
            for row in node.children[-1].children:
                yield from _row([_plain(cell.children[0].content) for cell in row.children], width)
            yield ""
        case _:
            pass


def _row(cells: list[str], width: int) -> Iterator[str]:
    """A row of a table: its first cell, the others below it."""
    first, *others = cells
    yield from wrap(first, width, "  ", "  ")
    for each in others:
        if each:
            yield from wrap(each, width, "      ", "      ")


def _plain(text: str) -> str:
    """Without the marks of Markdown: a link as its words, no stars and back ticks."""
    return " ".join(_LINK.sub(r"\1", text).replace("**", "").replace("`", "").split())
