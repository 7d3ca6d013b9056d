"""The bench's web server, its pages and the page it starts with."""

from __future__ import annotations

import asyncio
import gc
import logging
import os
import shutil
import socket
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from datetime import UTC, datetime
from html import escape
from pathlib import Path
from typing import Any, Final

import uvicorn
from fastapi import FastAPI, Request, WebSocket, WebSocketDisconnect
from fastapi.responses import HTMLResponse, PlainTextResponse, Response
from fastapi.staticfiles import StaticFiles
from nicegui import __version__ as parts_version
from nicegui import ui
from nicegui.dependencies import esm_modules

from bodyshop.app.bench.answers import answer, answered, refusal_words
from bodyshop.app.bench.bench import Bench
from bodyshop.app.bench.guard import BODY_LIMIT, ConnectionGate, Guard, Key
from bodyshop.app.bench.jobs import Job, JobKind
from bodyshop.app.bench.messages import BeginDesignForm, CopyDesignForm, MalformedError, read_as, read_message
from bodyshop.app.bench.page import FOLDER as PAGE
from bodyshop.app.bench.page import page_html
from bodyshop.app.bench.tab import Tab
from bodyshop.app.bench.trialbook import add_book_routes
from bodyshop.app.bench.wordlist import wordlist
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.bundle.file_kinds import kind_of
from bodyshop.output.guide.pages import TOPICS, guide_html, guide_title
from bodyshop.output.json.document import encoded

__all__ = ["StartPage", "bound_socket", "make_app", "serve"]


_PAGE: Final = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0;url={address}">
<title>To the bench</title>
</head>
<body><p><a href="{address}">To the bench</a></p></body>
</html>
"""


class StartPage:
    """A file that leads to `address`, in a folder of its own that nobody else can look into.

    Raises `OSError` where there is no room for it.
    """

    def __init__(self, address: str) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="bodyshop-bench-"))
        self.file = self._folder / "bench.html"
        try:
            descriptor = os.open(self.file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "w", encoding="utf-8") as stream:
                stream.write(_PAGE.format(address=escape(address)))
        except OSError:
            self.remove()
            raise

    @property
    def uri(self) -> str:
        """What to hand to a browser."""
        return self.file.as_uri()

    def remove(self) -> None:
        """Take it away; nothing happens where it is gone."""
        shutil.rmtree(self._folder, ignore_errors=True)


# Before it is imported: where it would keep notes of its own. There is no such place, and it keeps none.
os.environ["NICEGUI_STORAGE_PATH"] = str(Path(os.devnull) / "none")


_PARTS: Final = "/parts"
_DRAWING: Final = Path(__file__).resolve().parent / "drawing" / "page"
_FONTS: Final = Path(__file__).resolve().parents[2] / "drawing" / "fonts"
_NEEDED: Final = ("nicegui-codemirror", "nicegui-scene")
"""The parts of NiceGUI that the page loads: the text editor and the view in space."""

_GONE: Final = (WebSocketDisconnect, RuntimeError, OSError)
"""What a web socket raises when the page on it has gone."""

_STILL: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; sandbox"
"""What a paper shown in the page may do: be looked at."""


def bound_socket(port: int | None) -> socket.socket:
    """A socket on the loopback address, at `port` or a free one.

    Raises:
        ProblemsError: the port is taken, or may not be had.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":  # there it would let two programs share a port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("127.0.0.1", port or 0))
    except OSError as error:
        listener.close()
        reason = "is in use" if not isinstance(error, PermissionError) else "may not be used"
        problem = Problem(
            "bench-port", f"port {port} {reason}", expected="another --port, or none for one that is free"
        )
        raise ProblemsError([problem]) from None
    listener.set_inheritable(False)
    return listener


def make_app(bench: Bench, key: Key, came_in: Callable[[], None] = lambda: None) -> Guard:
    """The whole application behind its guard, which calls `came_in` when the key of the address was used."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        bench.close()

    app = FastAPI(openapi_url=None, docs_url=None, redoc_url=None, lifespan=lifespan)
    app.add_exception_handler(MalformedError, _malformed)
    _pages(app, bench)
    _files(app, bench)
    _papers(app, bench)
    _wire(app, bench)
    add_book_routes(app, bench.books, bench.folder)
    app.mount("/page", StaticFiles(directory=PAGE), name="page")
    app.mount("/fonts", StaticFiles(directory=_FONTS), name="fonts")
    if _DRAWING.is_dir():
        app.mount("/drawing", StaticFiles(directory=_DRAWING), name="drawing")
    ui.run_with(
        app, mount_path=_PARTS, tailwind=False, show_welcome_message=False, gzip_middleware_factory=None
    )
    return Guard(app, key, came_in)


async def _malformed(_request: Request, error: Exception) -> Response:
    """The answer to what no page of ours sends."""
    return answer({"refused": f"The bench did not understand its page: {error}."}, 400)


def _modules() -> dict[str, str]:
    """Where the page finds the modules that it imports by name."""
    found: dict[str, str] = {}
    for key, module in esm_modules.items():
        if module.name in _NEEDED:
            base = f"{_PARTS}/_nicegui/{parts_version}/esm/{key}"
            found |= {module.name: f"{base}/index.js", f"{module.name}/": f"{base}/"}
    return found


def _guide_list(topic: str) -> str:
    rows = (
        f'<li><a href="/guide/{each}"{" aria-current=page" if each == topic else ""}>'
        f"{escape(guide_title(each))}</a></li>"
        for each in TOPICS
    )
    return f"<ul>{''.join(rows)}</ul>"


def _pages(app: FastAPI, bench: Bench) -> None:
    modules = _modules()

    @app.get("/")
    async def first(request: Request) -> Response:
        return await (design(request, bench.first) if bench.first else gallery(request))

    @app.get("/guide")
    @app.get("/guide/{topic}")
    async def guide(request: Request, topic: str = TOPICS[0]) -> Response:
        try:
            parts = {"@LIST@": _guide_list(topic), "@TEXT@": guide_html(topic)}
        except ProblemsError as error:
            return PlainTextResponse(refusal_words(error), status_code=404)
        return HTMLResponse(page_html("guide", guide_title(topic), request.state.nonce, {}, parts))

    @app.get("/gallery")
    async def gallery(request: Request) -> Response:
        return HTMLResponse(page_html("gallery", "", request.state.nonce, modules))

    @app.get("/design")
    async def design(request: Request, file: str = "") -> Response:
        try:
            name = bench.session(file).filed.name
        except ProblemsError as error:
            return PlainTextResponse(refusal_words(error), status_code=404)
        return HTMLResponse(page_html("design", name, request.state.nonce, modules))

    @app.get("/words")
    async def words() -> Response:
        return answer(wordlist())


def _files(app: FastAPI, bench: Bench) -> None:
    @app.get("/designs")
    async def designs() -> Response:
        return await answered(lambda: asyncio.to_thread(bench.gallery.data))

    @app.post("/copy")
    async def copy(request: Request) -> Response:
        given = read_as(await request.body(), CopyDesignForm)
        return await answered(lambda: _named(bench.copy(given.file, given.target)))

    @app.post("/begin")
    async def begin(request: Request) -> Response:
        given = read_as(await request.body(), BeginDesignForm)
        return await answered(lambda: _named(bench.begin(given.name, given.style, given.unit)))

    @app.post("/bring")
    async def bring(request: Request, name: str = "") -> Response:
        data = await request.body()
        return await answered(lambda: _named(bench.bring(name, data)))


async def _named(name: str) -> dict[str, str]:
    return {"file": name}


def _papers(app: FastAPI, bench: Bench) -> None:
    async def job_files(kind: str, file: str, sheet: str) -> dict[str, bytes]:
        if kind not in ("templates", "buildsheet", "report", "solid") or sheet not in ("", *sheet_sizes()):
            raise ProblemsError([Problem("bench-paper", "there is no such paper")])
        session = bench.session(file)
        day = datetime.now(tz=UTC).astimezone().date().isoformat()
        answer = await bench.runner.kept(
            Job(
                JobKind(kind),
                session.document.text,
                str(session.filed.path),
                root=str(bench.folder.root),
                sheet=sheet,
                day=day,
            )
        )
        if answer.problems:
            raise ProblemsError(answer.problems)
        return dict(answer.files)

    @app.get("/papers/{kind}")
    async def listed(kind: str, file: str, sheet: str = "") -> Response:
        async def names() -> dict[str, Any]:
            files = await job_files(kind, file, sheet)
            return {
                "files": [
                    {"name": name, "size": len(data), "label": kind_of(name).label}
                    for name, data in files.items()
                ],
                "sizes": [{"id": size.id, "name": size.name} for size in sheet_sizes().values()],
            }

        return await answered(names)

    @app.get("/papers/{kind}/{name}")
    async def paper(kind: str, name: str, file: str, sheet: str = "", keep: str = "") -> Response:
        try:
            data = (await job_files(kind, file, sheet)).get(name)
        except ProblemsError as error:
            return PlainTextResponse(refusal_words(error), status_code=422)
        if data is None:
            return PlainTextResponse("There is no such paper.", status_code=404)
        suffix = Path(name).suffix
        headers = {"content-disposition": f'{"attachment" if keep else "inline"}; filename="{_ascii(name)}"'}
        if suffix in (".svg", ".html"):
            headers["content-security-policy"] = _STILL
        return Response(data, media_type=kind_of(name).media_type, headers=headers)


def _ascii(name: str) -> str:
    return name.encode("ascii", "ignore").decode("ascii") or "paper"


def _wire(app: FastAPI, bench: Bench) -> None:
    @app.websocket("/wire")
    async def wire(link: WebSocket, file: str = "") -> None:
        await link.accept()
        try:
            session = bench.session(file)
        except ProblemsError as error:
            await link.send_text(encoded({"kind": "lost", "words": refusal_words(error)}).decode("utf-8"))
            await link.close()
            return

        async def tell(message: Any) -> None:
            await link.send_text(encoded(message).decode("utf-8"))

        tab = Tab(tell)
        try:
            await session.join(tab)
            while True:
                message = await link.receive()
                if message["type"] == "websocket.disconnect":
                    break
                try:
                    await session.hear(tab, read_message(message.get("text") or ""))
                except ValueError:
                    await tell(
                        {"kind": "note", "words": "The bench did not understand its page.", "bad": True}
                    )
        except _GONE:
            pass
        finally:
            session.leave(tab)


def serve(
    bench: Bench,
    listener: socket.socket,
    key: Key,
    ready: Callable[[], None],
    came_in: Callable[[], None] = lambda: None,
) -> None:
    """Serve until the keyboard or the system stops it. `ready` is called once pages can be asked for,
    `came_in` when the key of the address was used.

    Raises:
        KeyboardInterrupt: it was stopped from the keyboard, after all was put in order.
    """
    logging.getLogger("nicegui").setLevel(logging.ERROR)
    config = uvicorn.Config(
        make_app(bench, key, came_in),
        http=ConnectionGate,
        log_level="critical",
        access_log=False,
        server_header=False,
        ws_max_size=BODY_LIMIT,
        ws_per_message_deflate=False,  # it stays on this machine, and squeezing takes longer than sending
        timeout_graceful_shutdown=2,
        lifespan="on",
    )
    _Server(config, ready).run(sockets=[listener])


class _Server(uvicorn.Server):
    """A server that says when it is ready."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, and say so."""
        await super().startup(sockets)
        if self.started:
            # What is loaded by now stays: looking it through again and again for refuse would hold up a drag.
            gc.collect()
            gc.freeze()
            with suppress(OSError):
                self._ready()
