"""Cars for the reports' tests."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from bodyshop.rules.checking import Checked, check_car, open_car

ROOT = Path(__file__).resolve().parents[2]


@cache
def sample(name: str) -> Checked:
    """A shipped sample, judged by its rulebook."""
    return check_car(open_car(ROOT / "samples" / f"{name}.toml"))


def changed(folder: Path, name: str, *changes: tuple[str, str], rulebook: str | None = None) -> Checked:
    """A sample with pieces of its text replaced, judged."""
    text = (ROOT / "samples" / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    file = folder / f"{name}-changed.toml"
    file.write_text(text, encoding="utf-8")
    return check_car(open_car(file, rulebook))
