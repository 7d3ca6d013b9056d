"""Who is let in: by the rules of RFC 9110 (Host), RFC 6454 (Origin), RFC 6455 section 10.2 (web sockets)."""

from __future__ import annotations

import asyncio
from collections.abc import MutableMapping
from typing import Any

import pytest

from bodyshop.app.bench.guard import BODY_LIMIT, Guard, Key, Receive, Scope, Send

KEY = Key(8123)
HOST = "127.0.0.1:8123"
OWN = f"http://{HOST}"
COOKIE = f"{KEY.cookie}={KEY.token}"


async def _inside(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
        return
    more, got = True, 0
    while more:
        message = await receive()
        if message["type"] == "http.disconnect":
            return
        got += len(message.get("body", b""))
        more = message.get("more_body", False)
    await send({"type": "http.response.start", "status": 200, "headers": [(b"cache-control", b"public")]})
    await send({"type": "http.response.body", "body": b"%d" % got})


def ask(
    path: str = "/",
    headers: dict[str, str] | None = None,
    *,
    method: str = "GET",
    kind: str = "http",
    query: str = "",
    bodies: tuple[bytes, ...] = (b"",),
) -> list[MutableMapping[str, Any]]:
    """What comes back from the guard for one request."""
    sent: list[MutableMapping[str, Any]] = []
    given = {"host": HOST, "cookie": COOKIE} | (headers or {})
    scope: Scope = {
        "type": kind,
        "method": method,
        "path": path,
        "query_string": query.encode("ascii"),
        "headers": [(n.encode("ascii"), v.encode("latin-1")) for n, v in given.items() if v],
    }
    parts = [
        {"type": "http.request", "body": body, "more_body": at + 1 < len(bodies)}
        for at, body in enumerate(bodies)
    ]
    if kind == "websocket":
        parts = [{"type": "websocket.connect"}]

    async def receive() -> MutableMapping[str, Any]:
        return parts.pop(0)

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(message)

    asyncio.run(Guard(_inside, KEY)(scope, receive, send))
    return sent


def status(answer: list[MutableMapping[str, Any]]) -> int:
    return int(answer[0]["status"]) if answer else 0


def headers_of(answer: list[MutableMapping[str, Any]]) -> dict[str, str]:
    return {name.decode().lower(): value.decode() for name, value in answer[0]["headers"]}


def test_the_page_of_this_run_is_let_in() -> None:
    assert status(ask()) == 200
    assert status(ask(headers={"host": "localhost:8123"})) == 200
    assert status(ask("/copy", {"origin": OWN}, method="POST")) == 200


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8123", "127.0.0.1", "127.0.0.1:80", "127.0.0.1.evil.example:8123", ""],
)
def test_a_name_made_to_point_here_is_refused(host: str) -> None:
    assert status(ask(headers={"host": host})) == 421
    assert ask("/wire", {"host": host, "origin": OWN}, kind="websocket")[0]["type"] == "websocket.close"


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8123", "http://127.0.0.1:9"]
)
def test_another_page_cannot_drive_it(origin: str) -> None:
    assert status(ask(headers={"origin": origin})) == 403
    assert status(ask("/copy", {"origin": origin}, method="POST")) == 403
    assert ask("/wire", {"origin": origin}, kind="websocket")[0]["type"] == "websocket.close"


def test_what_changes_something_has_to_say_where_it_comes_from() -> None:
    assert status(ask("/copy", method="POST")) == 403
    assert ask("/wire", kind="websocket")[0]["type"] == "websocket.close"
    assert ask("/wire", {"origin": OWN}, kind="websocket")[0]["type"] == "websocket.accept"


@pytest.mark.parametrize(
    "cookie",
    ["", f"{KEY.cookie}=wrong", f"other={KEY.token}", f"{KEY.cookie}=é"],
    ids=["none", "a wrong one", "under another name", "no plain letters"],
)
def test_without_the_key_nothing_is_served(cookie: str) -> None:
    assert status(ask(headers={"cookie": cookie})) == 403
    assert status(ask("/page/bench.css", {"cookie": cookie})) == 403
    refused = ask("/wire", {"cookie": cookie, "origin": OWN}, kind="websocket")
    assert refused[0]["type"] == "websocket.close"


def test_the_key_in_the_address_becomes_a_cookie_that_scripts_and_other_sites_do_not_get() -> None:
    answer = ask(headers={"cookie": "", "sec-fetch-site": "none"}, query=f"key={KEY.token}")
    assert status(answer) == 303
    found = headers_of(answer)
    assert found["location"] == "/"
    assert found["set-cookie"] == f"{COOKIE}; Path=/; HttpOnly; SameSite=Strict"


def test_a_browser_sent_here_by_a_file_goes_on_from_a_page_of_ours() -> None:
    # Sent on at once it would not show the strict cookie, since somebody else's page sent it.
    for more in ({}, {"sec-fetch-site": "cross-site"}):
        answer = ask(headers={"cookie": "", **more}, query=f"key={KEY.token}")
        assert status(answer) == 200
        assert headers_of(answer)["set-cookie"].startswith(f"{COOKIE}; ")
        assert b'content="0;url=/"' in answer[1]["body"]
        assert KEY.token.encode() not in answer[1]["body"]


def test_a_wrong_key_in_the_address_is_refused_even_with_the_cookie() -> None:
    assert status(ask(query="key=wrong")) == 403
    assert status(ask("/designs", {"cookie": ""}, query=f"key={KEY.token}")) == 403


def test_a_request_that_is_too_large_is_refused_or_cut_off() -> None:
    head = {"origin": OWN}
    assert status(ask("/bring", head | {"content-length": str(BODY_LIMIT + 1)}, method="POST")) == 413
    assert status(ask("/bring", head | {"content-length": "x"}, method="POST")) == 413
    piece = b"x" * (BODY_LIMIT // 3 + 1)
    assert status(ask("/bring", head, method="POST", bodies=(piece, piece))) == 200
    assert status(ask("/bring", head, method="POST", bodies=(piece, piece, piece))) == 413
    assert status(ask("/bring", head | {"content-length": "9" * 5000}, method="POST")) == 413


def test_of_the_parts_only_modules_can_be_had() -> None:
    assert status(ask("/parts/_nicegui/3.0/esm/x/index.js")) == 200
    for path in (
        "/parts/",
        "/parts",
        "/parts/_nicegui_ws/socket.io/",
        "/parts/_nicegui_ws/socket.io/esm/",
        "/parts/_nicegui/3.0/components/x",
        "/parts/_nicegui/3.0/esm/x/../../../../_nicegui_ws/socket.io/",
    ):
        assert status(ask(path)) == 404
    socket = ask("/parts/_nicegui_ws/socket.io/esm/", {"origin": OWN}, kind="websocket")
    assert socket[0]["type"] == "websocket.close"


def test_every_page_says_what_it_may_load_and_that_it_is_not_to_be_kept() -> None:
    found = headers_of(ask())
    policy = dict(part.strip().split(" ", 1) for part in found["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert "unsafe" not in found["content-security-policy"]
    assert "http" not in found["content-security-policy"]
    assert found["cache-control"] == "no-store"
    assert found["x-content-type-options"] == "nosniff"
    assert found["referrer-policy"] == "no-referrer"
    other = headers_of(ask())["content-security-policy"]
    assert other != found["content-security-policy"], "the nonce is new for every page"


def test_keys_differ_from_run_to_run() -> None:
    assert len({Key(1).token for _ in range(8)}) == 8
