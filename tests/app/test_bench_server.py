"""The bench as a program: who reaches it, what it touches, how it ends, and what a crash leaves."""

from __future__ import annotations

import json
import shutil
import socket
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin

from tests.app.benching import PATIENCE_S, SAMPLES, Served, serve
from tests.app.running import run_apart, run_here

WREN = (SAMPLES / "wren.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A bench on a folder beside which there is another design, outside."""
    above = tmp_path_factory.mktemp("above")
    (above / "outside.toml").write_text(WREN, encoding="utf-8")
    folder = above / "larkfield"
    folder.mkdir()
    (folder / "wren.toml").write_text(WREN, encoding="utf-8")
    served = serve(folder)
    yield served
    served.close()


def wire(
    served: Served, name: str = "wren.toml", *, origin: str = "", cookie: str = "", host: str = ""
) -> ClientConnection:
    """A web socket to the bench, as a page of it or as somebody else would open one."""
    address = f"ws://{host or served.host}/wire?file={name}"
    return connect(
        address,
        origin=Origin(origin or served.base),
        additional_headers={"Cookie": cookie or served.cookie},
        sock=socket.create_connection(("127.0.0.1", int(served.host.partition(":")[2]))) if host else None,
        open_timeout=PATIENCE_S,
        max_size=None,
        compression=None,
    )


def hear(link: ClientConnection, kind: str) -> dict[str, object]:
    """The next message of a kind."""
    while True:
        message: dict[str, object] = json.loads(link.recv(timeout=PATIENCE_S))
        if message["kind"] == kind:
            return message


def tell(link: ClientConnection, kind: str, **body: object) -> None:
    link.send(json.dumps({"kind": kind, **body}))


# ---------------------------------------------------------------- who reaches it


def test_it_listens_on_the_loopback_address_alone(bench: Served) -> None:
    port = int(bench.host.partition(":")[2])
    others = {
        str(found[4][0])
        for found in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET, socket.SOCK_STREAM)
    }
    for address in others - {"127.0.0.1"}:
        if address.startswith("127."):
            continue
        with socket.socket() as line:
            line.settimeout(2.0)
            assert line.connect_ex((address, port)) != 0, address


def test_another_page_or_another_name_for_this_machine_gets_nothing(bench: Served) -> None:
    assert bench.ask("/designs")[0] == 200
    for path in ("/", "/designs", "/page/bench.css", "/papers/templates?file=wren.toml"):
        assert bench.ask(path, {"Host": "evil.example"})[0] == 421
        assert bench.ask(path, {"Origin": "http://evil.example"})[0] == 403
        assert bench.ask(path, {"Cookie": ""})[0] == 403
    begin = json.dumps({"name": "Evil", "style": "straight"}).encode()
    assert bench.ask("/begin", {"Origin": "http://evil.example"}, method="POST", body=begin)[0] == 403
    assert bench.ask("/begin", {"Origin": ""}, method="POST", body=begin)[0] == 403
    assert not (bench.folder / "evil.toml").exists()


def test_a_web_socket_of_another_page_is_refused(bench: Served) -> None:
    with wire(bench) as link:
        assert hear(link, "open")["text"] == WREN
    port = bench.host.partition(":")[2]
    for strange in (
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"cookie": "none=1"},
        {"host": f"evil.example:{port}"},
    ):
        with pytest.raises(InvalidStatus) as refused, wire(bench, **strange):
            pass
        assert refused.value.response.status_code == 403


def test_a_request_larger_than_any_design_is_refused(bench: Served) -> None:
    status, words = bench.ask("/bring?name=big.toml", method="POST", body=b"#" * 1_200_000)
    assert (status, b"too large" in words) == (422, True)
    assert bench.ask("/bring?name=big.toml", {"Content-Length": "99999999"}, method="POST")[0] == 413
    assert not (bench.folder / "big.toml").exists()


# ---------------------------------------------------------------- what it touches

OUT = [
    "../outside.toml",
    "..%2Foutside.toml",
    "%2Fetc%2Fpasswd",
    "..%5Coutside.toml",
    "link.toml",
    "up/outside.toml",
]


@pytest.mark.parametrize("name", OUT)
def test_no_name_and_no_link_leads_out_of_the_folder(bench: Served, name: str) -> None:
    for here, to in (("link.toml", bench.folder.parent / "outside.toml"), ("up", bench.folder.parent)):
        if not (bench.folder / here).is_symlink():
            try:
                (bench.folder / here).symlink_to(to, target_is_directory=to.is_dir())
            except OSError:
                pytest.skip("this system makes no links")
    assert bench.ask(f"/design?file={name}")[0] == 404
    assert bench.ask(f"/papers/templates?file={name}")[0] == 422
    with wire(bench, name) as link:
        assert json.loads(link.recv(timeout=PATIENCE_S))["kind"] == "lost"
    copy = json.dumps({"file": "wren.toml", "as": name.replace("%2F", "/").replace("%5C", "\\")}).encode()
    assert bench.ask("/copy", method="POST", body=copy)[0] in (409, 422)
    shown = json.loads(bench.ask("/designs")[1])
    assert "link.toml" not in [row["file"] for row in shown["rows"]]
    assert (bench.folder.parent / "outside.toml").read_text(encoding="utf-8") == WREN


@pytest.mark.parametrize(
    "path", ["/page/../server.py", "/page/%2e%2e/server.py", "/drawing/..%2fscene.py", "/fonts//etc/passwd"]
)
def test_pages_and_fonts_lead_nowhere_else(bench: Served, path: str) -> None:
    assert bench.ask(path)[0] == 404


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("../../brought.toml", "brought.toml"),
        ("C%3A%5Cdesigns%5CNew%20car.toml", "New-car.toml"),
        ("nul.toml", "nul-car.toml"),
    ],
)
def test_what_is_brought_in_stays_in_the_folder(bench: Served, given: str, kept: str) -> None:
    status, answer = bench.ask(f"/bring?name={given}", method="POST", body=WREN.encode())
    assert (status, json.loads(answer)) == (200, {"file": kept})
    assert (bench.folder / kept).read_text(encoding="utf-8") == WREN
    assert bench.ask(f"/bring?name={given}", method="POST", body=WREN.encode())[0] == 409
    assert sorted(path.name for path in bench.folder.parent.iterdir()) == ["larkfield", "outside.toml"]


@pytest.mark.parametrize("data", [b"\xff\xfe", b"not toml", b"", b"PK\x03\x04"])
def test_what_is_no_design_is_not_brought_in(bench: Served, data: bytes) -> None:
    assert bench.ask("/bring?name=odd.toml", method="POST", body=data)[0] == 422
    assert not (bench.folder / "odd.toml").exists()


def test_messages_that_make_no_sense_change_nothing(bench: Served) -> None:
    with wire(bench) as link:
        opened = hear(link, "open")
        for strange in (
            "{", "[]", "null", '"x"', '{"kind": "type"}', '{"kind": "what"}',
            json.dumps({"kind": "type", "base": opened["revision"], "splices": [[-5, 9, "x"]]}),
            json.dumps({"kind": "type", "base": opened["revision"], "splices": [[0, "a", 1]]}),
            json.dumps({"kind": "drag", "handle": "bore", "x": "wide", "y": 1, "snap": ""}),
            json.dumps({"kind": "drag", "handle": "bore", "x": 1e99, "y": 1, "snap": ""}),
            json.dumps({"kind": "drag", "handle": "bore", "x": float("nan"), "y": 1, "snap": ""}),
            json.dumps({"kind": "act", "name": "explode", "handle": "bore"}),
        ):  # fmt: skip
            link.send(strange)
            assert hear(link, "note")["bad"] is True, strange
        tell(link, "again")
        assert hear(link, "open")["text"] == WREN


def test_words_at_a_place_that_another_tab_has_changed_are_handed_back(bench: Served) -> None:
    (bench.folder / "both.toml").write_text(WREN, encoding="utf-8")
    with wire(bench, "both.toml") as first, wire(bench, "both.toml") as second:
        hear(first, "open")
        hear(second, "open")
        at = WREN.index("52\nheight")
        tell(first, "type", base=0, splices=[[at, at + 2, "51"]])
        assert hear(first, "text")["own"] is True
        assert hear(second, "text")["splice"] == [at, at + 2, "51"]
        tell(second, "type", base=0, splices=[[at, at + 2, "53"]])
        refused = hear(second, "refused_text")
        assert refused["text"] == WREN.replace("depth = 52", "depth = 51")
        assert refused["revision"] == 1
        # Elsewhere it is carried over.
        tell(second, "type", base=0, splices=[[0, 0, "# both\n"]])
        assert hear(first, "text")["splice"] == [0, 0, "# both\n"]


def test_a_rulebook_outside_the_folder_is_not_read(bench: Served) -> None:
    book = '[event]\nname = "Outside"\ninherits = "quarry-lane"\n'
    (bench.folder.parent / "outside-book.toml").write_text(book, encoding="utf-8")
    for named in ("../outside-book.toml", str(bench.folder.parent / "outside-book.toml")):
        text = WREN.replace('"quarry-lane"', f"'{named}'")
        (bench.folder / "booked.toml").write_text(text, encoding="utf-8")
        status, words = bench.ask("/papers/report?file=booked.toml")
        assert (status, b"outside the folder" in words) == (422, True)
        with wire(bench, "booked.toml") as link:
            problems = hear(link, "judged")["problems"]
            assert isinstance(problems, list)
            assert [problem["code"] for problem in problems] == ["rulebook-outside"]
            tell(link, "take_theirs")
        assert b"Outside" not in words
    (bench.folder.parent / "outside-book.toml").unlink()


def test_a_rulebook_of_the_folder_that_is_changed_judges_anew(bench: Served) -> None:
    def book(least: str) -> str:
        rule = f'[[change]]\nclause = "C2"\nmin = "{least} mm"\nbecause = "To try it."\n'
        return f'format = 1\nname = "Ours"\ninherits = "quarry-lane"\n{rule}'

    file = bench.folder / "ours.toml"
    file.write_text(book("50"), encoding="utf-8")
    text = WREN.replace('"quarry-lane"', '"ours"')
    (bench.folder / "by ours.toml").write_text(text, encoding="utf-8")
    with wire(bench, "by%20ours.toml") as link:
        verdict = hear(link, "judged")
        assert verdict["problems"] == []
        assert isinstance(verdict["verdict"], dict)
        assert verdict["verdict"]["passes"] is True
        rows = {row["file"]: row for row in json.loads(bench.ask("/designs")[1])["rows"]}
        assert rows["by ours.toml"]["state"] == "pass"
        assert "ours.toml" not in rows
        file.write_text(book("52.5"), encoding="utf-8")
        again = hear(link, "judged")["verdict"]
        assert isinstance(again, dict)
        assert again["rules"][0]["clause"] == "C2"
        assert again["passes"] is False
    rows = {row["file"]: row for row in json.loads(bench.ask("/designs")[1])["rows"]}
    assert rows["by ours.toml"]["failed"] == ["C2"]


# ---------------------------------------------------------------- how it ends, and what a crash leaves


@pytest.mark.skipif(sys.platform == "win32", reason="a signal from the keyboard is sent otherwise there")
def test_ctrl_c_closes_it_in_order_and_unsaved_work_is_offered_again(
    tmp_path: Path, served: list[Served]
) -> None:
    (tmp_path / "wren.toml").write_text(WREN, encoding="utf-8")
    served.append(serve(tmp_path, "wren.toml"))
    with wire(served[0]) as link:
        hear(link, "open")
        tell(link, "type", base=0, splices=[[0, 0, "# not saved\n"]])
        hear(link, "text")
        code, out, err = served[0].stop()
    assert (code, err) == (130, "\nStopped.\n")
    assert "Traceback" not in out
    assert (tmp_path / "wren.toml").read_text(encoding="utf-8") == WREN
    assert sorted(path.name for path in tmp_path.iterdir()) == [".bodyshop-drafts", "wren.toml"]

    served.append(serve(tmp_path, "wren.toml"))
    with wire(served[1]) as again:
        opened = hear(again, "open")
        assert opened["text"] == WREN
        assert isinstance(opened["draft"], dict)
        assert opened["draft"]["stale"] is False
        tell(again, "take_draft")
        splice = hear(again, "text")["splice"]
        assert isinstance(splice, list)
        assert WREN[: splice[0]] + splice[2] + WREN[splice[1] :] == "# not saved\n" + WREN
        tell(again, "save")
        while not hear(again, "facts")["saved"]:
            pass
    assert (tmp_path / "wren.toml").read_text(encoding="utf-8") == "# not saved\n" + WREN
    served[1].stop()
    assert [path.name for path in tmp_path.iterdir()] == ["wren.toml"]


def test_killed_while_saving_it_leaves_the_old_or_the_new_file(tmp_path: Path, served: list[Served]) -> None:
    # Large, so that writing takes its time; two texts that differ at both ends.
    body = WREN + "# " + "x" * 700_000 + "\n"
    texts = [f"# {mark}\n{body}# {mark}\n" for mark in "AB"]
    (tmp_path / "wren.toml").write_text(texts[0], encoding="utf-8")
    served.append(serve(tmp_path))
    saves = 0
    with wire(served[0]) as link:
        revision = hear(link, "open")["revision"]
        end = len(texts[0]) - 2

        def pull_the_plug() -> None:
            served[0].process.kill()

        plug = threading.Timer(1.0, pull_the_plug)
        plug.start()
        try:
            while True:
                mark = "BA"[saves % 2]
                tell(link, "type", base=revision, splices=[[2, 3, mark], [end, end + 1, mark]])
                revision = hear(link, "text")["revision"]
                tell(link, "save")
                while not hear(link, "facts")["saved"]:
                    pass
                saves += 1
        except (ConnectionClosed, ConnectionError, TimeoutError):
            plug.cancel()
    served[0].kill()
    assert saves >= 2, "it was killed in the midst of saving"
    assert (tmp_path / "wren.toml").read_text(encoding="utf-8") in texts
    # What a passing name was left by the kill is no design, and the bench opens again.
    served.append(serve(tmp_path))
    assert [row["file"] for row in json.loads(served[1].ask("/designs")[1])["rows"]] == ["wren.toml"]


def test_a_sample_is_opened_as_a_copy_and_saved_into_the_current_folder(
    tmp_path: Path, served: list[Served]
) -> None:
    served.append(serve(tmp_path, "kestrel"))
    with wire(served[0], "kestrel.toml") as link:
        opened = hear(link, "open")
        assert (opened["is_new"], opened["saved"]) == (True, False)
        tell(link, "save")
        while not hear(link, "facts")["saved"]:
            pass
    assert (tmp_path / "kestrel.toml").read_bytes() == (SAMPLES / "kestrel.toml").read_bytes()


def test_without_its_extra_it_says_what_to_install(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copy(SAMPLES / "wren.toml", tmp_path)
    monkeypatch.setattr("bodyshop.app.cli.bench.find_spec", lambda _: None)
    ran = run_here(capsys, "bench", str(tmp_path / "wren.toml"), "--no-browser")
    assert ran.code == 2
    assert 'pip install "bodyshop[bench]"' in " ".join(ran.err.split())


def test_a_port_in_use_is_told_and_a_design_that_is_not_there(tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "wren.toml", tmp_path)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        ran = run_apart("bench", "wren.toml", "--no-browser", "--port", str(port), folder=tmp_path)
    assert ran.returncode == 2
    assert f"port {port} is in use" in ran.stderr.decode()
    ran = run_apart("bench", "wern.toml", "--no-browser", folder=tmp_path)
    assert ran.returncode == 2
    assert "wren.toml" in ran.stderr.decode()
    ran = run_apart("bench", "wren.toml", "--port", "seven", folder=tmp_path)
    assert ran.returncode == 2
    assert "is not a port" in ran.stderr.decode()
