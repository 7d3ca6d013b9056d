"""A text file from the disk to a parsed document, and files of another kind that are taken for one."""

from __future__ import annotations

import os
import re
import stat
import struct
from pathlib import Path
from typing import Final

import tomli

from bodyshop.foundation.problems import Problem, ProblemsError, Span, nearest
from bodyshop.foundation.toml.document import Source
from bodyshop.foundation.toml.scan import LineIndex, too_deep_at

__all__ = ["NESTING_LIMIT", "SIZE_LIMIT", "other_kind", "parse_source", "read_source", "read_text"]


_STARTS: Final = (
    (b"SQLite format 3\0", "a trial book"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a packed file, such as 3MF or ZIP"),
    (b"\x89PNG\r\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"ISO-10303-21", "a 3D model (STEP)"),
)
_TEXTS: Final = (
    (re.compile(rb"solid\b[^=\n]*\n\s*facet"), "a 3D model (STL)"),
    (re.compile(rb"\s*0\r?\n\s*SECTION\b"), "a drawing (DXF)"),
    (re.compile(rb"\s*<(\?xml|svg|!DOCTYPE|html)"), "a drawing or a web page"),
    (re.compile(rb"\s*\{"), "JSON"),
    # Names or figures with commas or semicolons between them, none of it set equal to anything.
    (re.compile(rb"[^=#\[\n]*[,;\t][^=#\[\n]*[,;\t][^=#\[\n]*(\n|$)"), "a table (CSV)"),
)
_BOM: Final = b"\xef\xbb\xbf"
_STL_HEAD: Final = 84
_STL_FACE: Final = 50


def other_kind(data: bytes, size: int) -> str:
    """What a file is instead of TOML, as far as its beginning tells; empty where it may be TOML.

    `data` may be its beginning alone, of `size` bytes in all.
    """
    for start, words in _STARTS:
        if data.startswith(start):
            return words
    if len(data) >= _STL_HEAD and b"\0" in data[:_STL_HEAD]:
        (faces,) = struct.unpack_from("<I", data, 80)
        if size == _STL_HEAD + _STL_FACE * faces:
            return "a 3D model (STL)"
    text = data[:4096].removeprefix(_BOM)
    return next((words for pattern, words in _TEXTS if pattern.match(text)), "")


SIZE_LIMIT: Final = 1_000_000
"""Largest file that is read, bytes."""

NESTING_LIMIT: Final = 100
"""Most brackets, or dots in one name, inside each other."""

_NAMES_LOOKED_AT: Final = 2000
_EXPECTED: Final = "a design or a rulebook, a text file whose name ends in .toml"
_READING_BOM: Final = "\ufeff"
_WIDE_MARKS: Final = ((b"\xff\xfe", "UTF-16"), (b"\xfe\xff", "UTF-16"))


def read_source(path: Path | str) -> Source:
    """Read one TOML file. The source keeps the path as given for its name.

    Raises `ProblemsError` with one problem when the file cannot be had or is not legal TOML.
    """
    name = str(path)
    return parse_source(_decode(_read_bytes(Path(path), name, only_toml=True), name), name)


def read_text(path: Path | str) -> str:
    """All of a text file, legal TOML or not. Raises `ProblemsError` when it cannot be had."""
    name = str(path)
    return _decode(_read_bytes(Path(path), name), name)


def parse_source(text: str, name: str) -> Source:
    """Read TOML from text. Raises `ProblemsError` with one problem when it is not legal."""
    bom = text.startswith(_READING_BOM)
    text = text.removeprefix(_READING_BOM)
    if not text.strip():
        raise _refused("file-empty", "the file is empty", name, expected="TOML text")
    if len(text) > SIZE_LIMIT:
        raise _too_big(name)
    lone = re.search("[\ud800-\udfff]", text)
    if lone is not None:
        span = LineIndex(text).span(lone.start(), lone.end())
        raise _refused("file-encoding", "the text holds half a character", name, span, expected="UTF-8")
    deep = too_deep_at(text, NESTING_LIMIT)
    if deep is not None:
        raise _too_deep(name, LineIndex(text).span(deep, deep + 1))
    try:
        values = tomli.loads(text)
    except tomli.TOMLDecodeError as error:
        from bodyshop.foundation.toml.diagnosis import diagnose  # a file without fault has no need of it

        raise ProblemsError([diagnose(text, name, error)]) from None
    except RecursionError:
        raise _too_deep(name, None) from None
    except ValueError:
        # The one other thing the reader raises: a whole number beyond what Python turns into digits.
        raise _endless_number(text, name) from None
    return Source(name, text, values, bom)


def _refused(
    code: str, message: str, name: str, span: Span | None = None, *, expected: str = "", near: str = ""
) -> ProblemsError:
    problem = Problem(code, message, file=name, span=span, expected=expected, nearest=near)
    return ProblemsError([problem])


def _read_bytes(path: Path, name: str, *, only_toml: bool = False) -> bytes:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise _refused("file-folder", "this is a folder", name, expected="a TOML file")
        if not stat.S_ISREG(mode):
            raise _refused("file-special", "this is not an ordinary file", name, expected="a TOML file")
        with path.open("rb") as stream:
            data = stream.read(SIZE_LIMIT + 1)
            size = os.fstat(stream.fileno()).st_size
    except FileNotFoundError:
        raise _missing(path, name) from None
    except NotADirectoryError:
        raise _missing(path, name) from None
    except PermissionError:
        raise _refused("file-unreadable", "the file may not be read", name) from None
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "unknown reason"
        raise _refused("file-unreadable", f"the file cannot be read ({reason})", name) from None
    except ValueError:
        raise _refused("file-missing", "no file can have this name", name) from None
    kind = other_kind(data, size) if only_toml else ""
    if kind:
        raise _refused("file-kind", f"this is {kind}, not a TOML file", name, expected=_EXPECTED)
    if len(data) > SIZE_LIMIT:
        raise _too_big(name)
    return data


def _missing(path: Path, name: str) -> ProblemsError:
    try:
        folder = path.parent
        if not folder.is_dir():
            return _refused("file-missing", f"there is no folder {folder}", name)
        with os.scandir(folder) as entries:
            files = [e.name for e, _ in zip(entries, range(_NAMES_LOOKED_AT), strict=False) if e.is_file()]
    except OSError:
        return _refused("file-missing", "there is no such file", name)
    files.sort()
    suffix = path.suffix or ".toml"
    close = nearest(path.name, [file for file in files if file.endswith(suffix)]) or nearest(
        path.stem, [Path(file).stem for file in files if file.endswith(".toml")]
    )
    if close and close not in files:
        close += ".toml"
    return _refused("file-missing", "there is no such file", name, near=str(folder / close) if close else "")


def _too_big(name: str) -> ProblemsError:
    return _refused("file-size", "the file is too large", name, expected=f"at most {SIZE_LIMIT // 10**6} MB")


def _too_deep(name: str, span: Span | None) -> ProblemsError:
    return _refused(
        "toml-nesting",
        "brackets or dotted names go too deep here",
        name,
        span,
        expected=f"at most {NESTING_LIMIT} inside each other",
    )


def _endless_number(text: str, name: str) -> ProblemsError:
    endless = max(re.finditer(r"[0-9_]+", text), key=lambda match: len(match[0]), default=None)
    span = LineIndex(text).span(*endless.span()) if endless is not None else None
    return _refused("toml-number", "this number has thousands of digits", name, span)


def _decode(data: bytes, name: str) -> str:
    for mark, encoding in _WIDE_MARKS:
        if data.startswith(mark):
            message = f"the file is saved as {encoding}, not as UTF-8"
            raise _refused("file-encoding", message, name, expected="the file saved again as UTF-8")
    nul = data.find(b"\0")
    if nul >= 0:
        sample = data[:400]
        if sample[1::2].count(0) > len(sample) // 4 or sample[::2].count(0) > len(sample) // 4:
            message = "the file looks like UTF-16, not like UTF-8"
            raise _refused("file-encoding", message, name, expected="the file saved again as UTF-8")
        raise _refused("file-binary", "this is not a text file", name, expected="a TOML file")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8").removeprefix(_READING_BOM)) + 1
        raise _refused(
            "file-encoding",
            f"the byte 0x{data[error.start]:02x} here is not UTF-8",
            name,
            Span(line, column, line, column + 1),
            expected="the file saved again as UTF-8",
        ) from None
