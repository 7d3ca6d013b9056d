"""The addresses of the trial book's pages."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from fastapi import FastAPI, Request
from fastapi.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response

from bodyshop.bench.folder import Folder
from bodyshop.bench.given import Given, read_object, table_of
from bodyshop.bench.page import page_html
from bodyshop.bench.trialbook.books import Books
from bodyshop.bench.trialbook.cars import add_designs, cars_data
from bodyshop.bench.trialbook.foretelling import foretell, freeze_all, held_data, meaning_data
from bodyshop.bench.trialbook.inspecting import inspect_deed, inspection_data, last_sheet
from bodyshop.bench.trialbook.racing import DEEDS, race_data, race_deed
from bodyshop.bench.trialbook.records import add_record, forms_data, records_data, strike_record
from bodyshop.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.raceday.gathering import day_files
from bodyshop.raceday.reading import read_day
from bodyshop.report.plain_data import Data
from bodyshop.report.words import capital
from bodyshop.stock.sheets import sheet_sizes
from bodyshop.trials.book import Book
from bodyshop.trials.model import GATE_STEP_S, Event

__all__ = ["add_book_routes"]

_TYPES: Final = {".pdf": "application/pdf", ".csv": "text/csv; charset=utf-8"}
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
        given = await _given(request)
        return await _answered(lambda: {"file": books.begin(_event(given))})

    @app.get("/book/data")
    async def data(file: str, part: str, car: str = "") -> Response:
        return await _answered(lambda: _part(books.book(file), part, car))

    @app.post("/book/do")
    async def do(request: Request, file: str) -> Response:
        given = await _given(request)
        return await _answered(lambda: _do(books.book(file), folder, given))

    @app.get("/book/papers/{name}")
    async def paper(name: str, file: str) -> Response:
        def made() -> bytes | None:
            book = books.book(file)
            files, _ = day_files(book, read_day(book), sheet_sizes()["a4"], date=_today())
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
        return PlainTextResponse(_words(error), status_code=422)
    if found is None:
        return PlainTextResponse("There is no such paper yet.", status_code=404)
    plain = name.encode("ascii", "ignore").decode("ascii")
    return Response(
        found,
        media_type=_TYPES.get(Path(name).suffix, "application/octet-stream"),
        headers={"content-disposition": f'attachment; filename="{plain}"'},
    )


def _today() -> str:
    return datetime.now(tz=UTC).astimezone().date().isoformat()


async def _given(request: Request) -> Given:
    return read_object(await request.body())


async def _answered(work: Callable[[], Data]) -> Response:
    try:
        return JSONResponse(await asyncio.to_thread(work))
    except ProblemsError as error:
        keys = [problem.key for problem in error.problems if problem.key]
        return JSONResponse({"refused": _words(error), "keys": keys}, status_code=422)
    except WriteRefusedError as error:
        return JSONResponse({"refused": f"{error.path}: {error.reason}"}, status_code=409)


def _words(error: ProblemsError) -> str:
    return " ".join(f"{capital(problem.sentence)}." for problem in error.problems[:6])


def _event(given: Given) -> Event:
    name = " ".join(str(given.get("name", "")).split())
    if not name:
        raise ProblemsError([Problem("book-event", "the event has no name", key="name")])
    faults: list[Problem] = []
    track, lanes = str(given.get("track", "")).strip().replace(",", "."), str(given.get("lanes", "2")).strip()
    metres = float(track) if track.replace(".", "", 1).isdecimal() and track.isascii() else 0.0
    if not 1.0 <= metres <= 1000.0:
        faults.append(Problem("book-event", "the track has no length", key="track", expected="metres, as 20"))
    if not (lanes.isascii() and lanes.isdecimal() and len(lanes) == 1 and int(lanes) >= 1):
        faults.append(Problem("book-event", f'"{lanes[:20]}" lanes', key="lanes", expected="1 to 9"))
    timing = str(given.get("timing", "")).strip().replace(",", ".") or str(GATE_STEP_S)
    if timing not in _TIMINGS:
        expected = f"one of {', '.join(_TIMINGS)} s"
        faults.append(Problem("book-event", f'"{timing[:20]}" timing', key="timing", expected=expected))
    if faults:
        raise ProblemsError(faults)
    book = " ".join(str(given.get("rulebook", "")).split())
    return Event(name, book, track_mm=1e3 * metres, lanes=int(lanes), timing_s=float(timing))


def _part(book: Book, part: str, car: str) -> Data:
    parts: dict[str, Callable[[], Data]] = {
        "cars": lambda: cars_data(book),
        "records": lambda: records_data(book, car),
        "meaning": lambda: meaning_data(book, car),
        "inspection": lambda: inspection_data(book, car),
        "held": lambda: held_data(book),
        "race": lambda: race_data(book),
        "stamp": lambda: {"stamp": list(book.stamp())},
    }
    if part not in parts:
        raise ProblemsError([Problem("bench-part", "there is no such part of the book", found=part[:40])])
    return parts[part]()


def _do(book: Book, folder: Folder, given: Given) -> Data:
    deed = str(given.get("deed", ""))
    if deed in DEEDS:
        return race_deed(book, deed, given)
    does: dict[str, Callable[[], Data]] = {
        "add_designs": lambda: {"done": add_designs(book, folder)},
        "add": lambda: _add(book, given),
        "strike": lambda: _strike(book, given),
        "inspect": lambda: inspect_deed(book, given),
        "foretell": lambda: foretell(book, str(given.get("car", "")), given),
        "freeze": lambda: {"done": freeze_all(book, given)},
    }
    if deed not in does:
        raise ProblemsError([Problem("bench-deed", "there is no such deed", found=deed[:40])])
    return does[deed]()


def _add(book: Book, given: Given) -> Data:
    fields = {str(name): str(value) for name, value in table_of(given, "fields").items()}
    kind, car = str(given.get("kind", "")), str(given.get("car", ""))
    return add_record(book, kind, car, fields, confirmed=bool(given.get("confirmed")))


def _strike(book: Book, given: Given) -> Data:
    number = str(given.get("id", ""))
    if not (number.isascii() and number.isdecimal() and len(number) < _MOST_DIGITS):
        raise ProblemsError([Problem("book-record", "there is no such record", found=number[:20])])
    strike_record(book, str(given.get("kind", "")), int(number), str(given.get("because", "")))
    return {"done": "Struck; it is kept and shown."}
