"""Tests about the tests' own guards: each is seen to catch what it is there for."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import WroteInCheckoutError, compare_golden


def test_writing_in_the_checkout_is_stopped(root: Path) -> None:
    with pytest.raises(WroteInCheckoutError):
        (root / "tests" / "left-behind.txt").write_text("x", encoding="utf-8")
    assert not (root / "tests" / "left-behind.txt").exists()


def test_writing_in_the_tests_own_folder_is_free(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("x", encoding="utf-8")
    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "x"


def test_a_spoilt_golden_file_is_caught(tmp_path: Path) -> None:
    file = tmp_path / "sheet.txt"
    compare_golden(file, "length 305\nwidth 42\n", accept=True)
    compare_golden(file, "length 305\nwidth 42\n", accept=False)
    with pytest.raises(pytest.fail.Exception, match=r"-width 42\n\+width 43"):
        compare_golden(file, "length 305\nwidth 43\n", accept=False)
    with pytest.raises(pytest.fail.Exception, match="no golden file"):
        compare_golden(tmp_path / "other.txt", "x\n", accept=False)
