"""The papers under templates_out/ are those that the program makes today: the README shows them.

When this fails and the change is meant, look at the new papers and keep them:

    bodyshop make samples/kestrel.toml
"""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path

import pypdf
import pytest

from bodyshop.app.cli import main
from bodyshop.foundation.files.manifest import MANIFEST

NUMBER = re.compile(rb"-?[0-9]+(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?")
# Versions of the libraries may differ in a last digit; the papers' own bar is 0.01 mm.
CLOSE = 0.005
HANDLE = re.compile(rb"(?<=\n) *(?:5|330)\n[0-9A-F]+\n")
SOLID = (".stl", ".step", ".3mf")


def folders(root: Path) -> list[str]:
    """Those the program made; the README's pictures are kept beside them."""
    return sorted(path.name for path in (root / "templates_out").iterdir() if (path / MANIFEST).is_file())


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the program makes of the same samples now, without the solid."""
    root = Path(__file__).resolve().parents[2]
    here = tmp_path_factory.mktemp("made")
    shutil.copytree(root / "samples", here / "samples")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        patch.delenv("COLUMNS", raising=False)
        patch.setattr("bodyshop.app.cli.make.solid_files", lambda *_, **__: {})
        for name in folders(root):
            assert main(["make", f"samples/{name}.toml"]) == 0
    return here / "templates_out"


def papers(folder: Path) -> dict[str, bytes]:
    return {
        path.name: _plain(path)
        for path in folder.iterdir()
        if path.suffix not in SOLID and path.name != MANIFEST
    }


def _plain(path: Path) -> bytes:
    """A paper without what its library, and not its drawing, decides."""
    data = path.read_bytes().replace(b"\r\n", b"\n")
    if path.suffix == ".dxf":
        # Group codes 5 and 330 are handles, which any version of the library counts as it likes.
        data = HANDLE.sub(b"", data.partition(b"\nENTITIES\n")[2].partition(b"\nENDSEC\n")[0])
        assert data
    return data


def same(kept: bytes, new: bytes) -> bool:
    """Whether two papers are the same but for the last digits of their numbers."""
    if NUMBER.split(kept) != NUMBER.split(new):
        return False
    pairs = zip(NUMBER.findall(kept), NUMBER.findall(new), strict=True)
    return all(a == b or abs(float(a) - float(b)) <= CLOSE for a, b in pairs)


def pages(pdf: bytes) -> list[tuple[bytes, list[float]]]:
    """What is drawn on every page of a PDF, and the size of the page, as pypdf reads them."""
    found = []
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        contents = page.get_contents()
        assert contents is not None
        found.append((contents.get_data(), [float(side) for side in page.mediabox]))
    return found


def test_at_least_one_sample_is_kept(root: Path) -> None:
    assert "kestrel" in folders(root)


def test_the_committed_papers_are_todays(root: Path, made: Path) -> None:
    for name in folders(root):
        kept, new = papers(root / "templates_out" / name), papers(made / name)
        assert sorted(kept) == sorted(new)
        for file in kept:
            if file.endswith(".pdf"):
                assert len(pages(kept[file])) == len(pages(new[file])), file
                for (old_ink, old_size), (new_ink, new_size) in zip(
                    pages(kept[file]), pages(new[file]), strict=True
                ):
                    assert old_size == new_size, file
                    assert same(old_ink, new_ink), file
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
