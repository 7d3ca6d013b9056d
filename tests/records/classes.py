"""Folders of designs for these tests: good, failing, broken and strange."""

from __future__ import annotations

from pathlib import Path

from bodyshop.records.classroom import (
    CheckOptions,
    ClassFile,
    ClassReport,
    check_files,
    class_files,
    class_report,
    supplies,
)
from bodyshop.records.classroom.discovery import CarRow, Row, UnreadRow

ROOT = Path(__file__).resolve().parents[2]

SQUARE = """\
format = 1
name = "{name}"
bench = "{bench}"
rulebook = "quarry-lane"

[blank]
stock = "larkfield-block"
wood = "{wood}"

[profile]
points = [[0, 0], [260, 0], [260, {tail}], [190, 42], [120, 22], [0, 10]]

[plan]
points = [[0, 12], [40, {half}], [260, {half}]]

[bore]
diameter = {bore}
depth = 52
height = 25

[axles.front]
x = 50
height = 7

[axles.rear]
x = 218
height = 8

[[screw_eye]]
axle = "front"
behind = 8

[[screw_eye]]
axle = "rear"
ahead = 8
"""

BROKEN = {
    "empty.toml": b"",
    "words.toml": b"this is no TOML\n",
    "binary.toml": bytes(range(256)) * 8,
    "utf16.toml": "format = 1\n".encode("utf-16"),
    "latin.toml": 'format = 1\nname = "J\xe4ger"\n'.encode("latin-1"),
    "huge.toml": b"# more than anybody writes\n" * 60_000,
    "three-slips.toml": b'format = 1\nname = 5\nunits = "yards"\nwombat = 3\n',
}
"""Files that cannot be read, each for another reason."""


def square(
    name: str = "Wren",
    *,
    bench: str = "Bench 2",
    wood: str = "basswood",
    tail: float = 42,
    half: float = 18.5,
    bore: float = 19.5,
) -> str:
    """A straight-sided car that passes the Quarry Lane rules as it is."""
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return SQUARE.format(name=escaped, bench=bench, wood=wood, tail=tail, half=half, bore=bore)


def put(folder: Path, name: str, content: str | bytes) -> Path:
    """Write one file, its folder made as needed."""
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return file


def mixed(folder: Path) -> Path:
    """Two that pass, two that fail, the broken ones, a rulebook, files of other kinds, hidden ones."""
    put(folder, "wren.toml", square())
    put(folder, "bench 7/robin.toml", square("Robin", bench="Bench 7", tail=41.5))
    put(folder, "bench 7/wide.toml", square("Wagtail", bench="Bench 7", half=23))
    put(folder, "finch.toml", square("Finch", bench="Bench 10", bore=21, half=24))
    for name, content in BROKEN.items():
        put(folder, f"broken/{name}", content)
    put(folder, "rules.toml", (ROOT / "rules" / "quarry-lane.toml").read_bytes())
    put(folder, "notes.txt", "bring sandpaper")
    put(folder, "wren.stl", b"solid")
    put(folder, ".hidden/ghost.toml", square("Ghost"))
    put(folder, ".ghost.toml", square("Ghost"))
    return folder


def rows_of(folder: Path, options: CheckOptions | None = None) -> list[Row]:
    """The rows of a folder, checked in this process."""
    return check_files(class_files(folder).files, options or CheckOptions(), jobs=1)[0]


def report_of(folder: Path, options: CheckOptions | None = None) -> ClassReport:
    """The report on a folder, checked in this process."""
    found = class_files(folder)
    rows, books = check_files(found.files, options or CheckOptions(), jobs=1)
    return class_report(found.folder, rows, books, supplies(), found.closed)


def car(row: Row) -> CarRow:
    """A row that is a car."""
    assert isinstance(row, CarRow), row
    return row


def unread(row: Row) -> UnreadRow:
    """A row that could not be read."""
    assert isinstance(row, UnreadRow), row
    return row


def entry(file: Path) -> ClassFile:
    """A file by itself."""
    return ClassFile(str(file), file.name)
