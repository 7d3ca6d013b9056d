from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.classroom import class_files
from bodyshop.records.classroom import discovery as found
from bodyshop.records.classroom.discovery import natural
from tests.records.classes import mixed, put


def shown(folder: Path) -> list[str]:
    return [entry.shown for entry in class_files(folder).files]


def problem(folder: Path | str) -> str:
    with pytest.raises(ProblemsError) as told:
        class_files(folder)
    (only,) = told.value.problems
    return f"{only.code}: {only.sentence}"


def test_designs_are_found_in_folders_below_and_nothing_else(tmp_path: Path) -> None:
    names = shown(mixed(tmp_path))
    assert "bench 7/robin.toml" in names
    assert "wren.toml" in names
    assert all(name.endswith(".toml") for name in names)
    assert not any("ghost" in name for name in names)


def test_numbers_in_names_are_sorted_by_size(tmp_path: Path) -> None:
    for name in ("bench-10/a.toml", "bench-2/a.toml", "Bench-1/b.toml", "a10.toml", "a9.TOML"):
        put(tmp_path, name, "")
    assert shown(tmp_path) == ["a9.TOML", "a10.toml", "Bench-1/b.toml", "bench-2/a.toml", "bench-10/a.toml"]


def test_every_name_can_be_sorted_beside_every_other() -> None:
    names = ["", "7", "a", "a7", "7a", "٣", "²", "a²", "🐦", "9" * 400, "a" + "9" * 400]
    keys = [natural(name) for name in names]
    assert len(set(keys)) == len(names)
    assert sorted(keys) == sorted(keys, reverse=True)[::-1]


ODD = ["with space.toml", "שלום.toml", "🐦.toml", "-dash.toml", "=sum.toml", "%20.toml", "c'est.toml"]


def test_odd_names_are_kept(tmp_path: Path) -> None:
    for name in ODD:
        put(tmp_path, name, "")
    assert set(shown(tmp_path)) == set(ODD)


@pytest.mark.skipif(sys.platform == "win32", reason="no such names there")
def test_names_that_no_letters_make_are_kept(tmp_path: Path) -> None:
    put(tmp_path, "two\nlines.toml", "")
    put(tmp_path, "back\\slash.toml", "")
    with open(os.path.join(os.fsencode(tmp_path), b"half-\xff.toml"), "wb"):  # noqa: PTH123, PTH118
        pass
    assert len(shown(tmp_path)) == 3


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right there")
def test_links_to_folders_are_left_out_and_links_to_files_are_not(tmp_path: Path) -> None:
    put(tmp_path, "class/wren.toml", "")
    put(tmp_path, "elsewhere/robin.toml", "")
    (tmp_path / "class" / "round").symlink_to(tmp_path / "class", target_is_directory=True)
    (tmp_path / "class" / "out").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    (tmp_path / "class" / "linked.toml").symlink_to(tmp_path / "elsewhere" / "robin.toml")
    assert shown(tmp_path / "class") == ["linked.toml", "wren.toml"]


def test_an_empty_folder_is_an_empty_class(tmp_path: Path) -> None:
    assert shown(tmp_path) == []


def test_a_folder_that_is_not_there_is_told_with_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "designs").mkdir()
    told = problem(tmp_path / "desings")
    assert told.startswith("file-missing: there is no such folder")
    assert told.endswith(f"did you mean {tmp_path / 'designs'}?")


def test_what_is_no_folder_is_told(tmp_path: Path) -> None:
    file = put(tmp_path, "wren.toml", "")
    assert problem(file).startswith("file-not-folder: this is not a folder")
    assert problem(f"{tmp_path}/a\0b").startswith("file-missing: ")
    assert problem(tmp_path / ("n" * 300)).startswith("file-unreadable: ")


def test_a_folder_that_may_not_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put(tmp_path, "wren.toml", "")
    put(tmp_path, "locked/robin.toml", "")
    opened = os.scandir

    def locked(path: str) -> object:
        if Path(path).name == "locked":
            raise PermissionError(13, "Permission denied", path)
        return opened(path)

    monkeypatch.setattr("bodyshop.records.classroom.discovery.os.scandir", locked)
    listed = class_files(tmp_path)
    assert [entry.shown for entry in listed.files] == ["wren.toml"]
    assert [each.message for each in listed.closed] == ["the folder may not be read"]
    assert problem(tmp_path / "locked") == "file-unreadable: the folder may not be read"


def test_the_wrong_folder_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(found, "MOST_FILES", 3)
    for number in range(4):
        put(tmp_path, f"{number}.toml", "")
    assert problem(tmp_path).startswith("class-size: ")


def test_folders_in_folders_come_to_an_end(tmp_path: Path) -> None:
    deep = "/".join("d" for _ in range(30))
    put(tmp_path, f"{deep}/wren.toml", "")
    put(tmp_path, "d/d/robin.toml", "")
    assert shown(tmp_path) == ["d/d/robin.toml"]
