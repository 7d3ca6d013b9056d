"""Edits put into the text of a design: the new text, the difference to show, the file to write."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from pathlib import Path

from bodyshop.fixing.model import Edit, Plan
from bodyshop.problems import WriteRefusedError
from bodyshop.source import Source, parse_source
from bodyshop.source.safewrite import write_file
from bodyshop.source.splice import splice_number

__all__ = ["diff", "edited", "whole_text", "write"]


def edited(source: Source, edits: Iterable[Edit]) -> Source:
    """The file with some numbers replaced, read again. Nothing but those numbers differs.

    Raises `ValueError` where a number cannot stand there.
    """
    for edit in edits:
        source = parse_source(splice_number(source, edit.path, edit.new_text), source.name)
    return source


def whole_text(source: Source) -> str:
    """All of a file's text, with the byte-order mark it began with."""
    return ("\ufeff" if source.bom else "") + source.text


def diff(plan: Plan, *, context: int = 2) -> str:
    """What the plan changes, as a unified diff of the file; empty when it changes nothing."""
    name = plan.source.name
    lines = difflib.unified_diff(
        plan.source.text.splitlines(),
        plan.text.removeprefix("\ufeff").splitlines(),
        name,
        f"{name} (changed)",
        n=context,
        lineterm="",
    )
    return "".join(f"{line}\n" for line in lines)


def write(plan: Plan, path: Path | str | None = None) -> bool:
    """Put the plan's text into the file it was read from, whole or not at all; False when nothing changes.

    `path` is another place to write to. Raises `WriteRefusedError` when the file cannot be written, or is
    no longer as it was when it was read: then it is left alone.
    """
    if not plan.fixes:
        return False
    place = Path(plan.source.name if path is None else path)
    if path is None and _on_disk(place) != whole_text(plan.source).encode("utf-8"):
        raise WriteRefusedError(str(place), "it was changed while the remedies were searched for; try again")
    write_file(place, plan.text.encode("utf-8"))
    return True


def _on_disk(place: Path) -> bytes:
    try:
        return place.read_bytes()
    except OSError:
        raise WriteRefusedError(str(place), "it cannot be read any more") from None
