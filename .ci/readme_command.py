"""Print the n-th command of README.md, so that what we run and what we promise cannot drift.

A command is a fenced code block; blank lines, comments and a leading prompt are left out.
"""

from __future__ import annotations

import sys
from pathlib import Path

__all__ = ["readme_commands"]

_FENCE = "```"


def readme_commands(text: str) -> list[str]:
    """The fenced blocks of a Markdown text, in order, each as it would be typed."""
    commands: list[str] = []
    block: list[str] | None = None
    for line in text.splitlines():
        if line.strip().startswith(_FENCE):
            if block is None:
                block = []
            else:
                commands.append("\n".join(block))
                block = None
        elif block is not None and line.strip() and not line.strip().startswith("#"):
            block.append(line.strip().removeprefix("$ "))
    return commands


def main() -> int:
    """Print the command whose number, from 1, is given."""
    number = int(sys.argv[1])
    readme = Path(__file__).resolve().parents[1] / "README.md"
    try:
        commands = readme_commands(readme.read_text(encoding="utf-8"))
    except OSError as error:
        sys.stderr.write(f"README.md cannot be read: {error.strerror}\n")
        return 1
    if len(commands) < number or not commands[number - 1]:
        sys.stderr.write(f"README.md has no command number {number} in a fenced block\n")
        return 1
    sys.stdout.write(commands[number - 1] + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
