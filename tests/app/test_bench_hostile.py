"""What nobody sends who means well: half characters, bodies that are none, names like marks, other doors."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from websockets.sync.client import ClientConnection

from bodyshop.app.bench.document import DesignDocument
from bodyshop.app.bench.file_sync import DesignFile, drafts_in
from bodyshop.app.bench.folder import Folder
from bodyshop.app.bench.messages import FixMessage, MalformedError, read_as, read_message
from bodyshop.app.bench.page import page_html
from tests.app.benching import PATIENCE_S, SAMPLES, Served, serve
from tests.app.test_bench_server import wire

WREN = (SAMPLES / "wren.toml").read_text(encoding="utf-8")
BOOK = "/book/do?file=quarry-lane.trials"
REFUSALS = (400, 404, 405, 409, 413, 422)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A bench with a design and a trial book."""
    folder = tmp_path_factory.mktemp("larkfield")
    (folder / "wren.toml").write_text(WREN, encoding="utf-8")
    served = serve(folder)
    assert post(served, "/books", {"name": "Quarry Lane", "track": "20"})[0] == 200
    assert post(served, BOOK, {"deed": "add_designs"})[0] == 200
    yield served
    served.close()


def post(bench: Served, path: str, given: object) -> tuple[int, bytes]:
    body = given if isinstance(given, bytes) else json.dumps(given).encode("ascii")
    return bench.ask(path, method="POST", body=body)


# ---------------------------------------------------------------- half characters


HALVES = ["\ud800", "\udfff", "a\udc00b", "\ude00\ud83d", "# \ud83d\n"]


@pytest.mark.parametrize("half", HALVES)
def test_a_text_with_half_a_character_can_be_saved_and_drafted(tmp_path: Path, half: str) -> None:
    (tmp_path / "wren.toml").write_text(WREN, encoding="utf-8")
    file = DesignFile("wren.toml", Folder(tmp_path))
    document = DesignDocument(file.read(), "wren.toml")
    document.type_in([(0, 0, half)], 0)
    document.apply([(0, 0, half)])
    document.set_text(half + document.text)
    assert len(document.text) == len(WREN) + 3 * len(half), "offsets of the page stay right"
    assert all(state.problems or state.fresh for state in [document.state])
    file.keep_draft(document.text)
    file.save(document.text)
    assert file.read() == document.text
    assert DesignDocument(half, "x").text.encode("utf-8")


@pytest.mark.parametrize("half", HALVES)
def test_a_draft_needs_no_valid_text(tmp_path: Path, half: str) -> None:
    (tmp_path / "wren.toml").write_text(WREN, encoding="utf-8")
    file = DesignFile("wren.toml", Folder(tmp_path))
    file.read()
    file.keep_draft(half + WREN)
    (found,) = drafts_in(tmp_path)
    assert found.text[len(half) :] == WREN
    assert found.text.encode("utf-8")


def test_whole_characters_are_left_alone() -> None:
    document = DesignDocument("", "wren.toml")
    document.type_in([(0, 0, "\U0001f600é�")], 0)
    assert document.text == "\U0001f600é�"
    for sent, read in ((r"😀", "\U0001f600"), (r"\ud83d", "�")):
        assert read_as(f'{{"kind": "fix", "clause": "{sent}"}}', FixMessage).clause == read


def test_half_a_character_goes_over_the_wire_and_into_the_file(bench: Served) -> None:
    post(bench, "/copy", {"file": "wren.toml", "as": "half.toml"})
    with wire(bench, "half.toml") as link:
        assert hear(link, "open")["text"] == WREN
        link.send(r'{"kind": "type", "base": 0, "splices": [[0, 0, "# \ud800\n"]]}')
        assert hear(link, "text")["splice"] == [0, 0, "# �\n"]
        link.send('{"kind": "save"}')
        while not hear(link, "facts")["saved"]:
            pass
        link.send(r'{"kind": "drag", "handle": "\ud800", "x": 1, "y": 1, "snap": "", "step": "\udc00"}')
        hear_any(link, "refused_drag", "note")
        link.send(r'{"kind": "fix", "clause": "\ud800"}')
        assert hear(link, "plan")["kind"] == "plan"


# ---------------------------------------------------------------- what is no message


def hear(link: ClientConnection, kind: str) -> dict[str, Any]:
    return hear_any(link, kind)


def hear_any(link: ClientConnection, *kinds: str) -> dict[str, Any]:
    while True:
        message: dict[str, Any] = json.loads(link.recv(timeout=PATIENCE_S))
        if message["kind"] in kinds:
            return message


DEEP = "[" * 100_000 + "]" * 100_000
NO_OBJECTS = [
    b"", b"{", b"[]", b"null", b"7", b'"x"', b"\xff\xfe", b'{"a": NaN}', b'{"a": 1e999}',
    b'{"a": ' + b"9" * 5000 + b"}", b'{"a": ' + DEEP.encode() + b"}", b'{"a": -Infinity}',
    b'{"a": ' + b"[" * 20 + b"]" * 20 + b"}", b"{'a': 1}", b'{"a": 1} {"b": 2}',
]  # fmt: skip


@pytest.mark.parametrize("body", NO_OBJECTS, ids=lambda body: body[:12].decode("latin-1"))
def test_what_is_no_message_is_answered_as_the_callers_fault(bench: Served, body: bytes) -> None:
    with pytest.raises(MalformedError):
        read_message(body)
    for path in ("/copy", "/begin", "/books", BOOK):
        status, words = post(bench, path, body)
        assert (status, b"did not understand" in words) == (400, True), path


ODD: list[Any] = [
    None, True, -1, 0, 10**30, 1e308, "", "\ud800", "\x00", "x" * 5000, "1e999", [], [[]], {}, {"a": [1]},
]  # fmt: skip
ACTIONS = {
    "enter": "",
    "draw": "rounds counts",
    "note": "heat car result because",
    "rerun": "heat because",
    "out": "car because",
    "back": "car because",
    "allow": "cars because",
    "eliminate": "runs best",
    "add": "fields kind car",
    "strike": "id kind because",
    "inspect": "found car step balance instrument",
    "foretell": "car length",
    "freeze": "length temperature pressure cartridge",
}
"""What can be done, and the fields that it looks at."""


@pytest.mark.parametrize("action", ACTIONS)
def test_no_value_in_a_deed_makes_the_bench_stumble(bench: Served, action: str) -> None:
    sent = {
        "car": "Wren", "kind": "mass", "id": "1", "because": "to try", "heat": "1",
        "rounds": "1", "runs": "1", "result": "1.2", "fields": {"mass_g": "60"}, "found": {"C2": "52"},
        "length": "20",
    }  # fmt: skip
    fields = ACTIONS[action].split()
    plain = {"deed": action} | {name: value for name, value in sent.items() if name in fields}
    assert post(bench, BOOK, plain)[0] in (200, 422)
    for field in ("deed", "unknown", *fields):
        for odd in ODD:
            status, words = post(bench, BOOK, plain | {field: odd})
            assert status in (200, *REFUSALS), (field, odd, words[:200])


@pytest.mark.parametrize("path", ["/copy", "/begin", "/books"])
def test_no_value_in_a_form_makes_the_bench_stumble(bench: Served, path: str) -> None:
    plain = {
        "/copy": {"file": "wren.toml", "as": "wren.toml"},
        "/begin": {"name": "", "style": "odd", "unit": "mm"},
        "/books": {"name": "", "track": "20", "lanes": "2", "timing": "0.01", "rulebook": ""},
    }[path]
    assert post(bench, path, plain)[0] in (409, 422)
    for field in (*plain, "unknown"):
        for odd in ODD:
            status, words = post(bench, path, plain | {field: odd})
            assert status in (200, *REFUSALS), (field, odd, words[:200])
        status, _ = post(bench, path, {name: value for name, value in plain.items() if name != field})
        assert status in (200, *REFUSALS), field


ADDRESSES = [
    "/design", "/papers/templates", "/papers/templates/a.pdf", "/papers/odd", "/book/data", "/words",
    "/book/papers/a.pdf", "/book/inspection.pdf", "/page/", "/page/%00", "/fonts/%ff", "/drawing/%0a",
    "/parts/_nicegui/3/esm/x/%00", "/design?file=%00", "/design?file=%ff", "/design?file=" + "x" * 3000,
    "/papers/templates?file=wren.toml&sheet=%00", "/book/data?file=%00&part=cars", "/books?file=%ed%a0%80",
    "/book/data?file=quarry-lane.trials&part=records&car=%00",
    "/book/data?file=quarry-lane.trials&part=%ff&car=%ed%a0%80",
    "/book/papers/%22.pdf?file=quarry-lane.trials", "/book/inspection.pdf?file=quarry-lane.trials&car=%00",
]  # fmt: skip


@pytest.mark.parametrize("path", ADDRESSES)
def test_no_address_makes_the_bench_stumble(bench: Served, path: str) -> None:
    for method in ("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"):
        assert bench.ask(path, method=method)[0] < 500, method


def test_no_message_on_the_wire_makes_it_stumble_or_hang_up(bench: Served) -> None:
    spot = {"handle": "bore", "snap": "", "step": "s"}
    sound: list[dict[str, Any]] = [
        {"kind": "type", "base": 0, "splices": [[0, 0, ""]]},
        {"kind": "drag", **spot, "x": 1, "y": 1},
        {"kind": "act", "name": "nudge", **spot, "snap": "1 mm", "by": [0, 0]},
        {"kind": "act", "name": "set", "handle": "bore", "number": 0, "text": "x", "step": 1},
        {"kind": "act", "name": "add", "view": "side", "at": [0, 900], "reach": 1, "snap": ""},
        {"kind": "act", "name": "convert", "handle": "bore", "to": "arc"},
        {"kind": "ask", "name": "limits", "handle": "bore"},
        {"kind": "ask", "name": "section", "x": 1},
        {"kind": "difference", "with": "disk"},
        {"kind": "fix_apply"},
    ]
    for each in sound:
        read_message(json.dumps(each))
    with wire(bench, "wren.toml") as link:
        hear(link, "judged")
        for body in NO_OBJECTS:
            link.send(body.decode("latin-1"))
            assert hear(link, "note")["bad"] is True
        link.send(b"\x00\xff")
        assert hear(link, "note")["bad"] is True
        for each in sound:
            for field in (*each, "unknown"):
                for odd in ODD:
                    link.send(json.dumps(each | {field: odd}))
        link.send('{"kind": "again"}')
        assert hear(link, "open")["text"] == WREN


def test_words_at_a_place_that_is_none_are_handed_back(bench: Served) -> None:
    # Without that the page would wait for ever for what became of them.
    with wire(bench, "wren.toml") as link:
        hear(link, "open")
        link.send('{"kind": "type", "base": 0, "splices": [[999999, 999999, "x"]]}')
        assert hear(link, "refused_text")["text"] == WREN
        assert hear(link, "note")["bad"] is True


# ---------------------------------------------------------------- other doors, and names like marks


SOCKET = "/parts/_nicegui_ws/socket.io/"


@pytest.mark.parametrize(
    "path",
    [
        SOCKET,
        f"{SOCKET}esm/",
        f"{SOCKET}esm/x",
        "/parts//_nicegui_ws/socket.io/esm/x",
        "/parts/_nicegui/3/esm/x/../../../../_nicegui_ws/socket.io/",
        "/parts",
        "/parts/_nicegui/auto/esm",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST", "OPTIONS"])
def test_the_sockets_of_the_parts_cannot_be_had_even_with_the_key(
    bench: Served, path: str, method: str
) -> None:
    status, words = bench.ask(f"{path}?EIO=4&transport=polling", method=method)
    assert (status, b"sid" in words) == (404, False)


@pytest.mark.parametrize("name", ["@NONCE@.toml", "@MODULES@.toml", "@NAME@.toml", "{{key}}.toml"])
def test_a_file_called_like_a_mark_is_shown_by_its_name(name: str) -> None:
    page = page_html("design", name, "n0nce", {"part": "/parts/x"})
    assert f'<h1 id="name">{name}</h1>' in page
    assert f'<meta name="design" content="{name}">' in page
    assert page.count("n0nce") == page_html("design", "plain", "n0nce", {}).count("n0nce")


@pytest.mark.parametrize(
    "name", ["$& $1 ${x}.toml", "it's.toml", '"><script>.toml', "\\g<0>.toml", "&lt;.toml"]
)
def test_no_name_of_a_file_breaks_the_page(name: str) -> None:
    html = pytest.importorskip("lxml.html")  # another reader of HTML

    page = html.fromstring(page_html("design", name, "n", {"part": "/</script>"}))
    assert page.xpath("//h1")[0].text == name
    assert page.xpath("//meta[@name='design']/@content") == [name]
    assert json.loads(page.xpath("//script[@type='importmap']")[0].text) == {
        "imports": {"part": "/</script>"}
    }
    assert len(page.xpath("//script")) == 3


def test_a_body_that_grows_beyond_the_limit_is_told_so(bench: Served) -> None:
    for path in ("/copy", "/bring?name=x.toml", BOOK):
        line = http.client.HTTPConnection(bench.host, timeout=PATIENCE_S)
        given = {"Cookie": bench.cookie, "Origin": bench.base}
        pieces = iter([b"x" * 1_000_000] * 5)
        line.request("POST", path, pieces, given, encode_chunked=True)
        assert line.getresponse().status == 413, path
        line.close()
