"""The door: a head that does not come, one without end, and callers that fill the place and say nothing."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any

import pytest
from uvicorn.config import Config
from uvicorn.server import ServerState

from bodyshop.app.bench.guard import ConnectionGate, ConnectionLimits, Guard, Key

PATIENCE_S = 20.0
GET = b"GET / HTTP/1.1\r\nhost: x\r\n"


@dataclass
class Inside:
    """A door that leads to an application, which answers once it may."""

    port: int
    state: ServerState
    may_answer: asyncio.Event

    async def call(self) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        return await asyncio.open_connection("127.0.0.1", self.port)


def at_the_door(patience: ConnectionLimits, does: Callable[[Inside], Awaitable[None]]) -> None:
    """Do something at a door that is as patient as this."""

    class Watched(ConnectionGate):
        pass

    Watched.patience = patience

    async def whole() -> None:
        inside = Inside(0, ServerState(), asyncio.Event())

        async def app(scope: Any, receive: Any, send: Any) -> None:
            await inside.may_answer.wait()
            head = [(b"content-length", b"2")]
            await send({"type": "http.response.start", "status": 200, "headers": head})
            await send({"type": "http.response.body", "body": b"ok"})

        config = Config(app, log_level="critical", access_log=False)
        config.load()
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: Watched(config, inside.state, {}), "127.0.0.1", 0)
        inside.port = server.sockets[0].getsockname()[1]
        async with server, asyncio.timeout(PATIENCE_S):
            await does(inside)
            for each in list(inside.state.connections):
                each.transport.abort()
            for task in list(inside.state.tasks):
                task.cancel()

    asyncio.run(whole())


async def ended(reader: asyncio.StreamReader) -> bytes:
    """What came until the line was closed."""
    try:
        return await reader.read()
    except ConnectionResetError:
        return b""


@pytest.mark.parametrize("said", [b"", b"G", GET, GET + b"x: y"])
def test_who_does_not_say_what_it_wants_in_time_is_put_out(said: bytes) -> None:
    async def does(inside: Inside) -> None:
        reader, writer = await inside.call()
        writer.write(said)
        assert await ended(reader) == b""
        assert not inside.state.connections
        writer.close()

    at_the_door(ConnectionLimits(head_s=0.05), does)


def test_only_the_head_has_to_come_in_time_and_an_answer_may_take_longer() -> None:
    async def does(inside: Inside) -> None:
        reader, writer = await inside.call()
        writer.write(GET + b"\r\n")
        while not inside.state.tasks:
            await asyncio.sleep(0)
        # Somebody who came later is put out first: so the time of the first is over, too.
        silent, other = await inside.call()
        assert await ended(silent) == b""
        inside.may_answer.set()
        assert (await reader.readline()).startswith(b"HTTP/1.1 200")
        # The next request on the same line has its time again, and no more.
        await reader.readuntil(b"\r\n\r\nok")
        writer.write(GET)
        assert await ended(reader) == b""
        writer.close()
        other.close()

    at_the_door(ConnectionLimits(head_s=0.05), does)


def test_a_head_without_end_is_put_out_and_a_long_one_is_read() -> None:
    async def does(inside: Inside) -> None:
        inside.may_answer.set()
        reader, writer = await inside.call()
        writer.write(GET + b"x: " + b"y" * 50_000 + b"\r\n\r\n")
        assert (await reader.readline()).startswith(b"HTTP/1.1 200")
        writer.close()
        reader, writer = await inside.call()
        writer.write(GET + b"x: " + b"y" * 200_000)
        assert not (await ended(reader)).startswith(b"HTTP/1.1 200")
        writer.close()

    at_the_door(ConnectionLimits(head_s=600.0), does)


def test_where_all_places_are_taken_the_silent_give_way_and_those_who_asked_do_not() -> None:
    async def does(inside: Inside) -> None:
        silent = [await inside.call() for _ in range(3)]
        asking = []
        for reader, writer in [await inside.call() for _ in range(3)]:
            writer.write(GET + b"\r\n")
            asking.append((reader, writer))
        while len(inside.state.tasks) < 3:
            await asyncio.sleep(0)
        for reader, _ in silent:
            assert await ended(reader) == b""
        assert len(inside.state.connections) == 3
        reader, refused = await inside.call()
        assert (await ended(reader)).startswith(b"HTTP/1.1 503")
        inside.may_answer.set()
        for reader, writer in asking:
            assert (await reader.readline()).startswith(b"HTTP/1.1 200")
            writer.close()
        for writer in (refused, *(each[1] for each in silent)):
            writer.close()

    at_the_door(ConnectionLimits(head_s=600.0, places=3), does)


@pytest.mark.parametrize("first", [b"", b"x"])
def test_a_body_that_does_not_come_is_told_so(monkeypatch: pytest.MonkeyPatch, first: bytes) -> None:
    key, sent = Key(8123), []
    own = "127.0.0.1:8123"
    head = {"host": own, "origin": f"http://{own}", "cookie": f"{key.cookie}={key.token}"}
    parts = [{"type": "http.request", "body": first, "more_body": True}] if first else []

    async def receive() -> Any:
        return parts.pop() if parts else await asyncio.Event().wait()

    async def send(message: Any) -> None:
        sent.append(message)

    async def app(scope: Any, receive: Any, send: Any) -> None:
        while (await receive())["type"] != "http.disconnect":
            pass
        raise RuntimeError("the caller has gone")

    scope = {"type": "http", "method": "POST", "path": "/copy", "query_string": b""}
    scope["headers"] = [(name.encode(), value.encode()) for name, value in head.items()]
    monkeypatch.setattr("bodyshop.app.bench.guard._BODY_S", 0.05)
    asyncio.run(Guard(app, key)(scope, receive, send))
    assert [message.get("status") for message in sent] == [408, None]
