"""The trial book's pages: what they send, which book, which car."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from fastapi import FastAPI, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, Response

from bodyshop.app.bench import messages
from bodyshop.app.bench.answers import answered, refusal_words
from bodyshop.app.bench.folder import Folder
from bodyshop.app.bench.messages import Data
from bodyshop.app.bench.page import page_html
from bodyshop.app.bench.trialbook.foretelling import foretell, freeze_all
from bodyshop.app.bench.trialbook.inspecting import inspect_action, inspection_data, last_sheet
from bodyshop.app.bench.trialbook.racing import race_action, race_data
from bodyshop.app.bench.trialbook.records import add_record, forms_data, records_data, strike_record
from bodyshop.drawing.sheet.paper import usual_sheet
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.bundle.file_kinds import kind_of
from bodyshop.output.json.findings import comparison_data, meaning_data
from bodyshop.output.papers.raceday.files import day_files
from bodyshop.records.book.book import DEFAULT_BOOK, Book
from bodyshop.records.book.model import (
    GATE_STEP_S,
    Event,
    FrozenPrediction,
    Inspection,
    MassReading,
    RunEnd,
    TrackRun,
    WeighingStage,
)
from bodyshop.records.classroom import class_files
from bodyshop.records.findings.cars import car_record
from bodyshop.records.findings.meaning import meaning
from bodyshop.records.findings.prediction_check import compare_book
from bodyshop.records.raceday.reading import event_unit, read_day
from bodyshop.rules.checking import open_car

__all__ = ["Books", "SUFFIX", "add_book_routes", "add_designs", "cars_data"]


SUFFIX: Final = Path(DEFAULT_BOOK).suffix
_MOST: Final = 100


class Books:
    """Books at the top of the folder. Each is opened once, and let go of at the end."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._open: dict[Path, Book] = {}
        self._lock = threading.Lock()

    def names(self) -> list[str]:
        """File names of the books, in order."""
        found = (path for path in self._folder.root.glob(f"*{SUFFIX}") if path.is_file())
        return sorted(path.name for path in found if self._folder.holds(path))[:_MOST]

    def book(self, name: str) -> Book:
        """A book of the folder by its file name.

        Raises:
            ProblemsError: there is none of that name, or it cannot be opened.
            WriteRefusedError: it is of an older form, and cannot be brought up to date.
        """
        if name not in self.names():
            raise ProblemsError(
                [Problem("bench-name", "there is no such trial book in this folder", found=name[:80])]
            )
        path = self._folder.root / name
        with self._lock:
            found = self._open.get(path)
            if found is None:
                found = self._open[path] = Book.open(path)
            return found

    def begin(self, event: Event) -> str:
        """Make a book for an event; its file name.

        Raises:
            ProblemsError: the event makes no sense.
            WriteRefusedError: there is such a file already.
        """
        stem = safe_stem(event.name).lower() if event.name.strip() else Path(DEFAULT_BOOK).stem
        name = f"{stem}{SUFFIX}"
        Book.create(self._folder.root / name, event).close()
        return name

    def close(self) -> None:
        """Let go of all books."""
        with self._lock:
            for book in self._open.values():
                book.close()
            self._open.clear()


def cars_data(book: Book) -> Data:
    """Every car with the newest of what matters: inspection, mass, best run, prediction.

    Raises:
        ProblemsError: the book is damaged.
    """
    event = book.event.record
    inspected = {entry.record.car: entry for entry in book.records(Inspection)}
    weighed = {
        entry.record.car: entry.record.mass_g
        for entry in book.records(MassReading)
        if entry.record.stage is WeighingStage.COMPLETE
    }
    predicted = {entry.record.car: entry.record for entry in book.records(FrozenPrediction)}
    best: dict[str, float] = {}
    for run in book.records(TrackRun):
        time = run.record.time_s
        if run.record.end is RunEnd.FINISHED and time:
            best[run.record.car] = min(time, best.get(run.record.car, time))
    return {
        "event": event.name,
        "rulebook": event.rulebook,
        "track_m": None if event.track_mm is None else event.track_mm / 1e3,
        "lanes": event.lanes,
        "cars": [
            {
                "name": entry.record.name,
                "bench": entry.record.bench,
                "design": entry.record.design_file,
                "mark": entry.record.fingerprint,
                "inspection": None
                if entry.record.name not in inspected
                else {
                    "result": inspected[entry.record.name].record.result,
                    "passes": inspected[entry.record.name].record.passes,
                    "at": inspected[entry.record.name].at.strftime("%Y-%m-%d %H:%M"),
                },
                "mass_g": weighed.get(entry.record.name),
                "best_s": best.get(entry.record.name),
                "predicted": _predicted(predicted.get(entry.record.name)),
            }
            for entry in book.cars()
        ],
    }


def _predicted(record: FrozenPrediction | None) -> Data:
    return None if record is None else [record.time_s, record.time_low_s, record.time_high_s]


def add_designs(book: Book, folder: Folder) -> str:
    """Take every design of the folder whose car is not in the book yet into it; what was done, in a sentence.

    Raises:
        ProblemsError: the folder is gone.
        WriteRefusedError: the book cannot be written.
    """
    known = {entry.record.name.casefold() for entry in book.cars()}
    added: list[str] = []
    left: list[str] = []
    with book.writing() as writer:
        for found in class_files(folder.root).files:
            path = folder.root / found.shown
            if not folder.holds(path):
                continue
            try:
                opened = open_car(path)
            except ProblemsError as error:
                left.append(f"{found.shown}: {error.problems[0].sentence}")
                continue
            record = car_record(opened, found.shown)
            name = record.name
            if name.casefold() in known:
                continue
            writer.add(record)
            known.add(name.casefold())
            added.append(name)
    told = f"Taken in: {', '.join(added)}." if added else "No new car in the folder."
    return told + (f" Left out: {'; '.join(left[:5])}." if left else "")


_MOST_DIGITS: Final = 19
"""The numbers of records fit into 64 bits."""

_TIMINGS: Final = ("0.1", "0.01", "0.001")
"""Steps in s that timing shows, as the page offers them: stop-watches, and gates."""


def add_book_routes(app: FastAPI, books: Books, folder: Folder) -> None:
    """Add pages and calls to the application."""

    @app.get("/book")
    async def page(request: Request) -> Response:
        return HTMLResponse(page_html("book", "", request.state.nonce, {}))

    @app.get("/books")
    async def listed() -> Response:
        return await _answered(lambda: {"books": books.names(), "forms": forms_data()})

    @app.post("/books")
    async def begun(request: Request) -> Response:
        given = messages.read_as(await request.body(), messages.BeginBookForm)
        return await _answered(lambda: {"file": books.begin(_event(given))})

    @app.get("/book/data")
    async def data(file: str, part: str, car: str = "") -> Response:
        return await _answered(lambda: _part(books.book(file), part, car))

    @app.post("/book/do")
    async def do(request: Request, file: str) -> Response:
        given = messages.read_deed(await request.body())
        return await _answered(lambda: _do(books.book(file), folder, given))

    @app.get("/book/papers/{name}")
    async def paper(name: str, file: str) -> Response:
        def made() -> bytes | None:
            book = books.book(file)
            files, _ = day_files(book, read_day(book), usual_sheet(event_unit(book)), date=_today())
            return files.get(name)

        return await _paper(made, name)

    @app.get("/book/inspection.pdf")
    async def sheet(file: str, car: str) -> Response:
        def made() -> bytes | None:
            book = books.book(file)
            return last_sheet(book, car, book.event.record.owner, _today())

        return await _paper(made, "as-built.pdf")


async def _paper(made: Callable[[], bytes | None], name: str) -> Response:
    try:
        found = await asyncio.to_thread(made)
    except ProblemsError as error:
        return PlainTextResponse(refusal_words(error), status_code=422)
    if found is None:
        return PlainTextResponse("There is no such paper yet.", status_code=404)
    plain = name.encode("ascii", "ignore").decode("ascii")
    return Response(
        found,
        media_type=kind_of(name).media_type,
        headers={"content-disposition": f'attachment; filename="{plain}"'},
    )


def _today() -> str:
    return datetime.now(tz=UTC).astimezone().date().isoformat()


async def _answered(work: Callable[[], Data]) -> Response:
    return await answered(lambda: asyncio.to_thread(work))


def _event(given: messages.BeginBookForm) -> Event:
    name = " ".join(given.name.split())
    if not name:
        raise ProblemsError([Problem("book-event", "the event has no name", key="name")])
    faults: list[Problem] = []
    track, lanes = given.track.strip().replace(",", "."), given.lanes.strip()
    metres = float(track) if track.replace(".", "", 1).isdecimal() and track.isascii() else 0.0
    if not 1.0 <= metres <= 1000.0:
        faults.append(Problem("book-event", "the track has no length", key="track", expected="metres, as 20"))
    if not (lanes.isascii() and lanes.isdecimal() and len(lanes) == 1 and int(lanes) >= 1):
        faults.append(Problem("book-event", f'"{lanes[:20]}" lanes', key="lanes", expected="1 to 9"))
    timing = given.timing.strip().replace(",", ".") or str(GATE_STEP_S)
    if timing not in _TIMINGS:
        expected = f"one of {', '.join(_TIMINGS)} s"
        faults.append(Problem("book-event", f'"{timing[:20]}" timing', key="timing", expected=expected))
    if faults:
        raise ProblemsError(faults)
    book = " ".join(given.rulebook.split())
    return Event(name, book, track_mm=1e3 * metres, lanes=int(lanes), timing_s=float(timing))


def _part(book: Book, part: str, car: str) -> Data:
    parts: dict[str, Callable[[], Data]] = {
        "cars": lambda: cars_data(book),
        "records": lambda: records_data(book, car),
        "meaning": lambda: meaning_data(meaning(book, car)),
        "inspection": lambda: inspection_data(book, car),
        "held": lambda: comparison_data(compare_book(book)),
        "race": lambda: race_data(book),
        "stamp": lambda: {"stamp": list(book.stamp())},
    }
    if part not in parts:
        raise ProblemsError([Problem("bench-part", "there is no such part of the book", found=part[:40])])
    return parts[part]()


def _do(book: Book, folder: Folder, given: messages.BookDeed | messages.RaceDeed) -> Data:
    match given:
        case messages.AddDesignsDeed():
            told: Data = {"done": add_designs(book, folder)}
        case messages.AddRecordDeed(kind=kind, car=car, fields=fields, confirmed=confirmed):
            told = add_record(book, kind, car, fields, confirmed=confirmed)
        case messages.StrikeDeed():
            told = _strike(book, given)
        case messages.InspectDeed():
            told = inspect_action(book, given)
        case messages.ForetellDeed(car=car):
            told = foretell(book, car, given)
        case messages.FreezeDeed():
            told = {"done": freeze_all(book, given)}
        case _:
            told = race_action(book, given)
    return told


def _strike(book: Book, given: messages.StrikeDeed) -> Data:
    number = str(given.id)
    if not (number.isascii() and number.isdecimal() and len(number) < _MOST_DIGITS):
        raise ProblemsError([Problem("book-record", "there is no such record", found=number[:20])])
    strike_record(book, given.kind, int(number), given.because)
    return {"done": "Struck; it is kept and shown."}
