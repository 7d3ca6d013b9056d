"""What is done with a mutant, and what counts as a crash.

A mutant may be refused in words (`ProblemsError`, `WriteRefusedError`), or be taken. Anything else that is
raised is a crash, and so is a warning of a library, a number in the output that is none, and a run that does
not end.
"""

from __future__ import annotations

import json
import math
import re
import shutil
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Final

import numpy as np
from msgspec import to_builtins

from bodyshop.foundation.files.shipped import rules_folder, samples_folder
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.foundation.toml import parse_source
from bodyshop.output.json.check import checked_data, unread_data
from bodyshop.output.terminal.problems import problems_report
from bodyshop.output.terminal.verdict import terminal_report
from bodyshop.records.book.book import Book
from bodyshop.records.book.csv_in import import_csv
from bodyshop.records.book.csv_table import export_tables
from bodyshop.records.book.model import KINDS
from bodyshop.records.book.salvage import salvage
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car, open_source
from bodyshop.rules.rulebook import judge, read_rulebook
from bodyshop.rules.rulebook.lint import lint_rulebook
from tests.benchmarks.fuzzing.mutating import mutated_bytes, mutated_table, mutated_toml, thinned
from tests.records.trial_books import full_book

__all__ = ["MOST_S", "Crash", "Kind", "crash_of", "kinds"]

MOST_S: Final = 20.0
"""Seconds of the processor that no mutant may take: hundreds of times what the slowest good input does."""

_NO_NUMBER: Final = re.compile(r"(?<![\w.])[-−+]?(?:nan|inf|infinity)(?![\w.])", re.IGNORECASE)
_TOO_LARGE: Final = re.compile(r"[eE][+]?\d{3}|\d{300}")
"""A number in the input that no float holds: the reader of TOML makes infinity of it."""
_THRUST: Final = (
    "time_s,force_n\n0.00,0.0\n0.01,12.5\n0.02,18.1\n0.05,14.0\n0.10,9.0\n0.20,4.1\n0.40,0.9\n0.60,0.0\n",
    "# from a stand\ntime_ms;force_gf\n0;0\n10;1200\n20;1900,5\n60;1300\n200;350\n500;0\n",
)
_VALUES: Final = (
    """clause,value,resolution,instrument,answer
B1,285.2,0.5 mm,rule,
B2,52.1mm,,,
M1,71.3 g,0.1 g,balance,
I1,,,,yes
I2,,,,open
""",
    """measure,value,resolution
body.length,285.2,0.5
car.mass,71.3,0.1
front_axle.body_width,37,0.05
bore.angle,0.4,0.1
body.pieces,1,
""",
)


@dataclass(frozen=True, slots=True)
class Crash:
    """A fault of ours: what was raised, and the last place of ours on the way to it."""

    error: str
    where: str
    words: str

    @property
    def name(self) -> str:
        """The same for all mutants that stumble at the same place."""
        return f"{self.error} {self.where}"


class Endless(BaseException):
    """A mutant took too long. Not an `Exception`, so that nothing swallows it."""


class OddOutputError(Exception):
    """The output holds a number that is none."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of input: its share of all mutants, how one is made, and what is done with it.

    `attempt` is handed the mutant, and whether to go all the way.
    """

    name: str
    share: int
    suffix: str
    mutant: Callable[[np.random.Generator], bytes]
    attempt: Callable[[bytes, bool], None]


def crash_of(kind: Kind, mutant: bytes, *, deep: bool) -> Crash | None:
    """The crash that a mutant leads to; None where it is taken or refused in words."""
    try:
        with warnings.catch_warnings(), _limited(), np.errstate(all="warn", under="ignore"):
            warnings.simplefilter("error")
            kind.attempt(mutant, deep)
    except (ProblemsError, WriteRefusedError) as error:
        with suppress(UnicodeEncodeError):
            str(error).encode()
            return None
        return Crash("UnencodableWords", "", ascii(error))
    except (Exception, Endless) as error:  # noqa: BLE001 - whatever it is, it is what is looked for
        return Crash(type(error).__name__, _place(error), str(error)[:300])
    return None


def _place(error: BaseException) -> str:
    found, trace = "", error.__traceback__
    while trace is not None:
        name = trace.tb_frame.f_globals.get("__name__", "")
        if isinstance(name, str) and name.startswith("bodyshop."):
            found = f"{name}.{trace.tb_frame.f_code.co_name}:{trace.tb_lineno}"
        trace = trace.tb_next
    return found


@contextmanager
def _limited() -> Iterator[None]:
    """Stop what uses the processor for too long, where the system can."""
    if not hasattr(signal, "setitimer") or sys.gettrace() is not None:
        yield
        return

    def stop(_: int, __: FrameType | None) -> None:
        raise Endless(f"more than {MOST_S:g} s")

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, MOST_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, before)


# ---------------------------------------------------------------- what is done


def kinds(folder: Path) -> tuple[Kind, ...]:
    """Every kind of input. `folder` is for files on the way; what is in it does not matter afterwards."""
    folder.mkdir(parents=True, exist_ok=True)
    designs = [_text(file) for file in sorted(samples_folder().glob("*.toml"))]
    books = [_text(file) for file in sorted(rules_folder().glob("*.toml"))]
    books += 3 * [
        book for book in books if "\ninherits" not in book
    ]  # those that inherit take three times as long
    checked = check_car(open_car(find_design("kestrel")[0]))
    source = folder / "whole.trials"
    for each in folder.glob("whole.trials*"):
        each.unlink()
    with full_book(source) as book:
        tables = {name: data.decode("utf-8-sig") for name, data in export_tables(book).items()}
    whole = source.read_bytes()
    importing = _Importing(folder, source)
    return (
        Kind("design", 90, ".toml", lambda c: _toml(c, designs), _Designs().attempt),
        Kind(
            "rulebook", 30, ".toml", lambda c: _toml(c, _thin(c, books)), _Rulebooks(folder, checked).attempt
        ),
        *(
            Kind(f"import {name.removesuffix('.csv')}", share, ".csv", _tables([text]), importing.of(name))
            for name, text in tables.items()
            for share in (3 if name in ("car.csv", "mass-reading.csv", "track-run.csv") else 1,)
        ),
        Kind("values", 40, ".csv", _tables(_VALUES), _values(checked)),
        Kind("thrust", 40, ".csv", _tables(_THRUST), _thrust(folder)),
        Kind("book", 3, ".trials", lambda c: mutated_bytes(c, whole), _books(folder)),
    )


def _text(file: Path) -> str:
    return file.read_text(encoding="utf-8")


def _toml(chance: np.random.Generator, seeds: Sequence[str]) -> bytes:
    return mutated_toml(chance, seeds).encode("utf-8", "surrogatepass")


def _thin(chance: np.random.Generator, books: Sequence[str]) -> list[str]:
    return [thinned(chance, book, "rule") for book in books]


def _tables(seeds: Sequence[str]) -> Callable[[np.random.Generator], bytes]:
    return lambda chance: mutated_table(chance, seeds)


def _all_finite(data: object) -> None:
    """Go through what is written as JSON. Raises `OddOutputError`."""
    if isinstance(data, float) and not math.isfinite(data):
        raise OddOutputError(f"{data} in the JSON")
    if isinstance(data, Mapping):
        for key, value in data.items():
            try:
                _all_finite(value)
            except OddOutputError as error:
                raise OddOutputError(f"{error} at {key}") from None
    elif isinstance(data, list | tuple):
        for value in data:
            _all_finite(value)


def _no_odd_words(output: str, given: bytes) -> None:
    """Raises `OddOutputError` where the output tells of a number that is none, and the input did not."""
    odd = _NO_NUMBER.search(output)
    told = _as_text(given) if odd is not None else ""
    if odd is not None and not _NO_NUMBER.search(told) and not _TOO_LARGE.search(told):
        raise OddOutputError(output[max(0, odd.start() - 60) : odd.end() + 40])
    output.encode()  # half a character could not be written


def _as_text(given: bytes) -> str:
    """The input as far as it is one, in any encoding."""
    return given.replace(b"\0", b"").decode("utf-8", "replace")


def _told(problems: Sequence[Problem], given: bytes) -> None:
    _all_finite(to_builtins(unread_data("it.toml", problems)))
    _no_odd_words(problems_report(problems), given)


class _Designs:
    def __init__(self) -> None:
        self._shelf = RulebookCache()

    def attempt(self, mutant: bytes, deep: bool) -> None:
        text = mutant.decode("utf-8", "surrogatepass")
        try:
            opened = open_source(parse_source(text, "it.toml"), self._shelf)
            if not deep:
                return
            checked = check_car(opened)
        except ProblemsError as error:
            if deep:
                _told(error.problems, mutant)
            return
        _all_finite(to_builtins(checked_data(checked)))
        _no_odd_words(terminal_report(checked, full=True), mutant)


class _Rulebooks:
    def __init__(self, folder: Path, checked: Checked) -> None:
        self._file = folder / "it.toml"
        self._checked = checked

    def attempt(self, mutant: bytes, deep: bool) -> None:
        self._file.write_bytes(mutant)
        try:
            book = read_rulebook(self._file)
        except ProblemsError as error:
            if deep:
                _told(error.problems, mutant)
            return
        judgement = judge(book, self._checked.readings)
        if not deep:
            return
        from bodyshop.output.terminal.rulebook import rulebook_text

        _told(lint_rulebook(self._file), mutant)
        _no_odd_words(rulebook_text(book), mutant)
        shelf = RulebookCache(str(self._file))
        checked = check_car(open_source(self._checked.opened.source, shelf))
        assert checked.judgement.result is judgement.result or book.kit is not None
        _all_finite(to_builtins(checked_data(checked)))
        _no_odd_words(terminal_report(checked, full=True), mutant)


class _Importing:
    """Tables read into a book that holds one record of each kind; a fresh one after each that is taken."""

    def __init__(self, folder: Path, source: Path) -> None:
        self._place = folder / "into.trials"
        self._source = source
        self._book: Book | None = None

    def of(self, name: str) -> Callable[[bytes, bool], None]:
        kind = KINDS[name.removesuffix(".csv").replace("-", "_")]

        def attempt(mutant: bytes, deep: bool) -> None:
            try:
                import_csv(self._ready(), [(kind, mutant, name)], confirm=deep)
            except ProblemsError as error:
                _told(error.problems, mutant)
                return
            except BaseException:
                self._close()
                raise
            try:
                for each in export_tables(self._ready(), [kind]).values():
                    _no_odd_words(each.decode("utf-8-sig"), mutant)
                if deep:
                    _shown(self._ready(), mutant)
            finally:
                self._close()

        return attempt

    def _ready(self) -> Book:
        if self._book is None:
            for each in self._place.parent.glob("into.trials*"):
                each.unlink()
            shutil.copyfile(self._source, self._place)
            self._book = Book.open(self._place)
        return self._book

    def _close(self) -> None:
        if self._book is not None:
            self._book.close()
        self._book = None


def _shown(book: Book, given: bytes) -> None:
    """What the records of a book mean, and how its race day stands, in words and as data."""
    from bodyshop.output.json.findings import meaning_data
    from bodyshop.output.json.raceday import day_data
    from bodyshop.output.terminal.findings import meaning_text
    from bodyshop.output.terminal.raceday import heats_text
    from bodyshop.records.findings.meaning import MeaningOptions, meaning
    from bodyshop.records.raceday.reading import read_day

    for car in book.cars():
        with suppress(ProblemsError):
            told = meaning(book, car.record.name, MeaningOptions("kestrel"))
            _all_finite(to_builtins(meaning_data(told)))
            _no_odd_words(meaning_text(told, width=80), given)
    with suppress(ProblemsError):
        state = read_day(book)
        _all_finite(to_builtins(day_data(state)))
        _no_odd_words(heats_text(state, state.heats, 80), given)


def _values(checked: Checked) -> Callable[[bytes, bool], None]:
    from bodyshop.output.json.inspection import inspected_data
    from bodyshop.output.terminal.inspection import inspected_text
    from bodyshop.records.inspection import inspect, read_values_csv

    def attempt(mutant: bytes, deep: bool) -> None:
        try:
            found = read_values_csv(checked, mutant, "it.csv")
        except ProblemsError as error:
            _told(error.problems, mutant)
            return
        inspected = inspect(checked, found)
        if deep:
            _all_finite(to_builtins(inspected_data(inspected)))
            _no_odd_words(inspected_text(inspected), mutant)

    return attempt


def _thrust(folder: Path) -> Callable[[bytes, bool], None]:
    from bodyshop.physics.cartridge import GasDraw
    from bodyshop.physics.thrust_file import read_thrust

    file = folder / "thrust.csv"

    def attempt(mutant: bytes, _: bool) -> None:
        file.write_bytes(mutant)
        try:
            measured = read_thrust(file)
        except ProblemsError as error:
            _told(error.problems, mutant)
            return
        doubts = measured.doubts(8.0)
        if doubts:
            _told(doubts, mutant)
        one = np.ones(2)
        push = measured.push(GasDraw(**dict.fromkeys(GasDraw.__dataclass_fields__, one)))
        for figures in (push.time_s, push.force_n, push.gone_g):
            if not np.isfinite(figures).all():
                raise OddOutputError("the push is not finite")

    return attempt


def _books(folder: Path) -> Callable[[bytes, bool], None]:
    place, target = folder / "hurt.trials", folder / "saved.trials"

    def attempt(mutant: bytes, deep: bool) -> None:
        for each in (*folder.glob("hurt.trials*"), *folder.glob("saved.trials*")):
            each.unlink()
        place.write_bytes(mutant)
        try:
            with Book.open(place) as book:
                for data in export_tables(book).values():
                    json.dumps(data.decode("utf-8-sig"))
        except ProblemsError as error:
            _told(error.problems, mutant)
        if deep:
            salvage(place, target)

    return attempt
