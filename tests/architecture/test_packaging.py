"""A copy built from this checkout and installed into an empty environment works from an empty folder."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.packaging

LOOK = """
import json
from pathlib import Path
import bodyshop
from bodyshop.foundation.files.shipped import rules_folder, samples_folder, stock_folder
from bodyshop.car.stock.woods import woods
print(json.dumps({
    "package": str(Path(bodyshop.__file__).parent),
    "version": bodyshop.__version__,
    "rules": sorted(path.name for path in rules_folder().glob("*.toml")),
    "samples": sorted(path.name for path in samples_folder().glob("*.toml")),
    "stock": sorted(path.name for path in stock_folder().glob("*.toml")),
    "woods": len(woods()),
}))
"""


def run(*command: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    environment["PYTHONUTF8"] = "1"
    return subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def build(root: Path, out: Path) -> tuple[Path, Path]:
    """The source archive of the checkout, and a wheel made from that archive."""
    done = run(sys.executable, "-m", "build", "--outdir", out, root, folder=out)
    if done.returncode != 0 and "CI" not in os.environ:
        text = done.stdout + done.stderr
        if "No module named build" in text:
            pytest.skip("the package called build is not installed: it comes with the extra called test")
        if "No matching distribution" in text or "Failed to establish a new connection" in text:
            pytest.skip("the build tools cannot be fetched: offline")
    assert done.returncode == 0, done.stdout + done.stderr
    return next(out.glob("*.tar.gz")), next(out.glob("*.whl"))


def install(wheel: Path, folder: Path) -> Path:
    """Install a wheel into a new environment; what it needs is borrowed from the one running."""
    made = run(sys.executable, "-m", "venv", "--without-pip", folder, folder=folder.parent)
    assert made.returncode == 0, made.stderr
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    python = programs / ("python.exe" if os.name == "nt" else "python")
    pip = run(
        sys.executable,
        "-m",
        "pip",
        "--python",
        python,
        "install",
        "--no-deps",
        "--no-index",
        wheel,
        folder=folder,
    )
    assert pip.returncode == 0, pip.stdout + pip.stderr
    purelib = Path(
        run(
            python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", folder=folder
        ).stdout.strip()
    )
    # A path named in a .pth file is searched, but its own .pth files are not followed: an editable copy of
    # the checkout in the running environment stays out of sight.
    borrowed = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (purelib / "borrowed.pth").write_text("\n".join(sorted(borrowed)) + "\n", encoding="utf-8")
    return programs


def test_installed_copy(root: Path, tmp_path: Path) -> None:
    dist, environment, empty = tmp_path / "dist", tmp_path / "environment", tmp_path / "empty"
    dist.mkdir()
    empty.mkdir()
    archive, wheel = build(root, dist)

    with tarfile.open(archive) as packed:
        names = {name.partition("/")[2] for name in packed.getnames()}
    assert {"pyproject.toml", "LICENSE", "README.md", "bodyshop/car/stock/woods.toml"} <= names
    with zipfile.ZipFile(wheel) as packed_wheel:
        names = set(packed_wheel.namelist())
    assert {"bodyshop/py.typed", "bodyshop/car/stock/woods.toml"} <= names
    assert not {name for name in names if name.startswith(("tests/", "rules/", "samples/"))}

    programs = install(wheel, environment)
    python = next(programs.glob("python*"))
    seen = run(python, "-c", LOOK, folder=empty)
    assert seen.returncode == 0, seen.stderr
    found = json.loads(seen.stdout)
    assert Path(found["package"]).is_relative_to(environment)
    for kind, folder in (("rules", "rules"), ("samples", "samples"), ("stock", "bodyshop/car/stock")):
        assert found[kind] == sorted(path.name for path in (root / folder).glob("*.toml"))
        assert found[kind]
    assert found["woods"] > 20

    program = shutil.which("bodyshop", path=str(programs))
    assert program is not None
    new = run(program, "new", "wren", folder=empty)
    assert new.returncode == 0, new.stdout + new.stderr
    checked = run(program, "check", "wren.toml", folder=empty)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert [path.name for path in empty.iterdir()] == ["wren.toml"]
