"""`bodyshop bench`: the page on which a design's text and its car are worked on together."""

from __future__ import annotations

import argparse
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import flag, operand, option, whole
from bodyshop.app.cli.console import Console, Exit
from bodyshop.foundation.files.names import is_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import read_text
from bodyshop.rules.checking import find_design

__all__ = ["bench"]


@action(
    operand(
        "what",
        "DESIGN or FOLDER",
        "a design, a folder of designs, or the name of a shipped sample (default: the current folder)",
        nargs="?",
        default=".",
    ),
    option("--port", "N", "the port of the page (default: a free one)", whole("port", 1, 65535)),
    flag("--no-browser", "print the page's address, and open no browser"),
)
def bench(options: argparse.Namespace, console: Console) -> Exit:
    """Serve until the keyboard stops it, which then ends as every command does that is stopped so."""
    root, name, text = _opened(options.what)
    if find_spec("nicegui") is None:
        raise ProblemsError(
            [
                Problem(
                    "bench-missing",
                    "the bench needs a part of bodyshop that is not installed",
                    expected='pip install "bodyshop[bench]", or pip install -e ".[bench]" in a checkout',
                )
            ]
        )
    from bodyshop.app.bench.bench import Bench
    from bodyshop.app.bench.guard import Key
    from bodyshop.app.bench.server import StartPage, bound_socket, serve

    desk = Bench(root, name)
    if text is not None:
        desk.put(name, text)
    elif name:
        desk.session(name)
    listener = bound_socket(options.port)
    key = Key(listener.getsockname()[1])

    leads: list[StartPage] = []

    def came_in() -> None:
        while leads:
            leads.pop().remove()

    def ready() -> None:
        console.write(f"The bench is open at {key.address}\n")
        console.write("Only this computer can reach it. Ctrl-C closes it.\n")
        if not options.no_browser:
            import webbrowser

            with suppress(OSError):  # the address that was printed is there all the same
                leads.append(StartPage(key.address))
                webbrowser.open(leads[0].uri)

    try:
        serve(desk, listener, key, ready, came_in)
    finally:
        came_in()
    return Exit.STOPPED


def _opened(what: str) -> tuple[Path, str, str | None]:
    """The folder to serve, the design to show first, and the text of one that is in no file yet."""
    folder = Path(what)
    if is_folder(folder):
        return folder, "", None
    path, shipped = find_design(what)
    text = read_text(path)
    if shipped:
        # Samples stay as they came: this is a copy, which saving puts into the current folder.
        return Path(), path.name, text
    place = path.resolve()  # a link to a design: the folder it lies in is meant
    return place.parent, place.name, None
