"""The papers under templates_out/ are those that the program makes today: the README shows them.

When this fails and the change is meant, look at the new papers and keep them:

    bodyshop make samples/kestrel.toml
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from bodyshop.cli import main
from bodyshop.source.manifest import MANIFEST

NUMBER = re.compile(rb"-?[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?")
# Versions of the libraries may differ in a last digit; the papers' own bar is 0.01 mm.
CLOSE = 0.005
SOLID = (".stl", ".step")


def folders(root: Path) -> list[str]:
    return sorted(path.name for path in (root / "templates_out").iterdir() if path.is_dir())


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the program makes of the same samples now, without the solid."""
    root = Path(__file__).resolve().parents[2]
    here = tmp_path_factory.mktemp("made")
    shutil.copytree(root / "samples", here / "samples")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        patch.delenv("COLUMNS", raising=False)
        patch.setattr("bodyshop.cli.make.solid_files", lambda *_, **__: {})
        for name in folders(root):
            assert main(["make", f"samples/{name}.toml"]) == 0
    return here / "templates_out"


def papers(folder: Path) -> dict[str, bytes]:
    return {
        path.name: path.read_bytes().replace(b"\r\n", b"\n")
        for path in folder.iterdir()
        if path.suffix not in SOLID and path.name != MANIFEST
    }


def same(kept: bytes, new: bytes) -> bool:
    """Whether two papers are the same but for the last digits of their numbers."""
    if NUMBER.split(kept) != NUMBER.split(new):
        return False
    pairs = zip(NUMBER.findall(kept), NUMBER.findall(new), strict=True)
    return all(a == b or abs(float(a) - float(b)) <= CLOSE for a, b in pairs)


def without_lengths(pdf: bytes) -> bytes:
    """A PDF without its offsets, its identifier and its fonts, which follow from the rest."""
    text = re.sub(rb"stream\r?\n(?!1 0 0 1).*?endstream", b"", pdf, flags=re.DOTALL)
    text = re.sub(
        rb"/Length[0-9]? [0-9]+|<[0-9a-f]{32}>|^[0-9]{10} [0-9]{5} [nf] *$", b"", text, flags=re.MULTILINE
    )
    return re.sub(rb"startxref\s+[0-9]+", b"", text)


def test_at_least_one_sample_is_kept(root: Path) -> None:
    assert "kestrel" in folders(root)


def test_the_committed_papers_are_todays(root: Path, made: Path) -> None:
    for name in folders(root):
        kept, new = papers(root / "templates_out" / name), papers(made / name)
        assert sorted(kept) == sorted(new)
        for file in kept:
            if file.endswith(".pdf"):
                assert same(without_lengths(kept[file]), without_lengths(new[file])), file
            else:
                assert same(kept[file], new[file]), file


@pytest.mark.parametrize(
    ("kept", "new", "is_same"),
    [
        (b"length 305.001 mm", b"length 305.002 mm", True),
        (b"length 305 mm", b"length 306 mm", False),
        (b"PASSES", b"FAILS 1 rule", False),
        (b"x 1 2", b"x 1", False),
    ],
)
def test_a_changed_paper_is_seen(kept: bytes, new: bytes, is_same: bool) -> None:
    assert same(kept, new) is is_same
