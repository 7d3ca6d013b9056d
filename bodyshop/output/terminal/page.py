"""A page for a terminal: lines of one width, gathered one under the other."""

from __future__ import annotations

from dataclasses import dataclass, field

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import LEAST_WIDTH, MOST_WIDTH, PAGE_WIDTH, pad, width_of, wrap

__all__ = ["TerminalPage"]


@dataclass
class TerminalPage:
    """Lines on their way out."""

    width: int = PAGE_WIDTH
    ink: TextStyle = field(default_factory=TextStyle)
    lines: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Keep the width within what can be read."""
        self.width = max(LEAST_WIDTH, min(self.width, MOST_WIDTH))

    def gap(self) -> None:
        """An empty line, unless there is one already."""
        if self.lines and self.lines[-1]:
            self.lines.append("")

    def heading(self, text: str) -> None:
        """A heading, with a gap before it."""
        self.gap()
        self.lines.extend(self.ink.strong(line) for line in wrap(text, self.width))

    def say(self, text: str, first: str = "", rest: str | None = None) -> None:
        """A paragraph, wrapped; `first` and `rest` begin its lines."""
        self.lines.extend(wrap(text, self.width, first, rest))

    def labelled(self, label: str, text: str, *, column: int, indent: int = 4) -> None:
        """A paragraph with a label before it, in a column so wide."""
        self.say(text, " " * indent + pad(label, column))

    def row(self, cells: tuple[str, ...], widths: tuple[int, ...]) -> None:
        """Cells in columns; the last one is wrapped in its column."""
        first = " " + "".join(f"{pad(cell, width)}  " for cell, width in zip(cells[:-1], widths, strict=True))
        self.say(cells[-1], first, " " * width_of(first))

    def text(self) -> str:
        """The page, ending in a newline."""
        return "\n".join(self.lines) + "\n"
