"""`bodyshop raceday`: who races whom, what they ran, who stands where, and the papers of the day."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop.app.cli.actions import Action, Verbs
from bodyshop.app.cli.arguments import (
    CONFIRM,
    DATE,
    JSON,
    OUT,
    OWNER,
    Argument,
    book_file,
    flag,
    operand,
    option,
    sheet,
    whole,
)
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.papers import date_of, tell_written
from bodyshop.app.cli.parser import one_of
from bodyshop.app.cli.trial_common import refuse_doubtful
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.sheet.paper import sheet_sizes, usual_sheet
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.files.safe_writing import OutputFolder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import printable, wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.output.json.raceday import day_data
from bodyshop.output.papers.raceday.files import day_files
from bodyshop.output.terminal.raceday import heats_text, ladder_text, standings_text, undecided_lines
from bodyshop.records.book.book import Book
from bodyshop.records.raceday.day import DOUBT, RaceDay
from bodyshop.records.raceday.draw import chance_seed
from bodyshop.records.raceday.model import KEYS, LaneEntry, read_said, said_words
from bodyshop.records.raceday.reading import StoredHeat, event_unit
from bodyshop.records.raceday.standings import RankedBy

__all__ = ["raceday"]

_KEYS: Final = f"{KEYS} An empty line leaves a lane for later, q stops."


def _whole(text: str) -> int:
    digits = text.removeprefix("-")
    if not (digits.isascii() and digits.isdecimal() and len(digits) < 9):
        raise argparse.ArgumentTypeError(f'"{text[:40]}" is not a whole number')
    return int(text)


_BOOK: Final = book_file()
_SEED: Final = whole("number of a draw", 0, 10**12)
_HEAT: Final = operand("heat", "HEAT", "the heat's number", _whole)
_WHY: Final = option("--because", "TEXT", "why", required=True)
_LANES: Final = option("--lanes", "N", "2 to 8 (default: the event's)", _whole)

_DayWork = Callable[[RaceDay, argparse.Namespace, Console], Exit | None]


def _day_verb(
    name: str, summary: str, description: str, *arguments: Argument
) -> Callable[[_DayWork], Action]:
    """Makes a function of the race day of a book a verb."""

    def made(work: _DayWork) -> Action:
        def run(options: argparse.Namespace, console: Console) -> Exit | None:
            with Book.open(options.book) as book:
                return work(RaceDay(book), options, console)

        return Action(run, (*arguments, _BOOK), name, summary, description)

    return made


# ---------------------------------------------------------------- verbs


@_day_verb(
    "enter",
    "enter cars of the trial book",
    "Enter cars of the trial book into the race.",
    operand("cars", "CAR", "cars by name (default: all of the book)", nargs="*"),
)
def _enter(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    fresh = day.enter(options.cars or None)
    count = len(day.state.racing)
    names = ", ".join(printable(name) for name in fresh)
    told = f"Entered: {names}." if fresh else "All of them are entered already."
    console.tell(f"{told} Now {number_words(count, 'car')} in the race.")
    _name_undecided(day, console)


@_day_verb(
    "draw",
    "draw the heats of time trials",
    "Draw time trials: every car runs once a round, lanes are shared out evenly, and the same cars meet "
    "as seldom as possible. Cars that came late are drawn by a second draw.",
    option("--rounds", "N", "runs of each car (default: 2)", _whole, default=2),
    _LANES,
    option(
        "--counts",
        "WHAT",
        "best: the best single run (default); mean or total of all runs",
        one_of([each.value for each in RankedBy], "way to count"),
        default=RankedBy.BEST.value,
    ),
    option(
        "--seed", "N", "the number of the draw, to draw the same again (default: one by chance, told)", _SEED
    ),
)
def _draw(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    seed = chance_seed() if options.seed is None else options.seed
    heats = day.draw_trials(options.rounds, seed, lanes=options.lanes, counts=RankedBy(options.counts))
    console.write(heats_text(day.state, heats, console.width))
    console.write(f"Draw number {seed}: --seed {seed} draws the same again.\n")
    _name_undecided(day, console)


@_day_verb(
    "heats",
    "show the heats",
    "Show the heats: those still to be run, or all.",
    flag("--all", "those that are run as well"),
    JSON,
)
def _heats(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    state = day.state
    if options.json:
        console.write_json(day_data(state))
        return
    shown = state.heats if options.all else state.open_heats
    if not shown and state.heats:
        console.write("Every heat that is drawn is run.\n")
        return
    console.write(heats_text(state, shown, console.width))


@_day_verb(
    "times",
    "enter times at the keyboard, heat after heat",
    "Ask for the time of each lane of each heat that is not run, and note each at once. " + _KEYS,
    option("--heat", "N", "this heat alone", _whole),
)
def _times(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    state = day.state
    heats = state.open_heats if options.heat is None else (state.heat(options.heat),)
    if not heats:
        console.write("Every heat that is drawn is run.\n")
        return
    _cautions(console)
    console.tell(_KEYS)
    for held in heats:
        if not _ask_heat(day, held, console):
            break
    left = len(day.state.open_heats)
    console.write(f"{number_words(left, 'heat')} still to be run.\n")


def _ask_heat(day: RaceDay, held: StoredHeat, console: Console) -> bool:
    """Ask for each lane of a heat that has no result; whether to go on."""
    console.write(f"Heat {held.heat.number}\n")
    for car in day.state.open_lanes(held):
        while True:
            console.write(f"  lane {held.heat.lane_of(car)}  {printable(car)}: ")
            said = _typed(console)
            if said is None:
                return False
            if said.leaves:
                break
            try:
                noted = _record_asking(day, held.heat.number, car, said, console)
            except ProblemsError as error:
                console.write(_wrapped(error.problems[0].sentence, console))
                continue
            if noted:
                console.write(f"    noted: {said_words(said, day.state.decimals)}\n")
                break
    return True


def _record_asking(day: RaceDay, number: int, car: str, said: LaneEntry, console: Console) -> bool:
    """Note a result, once it is confirmed where it is odd; whether it is noted."""
    try:
        day.record(number, car, said.end, said.time_s)
    except ProblemsError as error:
        if any(problem.code != DOUBT for problem in error.problems):
            raise
        for problem in error.problems:
            console.write(
                "\n".join(wrap(f"{printable(problem.message)}.", console.width, "    ? ", "      "))
            )
            console.write("\n")
        if not console.confirm("    Is it so? yes or no: "):
            console.write("    not noted\n")
            return False
        day.record(number, car, said.end, said.time_s, confirmed=True)
    return True


def _typed(console: Console) -> LaneEntry | None:
    """What was typed, asked for again until it makes sense; None at the end."""
    while True:
        line = console.ask()
        if line is None or line.strip().casefold() in ("q", "quit", "end"):
            console.write("\n" if line is None else "")
            return None
        said = read_said(line)
        if isinstance(said, LaneEntry):
            return said
        console.write(_wrapped(said.sentence, console) + "  again: ")


def _wrapped(sentence: str, console: Console) -> str:
    """What was wrong with a line that was typed."""
    return "\n".join(wrap(printable(sentence), console.width, "    ", "    ")) + "\n"


@_day_verb(
    "note",
    "note or correct one result",
    "Note one result, or correct one.",
    _HEAT,
    operand("car", "CAR", "the car's name, or its lane"),
    operand("result", "RESULT", "a time in seconds, or dnf, dns, void"),
    option("--because", "TEXT", "why, where a result that is noted already is changed"),
    CONFIRM,
)
def _note(day: RaceDay, options: argparse.Namespace, console: Console) -> Exit:
    said = read_said(options.result)
    if not isinstance(said, LaneEntry):
        raise ProblemsError([said])
    try:
        day.record(
            options.heat,
            options.car,
            said.end,
            said.time_s,
            reason=options.because,
            confirmed=options.confirm,
        )
    except ProblemsError as error:
        if all(problem.code == DOUBT for problem in error.problems):
            refuse_doubtful(console, tuple(f"{each.message}." for each in error.problems), "This result")
            return Exit.UNREADABLE
        raise ProblemsError([_with_option(problem) for problem in error.problems]) from error
    console.write(heats_text(day.state, [day.state.heat(options.heat)], console.width))
    return Exit.PASSES


def _with_option(problem: Problem) -> Problem:
    """A refused correction, with the option that lets it through."""
    if problem.code != "raceday-noted":
        return problem
    return replace(problem, expected='a reason in a few words, as: --because "misread"')


@_day_verb(
    "rerun",
    "void a heat and run it again",
    "Void a heat, or some of its lanes, and run it again.",
    _HEAT,
    operand("cars", "CAR", "these cars or lanes alone (default: all)", nargs="*"),
    _WHY,
)
def _rerun(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    held = day.rerun(options.heat, options.because, cars=options.cars)
    console.write(heats_text(day.state, [held], console.width))


@_day_verb(
    "out",
    "take a car out of the race",
    "Take a car out of the race: it is ruled out.",
    operand("car", "CAR", "the car's name"),
    _WHY,
)
def _out(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    name = day.rule_out(options.car, options.because)
    console.write(
        f"{printable(name)} is out: {printable(options.because)}. Its lanes stay empty from now on.\n"
    )


@_day_verb(
    "allow",
    "let cars race that have not passed inspection",
    "Let cars race that have failed inspection, or were not inspected. That is for an official to "
    "decide; the book stores who was allowed and why, and the final sheet lists it. The decision holds "
    "until the car is inspected again.",
    operand("cars", "CAR", "cars by name (default: all not decided on)", nargs="*"),
    _WHY,
)
def _allow(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    names = day.allow(options.because, options.cars)
    told = f"Allowed to race: {', '.join(printable(name) for name in names)}: {printable(options.because)}."
    if not names:
        told = "Every car in the race has passed inspection or is allowed already."
    console.tell(told)


def _name_undecided(day: RaceDay, console: Console) -> None:
    """Name the cars that have not passed inspection, beside what was asked for."""
    lines = undecided_lines(day.state, console.width)
    if lines:
        console.complain("\n".join(lines) + "\n")


@_day_verb(
    "back",
    "let a car race again",
    "Let a car that is out race again.",
    operand("car", "CAR", "the car's name"),
    _WHY,
)
def _back(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    name = day.readmit(options.car, options.because)
    console.write(f"{printable(name)} races again: {printable(options.because)}.\n")


@_day_verb(
    "eliminate",
    "draw eliminations, or their next round",
    "Draw the first round of eliminations by the standings of the time trials (or by chance), and each "
    "time it is called after that the next one. Cars that are equal where it matters run again.",
    _LANES,
    option("--best", "N", "only the best so many cars", _whole),
    option("--runs", "N", "runs of each pairing, lanes changed (default: 1)", _whole, default=1),
    flag("--by-chance", "draw by chance, not by the standings"),
    option("--seed", "N", "the number of a draw by chance", _SEED),
)
def _eliminate(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    if day.state.rounds:
        heats = day.next_round()
        if not heats:
            console.write("The final is run.\n" + ladder_text(day.state, console.width))
            return
        console.write(heats_text(day.state, heats, console.width))
        _name_undecided(day, console)
        return
    seed = options.seed
    if seed is None and options.by_chance:
        seed = chance_seed()
    heats = day.draw_knockout(lanes=options.lanes, legs=options.runs, best=options.best, seed=seed)
    console.write(heats_text(day.state, heats, console.width))
    passing = [group.cars[0] for group in day.state.rounds[-1].groups if group.is_pass and group.cars]
    if passing:
        names = ", ".join(printable(name) for name in passing)
        console.tell(f"Through without a run: {names}.")
    if seed is not None:
        console.write(f"Draw number {seed}: --seed {seed} draws the same again.\n")
    _name_undecided(day, console)


@_day_verb("standings", "show who stands where", "Show standings, places, decisions.", JSON)
def _standings(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    state = day.state
    if options.json:
        console.write_json(day_data(state))
        return
    console.write(f"{printable(state.event.name)}, {state.as_of}\n\n")
    console.write(standings_text(state, console.width))
    if state.rounds:
        console.write("\nEliminations\n" + ladder_text(state, console.width))
    for at, what in state.decisions:
        console.tell(what, f"{at}  ", " " * 18)


@_day_verb(
    "papers",
    "make the papers of the day",
    "Make the papers of the day as PDF: heats to write into, standings, the final sheet, certificates, "
    "class data with scatter plots; and the class data as CSV.",
    sheet(),
    OUT,
    DATE,
    OWNER,
)
def _papers(day: RaceDay, options: argparse.Namespace, console: Console) -> None:
    state = day.state
    stem = safe_stem(f"{Path(options.book).stem}-race-day")
    folder = options.out if options.out is not None else Path("templates_out") / stem
    paper = sheet_sizes()[options.sheet] if options.sheet else usual_sheet(event_unit(day.book))
    files, notes = day_files(day.book, state, paper, date=date_of(options), owner=options.owner)
    for note in notes:
        console.tell(note, err=True)
    if state.pending:
        words = f"The final sheet and the certificates are provisional. {' '.join(state.pending)}"
        console.tell(words, err=True)
    done = OutputFolder(folder).write_all(files)
    tell_written(console, folder, done, {})


raceday: Final = Verbs(
    _enter, _draw, _heats, _times, _note, _rerun, _out, _allow, _back, _eliminate, _standings, _papers
)


# ---------------------------------------------------------------- below


def _cautions(console: Console) -> None:
    for caution in cautions_for(Operation.RACE):
        console.tell(caution.sentence, "Caution: ", "    ")
