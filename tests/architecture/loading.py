"""What a piece of work loads: asked of the import cache of a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

# The most that measuring and judging a car may load beside the standard library.
# "cython_runtime" is the name that compiled parts of numpy and shapely file their own start-up under.
LIGHT = {"numpy", "shapely", "tree_sitter", "tree_sitter_toml", "tomli", "cython_runtime"}

HEAVY = {
    "cadquery",
    "OCP",
    "manifold3d",
    "reportlab",
    "svgwrite",
    "ezdxf",
    "matplotlib",
    "nicegui",
    "rich",
    "scipy",
    "sqlalchemy",
    "trimesh",
    "vtkmodules",
    "PIL",
}


def loaded_by(root: Path, statement: str) -> set[str]:
    """Top-level names of everything in the import cache of a fresh interpreter after `statement`."""
    code = f"{statement}\nimport sys\nprint('\\n'.join(sorted(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-X", "utf8", "-c", code],
        cwd=root,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert run.returncode == 0, run.stderr
    return {name.partition(".")[0] for name in run.stdout.split()}


def foreign(names: set[str]) -> set[str]:
    """Those of the names that are not of the standard library.

    A package that mypyc compiled, as tomli is, has a second module with a number for a name.
    """
    return {
        name
        for name in names
        if name not in sys.stdlib_module_names and not name.startswith("_") and not name.endswith("__mypyc")
    }
