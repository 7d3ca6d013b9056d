"""Who may talk to the bench: addresses, key, time-outs, number of connections."""

from __future__ import annotations

import asyncio
import re
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final
from urllib.parse import parse_qs

from uvicorn.config import Config
from uvicorn.protocols.http.auto import AutoHTTPProtocol
from uvicorn.server import ServerState

__all__ = ["BODY_LIMIT", "ConnectionGate", "ConnectionLimits", "Guard", "Key"]


_FULL: Final = (
    b"HTTP/1.1 503 Service Unavailable\r\ncontent-type: text/plain; charset=utf-8\r\n"
    b"content-length: 29\r\nconnection: close\r\n\r\nThe bench has no place left.\n"
)


@dataclass(frozen=True, slots=True)
class ConnectionLimits:
    """`head_s` is the time for the head of a request, `head_bytes` its greatest length, `places` how many
    connections there may be at once: a browser holds up to six, and one for each tab.
    """

    head_s: float = 10.0
    head_bytes: int = 64_000
    places: int = 128


class ConnectionGate(AutoHTTPProtocol):  # type: ignore[misc, valid-type]
    """One connection of the server, watched until a request is there."""

    patience = ConnectionLimits()

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._late: asyncio.TimerHandle | None = None
        self._before: object = None
        self._got = 0
        self._came = 0.0
        self._is_out = False

    # ------------------------------------------------------------ what the connection tells

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Let a caller in, if need be in place of one that has not asked for anything."""
        if len(self.connections) >= self.patience.places and not self._make_room():
            self._is_out = True
            assert isinstance(transport, asyncio.WriteTransport)  # noqa: S101 - as for every stream
            transport.write(_FULL)
            transport.close()
            return
        super().connection_made(transport)
        self._came = self.loop.time()
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take what came, and wait for the rest of a head no longer than it may take."""
        if self._is_out:
            return
        if self._late is None and not self._is_asking():
            self._wait()
        super().data_received(data)
        if self._late is None:
            return
        self._got += len(data)
        if self.cycle is not self._before or not self._is_ours():
            self._stop_waiting()
        elif self._got > self.patience.head_bytes:
            self._put_out()

    def eof_received(self) -> None:
        """Nothing more comes."""
        if not self._is_out:
            super().eof_received()

    def connection_lost(self, exc: Exception | None) -> None:
        """It is over."""
        self._stop_waiting()
        if not self._is_out:
            super().connection_lost(exc)

    # ------------------------------------------------------------ waiting for a head

    def _is_asking(self) -> bool:
        """Whether a request is here that has not been answered yet."""
        return self.cycle is not None and not self.cycle.response_complete

    def _is_ours(self) -> bool:
        """Whether the connection is one of requests still, and has not become a web socket."""
        return bool(self.transport.get_protocol() is self)

    def _wait(self) -> None:
        self._before, self._got = self.cycle, 0
        self._late = self.loop.call_later(self.patience.head_s, self._put_out)

    def _stop_waiting(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _put_out(self) -> None:
        self._stop_waiting()
        if self._is_ours():
            self.connections.discard(self)
            self.transport.abort()

    def _make_room(self) -> bool:
        """Put out whoever has waited longest without asking for anything; False where nobody has."""
        silent = [
            each for each in self.connections if isinstance(each, ConnectionGate) and each.cycle is None
        ]
        if not silent:
            return False
        min(silent, key=lambda each: each._came)._put_out()  # noqa: SLF001 - one of its own kind
        return True


Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

BODY_LIMIT: Final = 4_500_000
"""Largest request, bytes: a design of the greatest size that is read, every sign of it spelt out."""

_SAFE: Final = frozenset(("GET", "HEAD"))
_PARTS: Final = "/parts/"
_OPEN_PART: Final = re.compile(r"/parts/_nicegui/[^/]+/esm/[^/]+/.+")
"""Modules for the page. Nothing else of the parts can be had, their own pages and sockets least of all."""

_LONGEST_LENGTH: Final = 12
_TOO_LARGE: Final = "This is larger than anything the bench takes.\n"
_SLOW: Final = "This took too long to come.\n"
_NO_KEY: Final = (
    "This is bodyshop's bench. Open it by the address that it printed when it was started: "
    "that holds the key of this run.\n"
)
_GO_ON: Final = (
    b'<!doctype html><html lang="en"><meta charset="utf-8"><meta http-equiv="refresh" content="0;url=/">'
    b'<title>To the bench</title><p><a href="/">To the bench</a></p></html>'
)
_BODY_S: Final = 30.0
"""The time in which a request has to be here."""

_DISCARD_S: Final = 3.0
_DISCARD_MOST: Final = 64_000_000
"""How long, and how many bytes in all, the rest of a body that is too large is taken and thrown away."""

_POLICY: Final = (
    "default-src 'none'; script-src 'self' 'nonce-{nonce}'; style-src 'self' 'nonce-{nonce}'; "
    "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; frame-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)


class Key:
    """The secret of one run, and the cookie that holds it. Cookies know no ports: its name has this one's."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.token = secrets.token_urlsafe(24)
        self.cookie = f"bodyshop-bench-{port}"
        self.hosts = frozenset(f"{name}:{port}" for name in ("127.0.0.1", "localhost"))

    @property
    def address(self) -> str:
        """The page's address with the key."""
        return f"http://127.0.0.1:{self.port}/?key={self.token}"

    def fits(self, token: str) -> bool:
        """Whether this is the key, compared in a time that tells nothing of it."""
        return secrets.compare_digest(token.encode("utf-8"), self.token.encode("utf-8"))


class Guard:
    """Stands before an application and lets through only what the page of this run asks for."""

    def __init__(self, app: App, key: Key, came_in: Callable[[], None] = lambda: None) -> None:
        """`came_in` is called whenever the key of an address has been put into a cookie."""
        self._app = app
        self._key = key
        self._came_in = came_in

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or pass on one request."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await _refuse(scope, receive, send, *refusal)
            return
        if scope["type"] == "websocket":
            await self._app(scope, receive, send)
            return
        token = _asked_key(scope)
        if token is not None:
            await self._let_in(scope, send)
            self._came_in()
            return
        nonce = secrets.token_urlsafe(16)
        scope.setdefault("state", {})["nonce"] = nonce
        headed = _with_headers(send, nonce, parts=_is_part(scope))
        await _Body(receive, headed).hand_to(self._app, scope)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Why a request may not pass: its status and a sentence; None when it may."""
        headers = _headers(scope)
        hosts = headers.get("host", [])
        if len(hosts) != 1 or hosts[0].casefold() not in self._key.hosts:
            return 421, "The bench answers to this machine's own name only.\n"
        origins = headers.get("origin", [])
        changes = scope["type"] == "websocket" or scope["method"] not in _SAFE
        own = f"http://{hosts[0].casefold()}"
        if (changes and not origins) or any(origin.casefold() != own for origin in origins):
            return 403, "The bench takes nothing from other pages.\n"
        length = headers.get("content-length", ["0"])[0]
        if not length.isdecimal() or len(length) > _LONGEST_LENGTH or int(length) > BODY_LIMIT:
            return 413, _TOO_LARGE
        path = str(scope["path"])
        if not path.isprintable() or (f"{path}/".startswith(_PARTS) and not _is_part(scope)):
            return 404, "There is nothing here.\n"
        asked = _asked_key(scope) if scope["type"] == "http" else None
        if not self._key.fits(asked if asked is not None else self._cookie(headers)):
            return 403, _NO_KEY
        return None

    def _cookie(self, headers: dict[str, list[str]]) -> str:
        for line in headers.get("cookie", []):
            try:
                found = SimpleCookie(line).get(self._key.cookie)
            except CookieError:
                continue
            if found is not None:
                return found.value
        return ""

    async def _let_in(self, scope: Scope, send: Send) -> None:
        """Put the key into a cookie and take it out of the address.

        A browser that comes from a page of somebody else, a file for one, would not show a strict cookie
        where it is sent on at once (the draft of RFC 6265bis, 5.2): it gets a page of ours to go on from.
        """
        cookie = f"{self._key.cookie}={self._key.token}; Path=/; HttpOnly; SameSite=Strict"
        headers = [(b"set-cookie", cookie.encode("ascii")), (b"cache-control", b"no-store"), *_always()]
        typed = _headers(scope).get("sec-fetch-site", []) == ["none"]
        status, body = (303, b"") if typed else (200, _GO_ON)
        headers += [(b"location", b"/")] if typed else [(b"content-type", b"text/html; charset=utf-8")]
        headers.append((b"content-length", b"%d" % len(body)))
        await send({"type": "http.response.start", "status": status, "headers": headers})
        await send({"type": "http.response.body", "body": body})


def _is_part(scope: Scope) -> bool:
    path = str(scope["path"])
    if scope["type"] != "http" or scope["method"] not in _SAFE or ".." in path.split("/"):
        return False
    return _OPEN_PART.fullmatch(path) is not None


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").casefold(), []).append(value.decode("latin-1"))
    return found


def _asked_key(scope: Scope) -> str | None:
    """The key in the address of the first page; None where there is none."""
    if scope["path"] != "/" or scope["method"] not in _SAFE:
        return None
    found = parse_qs(scope["query_string"].decode("latin-1")).get("key")
    return found[0] if found else None


def _always() -> list[tuple[bytes, bytes]]:
    return [
        (b"x-content-type-options", b"nosniff"),
        (b"referrer-policy", b"no-referrer"),
        (b"cross-origin-opener-policy", b"same-origin"),
        (b"cross-origin-resource-policy", b"same-origin"),
        (b"x-frame-options", b"SAMEORIGIN"),
        (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
    ]


def _with_headers(send: Send, nonce: str, *, parts: bool) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", []))
            names = {name.lower() for name, _ in headers}
            headers += [pair for pair in _always() if pair[0] not in names]
            if b"content-security-policy" not in names:
                policy = _POLICY.format(nonce=nonce)
                headers.append((b"content-security-policy", policy.encode("ascii")))
            if not parts:
                headers = [pair for pair in headers if pair[0].lower() != b"cache-control"]
                headers.append((b"cache-control", b"no-store"))
            message = {**message, "headers": headers}
        await send(message)

    return sending


class _Body:
    """The body of a request on its way: cut off where it grows beyond the limit, or takes too long.

    Then the caller is answered from here, whatever the application makes of a request that ends so.
    """

    def __init__(self, receive: Receive, send: Send) -> None:
        self._receive = receive
        self._send = send
        self._got = 0
        self._is_whole = False
        self._has_begun = False
        self._cut: tuple[int, str] | None = None

    async def hand_to(self, app: App, scope: Scope) -> None:
        """Have a request answered by an application."""
        self._until = asyncio.get_running_loop().time() + _BODY_S
        try:
            await app(scope, self._receiving, self._sending)
        except Exception:
            if self._cut is None:
                raise
        if self._cut is not None and not self._has_begun:
            await self._discard()
            await _refuse(scope, self._receive, self._send, *self._cut)

    async def _discard(self) -> None:
        """Take what still comes, up to a point: who is cut off while sending never reads the answer."""
        with suppress(TimeoutError):
            async with asyncio.timeout(_DISCARD_S):
                while not self._is_whole and self._got <= _DISCARD_MOST:
                    message = await self._receive()
                    self._got += len(message.get("body", b""))
                    self._is_whole = not message.get("more_body", False)

    async def _receiving(self) -> Message:
        if self._cut is not None:
            return {"type": "http.disconnect"}
        if self._is_whole:
            return await self._receive()
        try:
            async with asyncio.timeout_at(self._until):
                message = await self._receive()
        except TimeoutError:
            self._cut = 408, _SLOW
            return {"type": "http.disconnect"}
        self._got += len(message.get("body", b""))
        self._is_whole = not message.get("more_body", False)
        if self._got > BODY_LIMIT:
            self._cut = 413, _TOO_LARGE
            return {"type": "http.disconnect"}
        return message

    async def _sending(self, message: Message) -> None:
        if self._cut is not None and not self._has_begun:
            return
        self._has_begun = True
        await self._send(message)


async def _refuse(scope: Scope, receive: Receive, send: Send, status: int, words: str) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008, "reason": words.strip()})
        return
    body = words.encode("utf-8")
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", b"%d" % len(body))]
    await send({"type": "http.response.start", "status": status, "headers": [*headers, *_always()]})
    await send({"type": "http.response.body", "body": body})
