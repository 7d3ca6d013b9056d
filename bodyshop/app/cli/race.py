"""`bodyshop race`: a group of verbs, each in a module of its own."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from importlib import import_module
from typing import Final, cast

from bodyshop.app.cli.commands import CommandModule
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser

__all__ = ["VERBS", "Verb", "configure", "run"]


@dataclass(frozen=True, slots=True)
class Verb:
    """A verb's module, its summary and the paragraph of its help."""

    module: str
    summary: str
    description: str


VERBS: Final = {
    "predict": Verb(
        "race_predict",
        "time, top speed and speed at the line of a design, each as an interval",
        "Predict a design's race: its time, its speeds and the times at gates, from mass, drag area, "
        "friction, wheels, guide line, air and cartridge, each as the interval that holds 19 races in 20; "
        "and tell what makes it wide.",
    ),
    "change": Verb(
        "race_change",
        "what a gram, a tenth of the drag or another number would change",
        "Tell what each change is worth to this car, ranked; try other numbers of the design (--set) and "
        "other woods (--wood) without writing anything; draw it as a sheet.",
    ),
    "drag": Verb(
        "race_drag",
        "what each part of a design costs in drag, before any test",
        "Build a design's drag area up before any test, part by part, from published coefficients: what each "
        "part costs, between which ends its coefficient lies, and where that comes from.",
    ),
    "freeze": Verb(
        "race_freeze",
        "put predictions of a trial book's cars into the book, before the race",
        "Predict the race of cars of a trial book, from their designs and what was measured of them, and put "
        "the predictions into the book with all they were made from. They are never changed after, so that a "
        "race can be held against them.",
    ),
    "compare": Verb(
        "race_compare",
        "hold frozen predictions against the times",
        "Hold the predictions that were frozen before the race against the times that were run: the error, "
        "whether the order was right and how likely luck alone gets it so right, and how many lie inside the "
        "interval.",
    ),
    "fit": Verb(
        "race_fit",
        "what the class's runs tell of its cartridges",
        "Fit the impulse of the class's cartridges to its timed runs, and the puncture where a gate stands, "
        "with their uncertainty and how far they are tied together; drag, friction and masses stay as they "
        "were known. The fit is kept in the book, and later predictions with that book use it.",
    ),
}


def configure(parser: Parser) -> None:
    """Add the verbs."""
    for name, verb in VERBS.items():
        _load(verb.module).configure(parser.add_verb(name, verb.summary, verb.description))


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Do what the verb says."""
    return _load(VERBS[options.verb].module).run(options, console)


def _load(module: str) -> CommandModule:
    return cast(CommandModule, import_module(f"bodyshop.app.cli.{module}"))
