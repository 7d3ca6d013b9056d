"""Files that cannot be read, and files that only look as if they could not."""

import errno
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import NESTING_LIMIT, SIZE_LIMIT, parse_source, read_source


def refusal(path: Path | str) -> Problem:
    with pytest.raises(ProblemsError) as caught:
        read_source(path)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    assert problem.message.isprintable()
    return problem


def test_a_file_is_read(tmp_path: Path) -> None:
    place = tmp_path / "wren.toml"
    place.write_bytes('name = "Wren – é"\r\n'.encode())
    source = read_source(place)
    assert source.values == {"name": "Wren – é"}
    assert source.name == str(place)
    assert source.text.endswith("\r\n")
    assert not source.bom


def test_a_byte_order_mark_is_welcome(tmp_path: Path) -> None:
    place = tmp_path / "wren.toml"
    place.write_bytes(b'\xef\xbb\xbfname = "Wren"\n')
    source = read_source(str(place))
    assert source.values == {"name": "Wren"}
    assert source.bom
    assert source.key_span(("name",)).column == 1


def test_missing_files_name_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "kestrel.toml").write_bytes(b"x = 1")
    (tmp_path / "kestrel.pdf").write_bytes(b"x")
    for asked in ("kestral.toml", "kestrel", "Kestrel.TOML", "kestrl.tml"):
        if (tmp_path / asked).exists():
            continue
        problem = refusal(tmp_path / asked)
        assert problem.code == "file-missing"
        assert problem.nearest == str(tmp_path / "kestrel.toml")
    assert refusal(tmp_path / "zzz.toml").nearest == ""
    assert "there is no folder" in refusal(tmp_path / "none" / "kestrel.toml").message
    assert refusal(tmp_path / "kestrel.toml" / "x").code == "file-missing"
    assert refusal("a\0b").code == "file-missing"
    assert refusal(tmp_path / ("x" * 300)).code in ("file-unreadable", "file-missing")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert refusal(tmp_path).code == "file-folder"


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")  # type: ignore[attr-defined,unused-ignore]
    assert refusal(tmp_path / "pipe").code == "file-special"


@pytest.mark.parametrize(
    ("error", "piece"),
    [
        (PermissionError(errno.EACCES, "no"), "may not be read"),
        (OSError(errno.EIO, "no"), "cannot be read"),
        (OSError("odd"), "unknown reason"),
    ],
)
def test_unreadable_files(
    error: OSError, piece: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.toml").write_bytes(b"x = 1")

    def refuse(*args: object, **kwargs: object) -> None:
        raise error

    monkeypatch.setattr(Path, "open", refuse)
    problem = refusal(tmp_path / "a.toml")
    assert problem.code == "file-unreadable"
    assert piece in problem.message


@pytest.mark.parametrize(
    ("data", "code", "piece", "where"),
    [
        (b"", "file-empty", "empty", ""),
        (b" \r\n\t\n", "file-empty", "empty", ""),
        (b"\xef\xbb\xbf", "file-empty", "empty", ""),
        (b"x = 1\n# gr\xfc\xdf\n", "file-encoding", "0xfc", ":2:5"),
        ("é = 1\n# ü".encode() + b"\xff", "file-encoding", "0xff", ":2:4"),
        (b"\xef\xbb\xbf\xff", "file-encoding", "0xff", ":1:1"),
        ('name = "Wren"\n'.encode("utf-16"), "file-encoding", "UTF-16", ""),
        ('name = "Wren"\n'.encode("utf-16-be"), "file-encoding", "UTF-16", ""),
        ('name = "Wren"\n'.encode("utf-16-le"), "file-encoding", "UTF-16", ""),
        (b"\x89PNG\r\n\x1a\n" + bytes(9) + b"IHDR" * 9, "file-kind", "this is a picture", ""),
        (b"SQLite format 3\0" + bytes(90), "file-kind", "this is a trial book", ""),
        (b"%PDF-1.7\n%\xe2\xe3", "file-kind", "this is a PDF", ""),
        (b"PK\x03\x04\x14\0", "file-kind", "a packed file", ""),
        (bytes(80) + b"\x02\0\0\0" + bytes(100), "file-kind", "a 3D model (STL)", ""),
        (b"solid body\n facet normal 0 0 1\n", "file-kind", "a 3D model (STL)", ""),
        (b"ISO-10303-21;\nHEADER;\n", "file-kind", "a 3D model (STEP)", ""),
        (b"  0\nSECTION\n  2\nHEADER\n", "file-kind", "a drawing (DXF)", ""),
        (b'<?xml version="1.0"?>\n<svg/>', "file-kind", "a drawing or a web page", ""),
        (b'{"format": "bodyshop-check"}', "file-kind", "this is JSON", ""),
        (b"\xef\xbb\xbffile,car,bench\r\na,b,c\r\n", "file-kind", "a table (CSV)", ""),
        (b"when;car;mass g\n1;2;3\n", "file-kind", "a table (CSV)", ""),
        # Not of another kind, only damaged: told with its place, as ever.
        (b"# a, b, c\nname Wren\n", "toml-equals", "no =", ":2:1"),
        (bytes(80) + b"\x03\0\0\0" + bytes(100), "file-encoding", "UTF-16", ""),
        (b"x = 1\n\x00", "file-binary", "not a text file", ""),
        (b"x = 1 #" + b"a" * SIZE_LIMIT, "file-size", "too large", ""),
        (b"x = " + b"[" * 5000 + b"]" * 5000, "toml-nesting", "too deep", f":1:{NESTING_LIMIT + 5}"),
        (b"x = " + b"{a=" * 5000, "toml-nesting", "too deep", f":1:{3 * NESTING_LIMIT + 5}"),
        (b"a." * 5000 + b"a = 1", "toml-nesting", "too deep", f":1:{2 * NESTING_LIMIT + 2}"),
        (b"[" + b"a." * 400_000 + b"a]", "toml-nesting", "too deep", f":1:{2 * NESTING_LIMIT + 3}"),
        (b"x = 1\ny = " + b"9" * 5000, "toml-number", "thousands of digits", ":2:5"),
    ],
    ids=range(30),
)
def test_hostile_files(data: bytes, code: str, piece: str, where: str, tmp_path: Path) -> None:
    place = tmp_path / "a.toml"
    place.write_bytes(data)
    problem = refusal(place)
    assert problem.code == code
    assert piece in problem.message
    assert problem.where == f"{place}{where}"


def test_the_limits_themselves_are_allowed() -> None:
    deep = "[" * NESTING_LIMIT + "]" * NESTING_LIMIT
    source = parse_source(f"x = {deep}", "f")
    assert source.span(("x", *([0] * 50))).column == 5 + 50
    dots = ".".join("a" for _ in range(NESTING_LIMIT))
    assert parse_source(f"{dots} = 1\n[b.{dots[:-4]}]\n", "f").span(("a",)).line == 1
    tables = "{a = " * (NESTING_LIMIT - 1) + "{}" + "}" * (NESTING_LIMIT - 1)
    assert parse_source(f"x = {tables}", "f").values
    # A hundred numbers in a row are no depth, nor are brackets in texts and remarks.
    numbers = ", ".join(["1.5"] * 300)
    brackets = "[" * 300
    assert parse_source(f'x = [{numbers}]\ny = \'{brackets}\' # {brackets}\nz = """{brackets}"""', "f").values


def test_half_a_character_is_refused() -> None:
    with pytest.raises(ProblemsError) as caught:
        parse_source('x = "\ud83d"', "f")
    assert [(problem.code, problem.where) for problem in caught.value.problems] == [
        ("file-encoding", "f:1:6")
    ]


HUGE = {
    "numbers": "x = [" + "[1, 2],\n" * 100_000 + "]",
    "unclosed": "x = [" + "[1, 2],\n" * 50_000,
    "one line": "x = [" + "1.5, " * 80_000 + " ; ]",
    "spaces": "x" + " " * 900_000 + "y = 1",
    "quotes": '"' * 900_000,
    "apostrophes": "'" * 900_001,
    "open text": 'x = "' + "a" * 900_000,
    "tables": "".join(f"[t{i}]\nx = {i} mm\n" for i in range(40_000)),
    "repeats": "".join(f"x{i} = 1\n" for i in range(30_000)) + "x5 = 2\n",
    "headers": "[[a]]\n" * 50_000 + "[a]",
    "word": "x = " + "a" * 900_000,
    "word and mark": "x = " + "a " * 400_000 + "=",
    "blanks": "x = 1\n" + " \n" * 400_000 + "y",
    "curly": "x = " + "“" * 300_000,
}


@pytest.mark.parametrize("kind", HUGE)
def test_huge_files_take_no_time_without_end(kind: str) -> None:
    # Generous: a slow machine needs a second or two, a step that is not linear needs minutes.
    begin = time.monotonic()
    try:
        read = parse_source(HUGE[kind], "f").values
        assert kind == "numbers"
        assert len(read) == 1
    except ProblemsError as error:
        (problem,) = error.problems
        assert len(problem.sentence) < 400
        assert kind != "numbers"
    assert time.monotonic() - begin < 60


def test_reading_loads_no_parser_for_places() -> None:
    code = (
        "import sys; from bodyshop.foundation.toml import parse_source; s = parse_source('a = 1', 'f');"
        "assert 'tree_sitter' not in sys.modules; s.span(('a',)); assert 'tree_sitter' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=Path(__file__).parents[2])
