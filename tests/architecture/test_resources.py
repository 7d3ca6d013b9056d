"""The folders that come with the program are found in a checkout and in an installed copy alike."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bodyshop.foundation.files import shipped as resources
from bodyshop.foundation.problems import ProblemsError


def test_in_a_checkout(root: Path) -> None:
    assert resources.stock_folder() == root / "bodyshop" / "car" / "stock"
    assert resources.rules_folder() == root / "rules"
    assert resources.samples_folder() == root / "samples"


def test_where_we_are_called_from_does_not_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = resources.rules_folder()
    (tmp_path / "rules").mkdir()
    monkeypatch.chdir(tmp_path)
    assert resources.rules_folder() == before


def test_in_an_installed_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "site-packages" / "bodyshop"
    (package / "shipped" / "rules").mkdir(parents=True)
    # another package's folder beside ours is not ours
    (package.parent / "samples").mkdir()
    monkeypatch.setattr(resources, "_PACKAGE", package)
    assert resources.rules_folder() == package / "shipped" / "rules"
    with pytest.raises(ProblemsError, match="folder samples is missing"):
        resources.samples_folder()
    shutil.copy(Path(__file__), package.parent / "pyproject.toml")
    assert resources.samples_folder() == package.parent / "samples"
