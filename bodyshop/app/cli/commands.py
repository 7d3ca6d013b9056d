"""The commands; the module of each is loaded only when it is asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from bodyshop.app.cli.actions import Action, Verbs

__all__ = ["COMMANDS", "Command"]


@dataclass(frozen=True, slots=True)
class Command:
    """A command's name, what it does in a few words, the paragraph of its help, and where it is: the module
    and the name of its action there.
    """

    name: str
    summary: str
    description: str
    place: str

    def load(self) -> Action | Verbs:
        """Import what does it."""
        module, _, name = self.place.partition(".")
        return cast("Action | Verbs", getattr(import_module(f"bodyshop.app.cli.{module}"), name))


_ALL = (
    Command(
        "check",
        "judge designs by a rulebook",
        "Read one or more designs, measure the cars and judge them by a rulebook. The report says what has "
        "to change, where, why, and by how much.",
        "check.check",
    ),
    Command(
        "fix",
        "find the smallest changes that make a design pass",
        "Search a design's own numbers for the smallest changes that make it pass its rulebook without "
        "breaking another rule, and show them as a difference of the file. Where none is found it says "
        "which rules pull against each other.",
        "fix.fix",
    ),
    Command(
        "measure",
        "print every measure of a design",
        "Print everything that can be measured on a design, with both ends and the place.",
        "lists.measure",
    ),
    Command(
        "templates",
        "full-size paper templates, PDF and SVG",
        "Draw the paper templates at full size: side and top view with the blank, the cut line, the holes "
        "and check bars. Print them at actual size, never fitted to the page.",
        "papers.templates",
    ),
    Command(
        "buildsheet",
        "the build sheet: parts, lengths, steps, masses",
        "Make the build sheet as one PDF: materials and hardware, cut lengths of bearings and axles, holes, "
        "an exploded drawing of each axle, the steps in shop order with the caution that belongs to each, "
        "and room for the measured mass beside the predicted one.",
        "papers.buildsheet",
    ),
    Command(
        "solid",
        "the body as STL, STEP and 3MF; the whole car; jigs",
        "Build the body as a solid and write it as STL, STEP and 3MF, if asked with all parts of the car on "
        "it, and with jigs to drill the square blank by.",
        "solid.solid",
    ),
    Command(
        "make",
        "check, templates and solid in one go",
        "Check a design and write everything for it into one folder: report, templates and solid. "
        "A design that fails gets its papers too, marked as failing on every sheet.",
        "make.make",
    ),
    Command(
        "bench",
        "draw, see the verdict move, print: in the browser",
        "Open a page, served from this machine to this machine alone, with the design's text on one side and "
        "the car on the other: a change in either shows in both at once, and the verdict moves with it. A "
        "folder is shown as a gallery. Ctrl-C closes it; what was not saved is kept as a draft.",
        "bench.bench",
    ),
    Command(
        "new",
        "start a new design",
        "Write a commented design to start from into the current folder. It passes its rulebook as it is.",
        "lists.new",
    ),
    Command(
        "class",
        "judge a whole folder of designs",
        "Judge every design of a folder and sum the class up: how each car stands, which rules are broken "
        "most, which cars are alike, and what to have in stock. A file that cannot be read is listed and "
        "stops nothing. Exit code 0 says that all pass, 1 that a car breaks a rule, 2 that something could "
        "not be read, judged or written.",
        "classroom.judge",
    ),
    Command(
        "race",
        "predict a race, and tell what would change it",
        "The race before it is run: predict tells a design's time and speeds as intervals, and what makes "
        "them wide; change ranks what a gram, a tenth of the drag or a degree of the cartridge is worth to "
        "this car, and tries other numbers and woods.",
        "race.race",
    ),
    Command(
        "inspect",
        "judge a finished car as it was measured",
        "Judge a finished car by the same rulebook as its design: measured values beside drawn ones, what "
        "grew or shrank in the shop, what only eyes can tell. A value within the instrument's step of a "
        "limit is too close to tell. Each inspection is kept in the trial book, and --pdf prints the sheet "
        "to be signed. "
        "Exit code 0 says that all rules are kept, 1 that one is broken, 2 that some are still open.",
        "inspecting.inspect",
    ),
    Command(
        "trial",
        "the trial book: what was measured, and its repeats",
        "The trial book keeps what balance, tunnel, ramp and track said, in one file for a class or an "
        "event. Nothing noted is ever changed: a correction is a record of its own and says why. What cannot "
        "be true is asked about before it is stored. Repeats are shown with their mean, spread and interval, "
        "and every table goes out and comes in as CSV.",
        "trial.trial",
    ),
    Command(
        "raceday",
        "heats, times, standings and papers of the race",
        "Race day on the trial book: enter cars, draw time trials and eliminations, enter times at the "
        "keyboard, void and run again, take cars out, see who stands where, and print the papers: heats, "
        "standings, the final sheet, certificates, class data. Everything noted is kept, and every "
        "correction says why.",
        "raceday.raceday",
    ),
    Command(
        "classpapers",
        "the papers of a whole class as one PDF",
        "Draw the templates of every design of a folder, with the build sheets where asked for, and put them "
        "into one PDF in the order of the files, behind an index and with bookmarks. Failing cars get their "
        "papers too, marked; a file that cannot be read is listed on the index and stops nothing. Exit codes "
        "are those of class.",
        "classpapers.papers",
    ),
    Command(
        "measures", "list what rules can name", "List every measure that a rule can name.", "lists.measures"
    ),
    Command(
        "rulebooks", "list the rulebooks that come along", "List the shipped rulebooks.", "lists.rulebooks"
    ),
    Command(
        "rulebook",
        "begin a rulebook, look it over, show it, print it",
        "What to do with a rulebook: new writes one to start from, reference tells every key that it can "
        "have, lint tells all that is wrong or doubtful in it, show prints it "
        "as a sheet to read, and print makes the sheet on which officials inspect a car, blank or filled in "
        "from a design.",
        "rulebook.rulebook",
    ),
    Command(
        "stock",
        "list woods, blanks, wheels and other stock",
        "List what designs and rulebooks can name: woods with their density and its source, blanks, "
        "hardware, finishes and paper sizes.",
        "lists.stock",
    ),
    Command(
        "schema",
        "print a JSON Schema",
        "Print the JSON Schema of the design file, for editors that check while one types, or of what --json "
        "prints.",
        "lists.schema",
    ),
    Command(
        "guide",
        "read the guide",
        "Read a page of the guide that comes with bodyshop: first steps for students, teachers and the shop, "
        "and everything else in full. Without a topic, list the pages. The bench shows the same pages.",
        "lists.guide",
    ),
)

COMMANDS: Mapping[str, Command] = {command.name: command for command in _ALL}
"""All commands by name, in the order of the help."""
