"""What the lines and marks of the drawings mean, each shown as it is drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from bodyshop.drawing.affine import Affine
from bodyshop.drawing.items import Group, Item, Text
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.shapes import line
from bodyshop.report.teaching.callouts import Callout
from bodyshop.report.teaching.labels import MARK_MM, mark_items
from bodyshop.report.teaching.measured_lines import dotted
from bodyshop.rulebook import Outcome, Verdict

__all__ = ["legend_items"]

_TEXT_MM: Final = 1.7
_ROW_MM: Final = 5.2
_SAMPLE_MM: Final = 15.0


def legend_items(
    callouts: Sequence[Callout], marks: Sequence[tuple[int, Verdict]], width_mm: float
) -> tuple[list[Item], float]:
    """The legend below the origin in rows as wide as `width_mm`, and its height.

    Only what the report shows is explained: `marks` are its numbers, some of which have no call-out.
    """
    entries: list[tuple[float, Callable[[], list[Item]], str]] = [
        (_SAMPLE_MM, lambda: [line((0.0, 0.0), (_SAMPLE_MM, 0.0), Layer.BLANK)], "the blank"),
        (_SAMPLE_MM, lambda: [line((0.0, 0.0), (_SAMPLE_MM, 0.0), Layer.HIDDEN)], "hidden in the wood"),
    ]
    if any(c.measured is not None and c.measured.limits for c in callouts):
        entries.append((_SAMPLE_MM, lambda: [dotted((0.0, 0.0), (_SAMPLE_MM, 0.0))], "where the limit is"))
    told = (
        (Outcome.FAIL, "fails"),
        (Outcome.TOO_CLOSE, "too close to tell"),
        (Outcome.NEAR, "close"),
        (Outcome.ADVICE, "advice"),
    )
    for outcome, words in told:
        first = next((number for number, verdict in marks if verdict.outcome is outcome), None)
        if first is not None:
            entries.append((2 * MARK_MM, _mark(first, outcome), words))
    items: list[Item] = []
    x, y = 0.0, -_ROW_MM / 2
    for size, sample, words in entries:
        wide = size + 1.5 + text_width_mm(words, _TEXT_MM) + 4.0
        if x and x + wide - 4.0 > width_mm:
            x, y = 0.0, y - _ROW_MM
        items.append(Group(Affine.move(x, y), tuple(sample())))
        items.append(Text(words, (x + size + 1.5, y - _TEXT_MM / 2), _TEXT_MM))
        x += wide
    return items, -y + _ROW_MM / 2


def _mark(number: int, outcome: Outcome) -> Callable[[], list[Item]]:
    return lambda: mark_items(number, outcome, (MARK_MM, 0.0))
