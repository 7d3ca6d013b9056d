"""Where the rulebooks, the sample designs and the stock tables are.

In a checkout `rules` and `samples` lie beside the package; in an installed copy they lie inside it, in
`shipped`. Nothing here depends on the folder the program is run from.
"""

from __future__ import annotations

from pathlib import Path

from bodyshop.foundation.problems import Problem, ProblemsError

__all__ = ["rules_folder", "samples_folder", "stock_folder"]

_PACKAGE = Path(__file__).resolve().parents[2]


def rules_folder() -> Path:
    """The folder of the rulebooks that come with the program.

    Raises:
        ProblemsError: this copy of the program lacks it.
    """
    return _shipped("rules")


def samples_folder() -> Path:
    """The folder of the sample designs that come with the program.

    Raises:
        ProblemsError: this copy of the program lacks it.
    """
    return _shipped("samples")


def stock_folder() -> Path:
    """The folder of the tables of woods, blanks, hardware, finishes, blades and cautions."""
    return _PACKAGE / "car" / "stock"


def _shipped(name: str) -> Path:
    inside = _PACKAGE / "shipped" / name
    if inside.is_dir():
        return inside
    # Only a checkout has the project file beside the package: a folder called "samples" that some
    # other package put next to an installed copy is not ours.
    beside = _PACKAGE.parent / name
    if (_PACKAGE.parent / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    message = f"this copy of bodyshop is incomplete: its folder {name} is missing; install it again"
    raise ProblemsError([Problem("copy-incomplete", message, file=name)])
