"""Every public function that a contributor starts from carries an example, and the examples run."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]

# Where DEVELOPERS.md sends a reader first.
STARTS = [
    "car.design.load.read_design",
    "car.measures.catalogue.registered",
    "drawing.layout.tiling.tile",
    "drawing.writers.svg.write_svg",
    "foundation.files.safe_writing.write_file",
    "foundation.statistics.repeats",
    "foundation.toml.splice.spliced_source",
    "foundation.units.printing.format_length",
    "foundation.units.reading.parse_length",
    "geometry.packing.pack",
    "output.terminal.verdict.terminal_report",
    "records.book.book.Book",
    "records.findings.forecast.make_forecast",
    "rules.checking.check.check_car",
    "rules.checking.opening.open_car",
    "rules.remedies.plan.fix_each",
    "rules.rulebook.judge.judge",
    "rules.rulebook.load.read_rulebook",
    "rules.rulebook.remedy.remedy",
]


def with_examples() -> list[str]:
    return [
        ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for file in sorted((ROOT / "bodyshop").rglob("*.py"))
        if ">>> " in file.read_text(encoding="utf-8")
    ]


def outcome(module: ModuleType) -> doctest.TestResults:
    return doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)


@pytest.mark.parametrize("name", with_examples())
def test_examples_run(name: str) -> None:
    failed, tried = outcome(importlib.import_module(name))
    assert tried > 0
    assert failed == 0


@pytest.mark.parametrize("start", STARTS)
def test_where_a_contributor_starts_there_is_an_example(start: str) -> None:
    home, _, name = start.rpartition(".")
    thing = getattr(importlib.import_module(f"bodyshop.{home}"), name)
    assert ">>> " in (thing.__doc__ or "")


def test_an_example_that_is_wrong_is_seen() -> None:
    module = ModuleType("wrong")
    module.__doc__ = ">>> 1 + 1\n3\n"
    assert outcome(module).failed == 1
