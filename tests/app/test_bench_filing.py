"""A design's file: never written over another's work, its ends of lines kept, drafts that come back."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bodyshop.app.bench.file_sync import DRAFTS, ChangedOnDiskError, DesignFile, Disk, drafts_in
from bodyshop.app.bench.folder import Folder
from bodyshop.foundation.problems import ProblemsError, WriteRefusedError


def filed(tmp_path: Path, data: bytes = b"a = 1\n") -> DesignFile:
    (tmp_path / "wren.toml").write_bytes(data)
    found = DesignFile("wren.toml", Folder(tmp_path))
    found.read()
    return found


def test_what_is_saved_is_read_again_with_its_ends_of_lines_and_its_mark(tmp_path: Path) -> None:
    file = filed(tmp_path, b"\xef\xbb\xbfa = 1\r\nb = 2\r\n")
    assert file.read() == "a = 1\nb = 2\n"
    file.save("a = 1\nb = 3\n")
    assert (tmp_path / "wren.toml").read_bytes() == b"\xef\xbb\xbfa = 1\r\nb = 3\r\n"
    assert file.is_saved("a = 1\nb = 3\n")
    assert file.look() is Disk.SAME


def test_a_file_changed_by_another_program_is_not_written_over(tmp_path: Path) -> None:
    file = filed(tmp_path)
    (tmp_path / "wren.toml").write_bytes(b"a = 2\n")
    assert file.look() is Disk.CHANGED
    with pytest.raises(ChangedOnDiskError):
        file.save("a = 3\n")
    assert (tmp_path / "wren.toml").read_bytes() == b"a = 2\n"
    assert file.peek() == "a = 2\n"
    file.accept()
    assert file.look() is Disk.SAME
    file.save("a = 3\n")
    assert (tmp_path / "wren.toml").read_bytes() == b"a = 3\n"


def test_the_content_tells_and_not_the_time(tmp_path: Path) -> None:
    file = filed(tmp_path)
    os.utime(tmp_path / "wren.toml", (1, 1))
    assert file.look() is Disk.SAME
    # Another content of the same length with the same time of change is found when saving.
    known = (tmp_path / "wren.toml").stat()
    (tmp_path / "wren.toml").write_bytes(b"a = 9\n")
    os.utime(tmp_path / "wren.toml", ns=(known.st_atime_ns, known.st_mtime_ns))
    with pytest.raises(ChangedOnDiskError):
        file.save("a = 3\n")


def test_a_file_that_is_gone_is_told_and_written_again(tmp_path: Path) -> None:
    file = filed(tmp_path)
    (tmp_path / "wren.toml").unlink()
    assert file.look() is Disk.GONE
    file.save("a = 1\n")
    assert (tmp_path / "wren.toml").read_bytes() == b"a = 1\n"


def test_a_new_design_does_not_take_the_place_of_a_file_that_is_there(tmp_path: Path) -> None:
    (tmp_path / "wren.toml").write_bytes(b"somebody's\n")
    file = DesignFile("wren.toml", Folder(tmp_path))
    with pytest.raises(ChangedOnDiskError):
        file.save("mine\n")


def test_a_draft_survives_and_is_offered_until_it_is_taken_or_thrown_away(tmp_path: Path) -> None:
    filed(tmp_path).keep_draft("a = 7\n")
    again = filed(tmp_path)
    again.lay_aside()
    draft = again.draft()
    assert draft is not None
    assert (draft.name, draft.text, draft.base) == ("wren.toml", "a = 7\n", again.known)
    # New work is kept beside it and does not take its place.
    again.keep_draft("a = 8\n")
    assert again.draft() == draft
    again.drop_draft()
    assert again.draft() == draft
    again.drop_found()
    assert again.draft() is None
    assert not (tmp_path / DRAFTS).exists()


def test_a_draft_that_says_what_the_file_says_is_not_offered(tmp_path: Path) -> None:
    filed(tmp_path).keep_draft("a = 1\n")
    again = filed(tmp_path)
    again.lay_aside()
    assert again.draft() is None


def test_saving_removes_the_draft(tmp_path: Path) -> None:
    file = filed(tmp_path)
    file.keep_draft("a = 7\n")
    assert [draft.name for draft in drafts_in(tmp_path)] == ["wren.toml"]
    file.save("a = 7\n")
    assert drafts_in(tmp_path) == ()


WHOLE = '{"format": "%s", "version": 1, "name": "wren.toml", "base": "", "text": "a = 7", "when": "%s"}'


@pytest.mark.parametrize(
    "spoilt", ["", "{", WHOLE % ("other", "now"), '{"format": "bench-draft"}', "[1]", '"x"']
)
def test_a_spoilt_draft_is_no_draft(tmp_path: Path, spoilt: str) -> None:
    file = filed(tmp_path)
    file.keep_draft("a = 7\n")
    (kept,) = (tmp_path / DRAFTS).iterdir()
    kept.write_text(WHOLE % ("bench-draft", "now"), encoding="utf-8")
    assert [draft.text for draft in drafts_in(tmp_path)] == ["a = 7"]
    kept.write_text(spoilt, encoding="utf-8")
    file.lay_aside()
    assert file.draft() is None
    assert drafts_in(tmp_path) == ()


def test_drafts_are_not_written_through_a_link_out_of_the_folder(tmp_path: Path) -> None:
    inside, outside = tmp_path / "in", tmp_path / "out"
    inside.mkdir()
    outside.mkdir()
    file = filed(inside)
    _link(inside / DRAFTS, outside)
    with pytest.raises(WriteRefusedError, match="link"):
        file.keep_draft("a = 7\n")
    assert not list(outside.iterdir())


def test_a_link_put_in_the_place_of_a_file_is_not_followed_out(tmp_path: Path) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    (tmp_path / "other.toml").write_bytes(b"a = 1\n")
    file = filed(inside)
    (inside / "wren.toml").unlink()
    _link(inside / "wren.toml", tmp_path / "other.toml")
    with pytest.raises(WriteRefusedError, match="leads out"):
        file.save("a = 2\n")
    with pytest.raises(ProblemsError):
        file.peek()
    assert (tmp_path / "other.toml").read_bytes() == b"a = 1\n"


def _link(place: Path, to: Path) -> None:
    try:
        place.symlink_to(to, target_is_directory=to.is_dir())
    except OSError:
        pytest.skip("this system makes no links")


NAMES = [
    "../wren.toml",
    "a/../../wren.toml",
    "/etc/wren.toml",
    "..\\wren.toml",
    "C:\\wren.toml",
    "C:wren.toml",
    "//host/share/wren.toml",
    ".hidden.toml",
    ".bodyshop-drafts/wren.toml",
    "wren.toml/",
    "a//wren.toml",
    "./wren.toml",
    "wren.txt",
    "wren",
    "",
    "nul.toml",
    "a/COM1.toml",
    "wren\0.toml",
    "wren\n.toml",
    " wren.toml",
    "x" * 300 + ".toml",
    "a/" * 20 + "wren.toml",
]


@pytest.mark.parametrize("name", NAMES)
def test_no_name_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ProblemsError):
        Folder(tmp_path).place(name)


@pytest.mark.parametrize("name", ["wren.toml", "bench 4/wren.toml", "Rotkehlchen ü.toml", "WREN.TOML"])
def test_plain_names_are_taken(tmp_path: Path, name: str) -> None:
    assert Folder(tmp_path).place(name) == tmp_path.resolve().joinpath(*name.split("/"))


def test_a_link_to_the_outside_is_no_design_of_the_folder(tmp_path: Path) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    (tmp_path / "other.toml").write_bytes(b"a = 1\n")
    _link(inside / "other.toml", tmp_path / "other.toml")
    _link(inside / "up", tmp_path)
    _link(inside / "round.toml", inside / "round.toml")
    for name in ("other.toml", "up/other.toml", "round.toml"):
        with pytest.raises(ProblemsError):
            DesignFile(name, Folder(inside)).read()
