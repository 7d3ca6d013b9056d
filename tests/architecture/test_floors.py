"""The house stands: floors import downwards only, low floors are light, every module says what it offers."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.architecture.loading import HEAVY, LIGHT, foreign, loaded_by

# Floors 0 to 5: those that exist are tried, and a name that exists nowhere in the contract fails below.
LOW_FLOORS = [
    "problems",
    "place",
    "lengths",
    "student",
    "repeats",
    "resources",
    "source",
    "outline",
    "expressions",
    "stock",
    "design",
    "body",
    "assembly",
    "measures",
    "rulebook",
]


def modules(root: Path) -> list[Path]:
    found = sorted((root / "bodyshop").rglob("*.py"))
    assert len(found) > 10
    return found


def exists(root: Path, floor: str) -> bool:
    package = root / "bodyshop"
    return (package / floor / "__init__.py").is_file() or (package / f"{floor}.py").is_file()


def assigned(tree: ast.Module) -> list[tuple[str, ast.expr | None]]:
    """Names that a module sets at its top, with what they are set to."""
    found: list[tuple[str, ast.expr | None]] = []
    for node in tree.body:
        targets = node.targets if isinstance(node, ast.Assign) else []
        if isinstance(node, ast.AnnAssign):
            targets = [node.target]
        if isinstance(node, ast.Assign | ast.AnnAssign):
            found += [(target.id, node.value) for target in targets if isinstance(target, ast.Name)]
    return found


def imports_of(root: Path, floor: str) -> str:
    """Statements that import every module of a floor."""
    path = root / "bodyshop" / floor
    names = [f"bodyshop.{floor}"]
    if path.is_dir():
        names += [
            f"bodyshop.{floor}.{file.stem}" for file in sorted(path.glob("*.py")) if file.stem[0] != "_"
        ]
    return "\n".join(f"import {name}" for name in names)


@pytest.fixture(scope="session")
def contracts() -> dict[str, dict[str, object]]:
    root = Path(__file__).resolve().parents[2]
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    return {contract["id"]: contract for contract in settings["tool"]["importlinter"]["contracts"]}


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    command = shutil.which("lint-imports", path=str(Path(sys.executable).parent))
    if command is None:
        pytest.skip("import-linter is not installed: it comes with the extra called lint")
    return subprocess.run(
        [command, "--no-cache"], cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False
    )


def test_contracts_hold(root: Path) -> None:
    run = lint_imports(root)
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize(
    ("slip", "contract"),
    [
        ("def slip():\n    import reportlab\n", "heavy"),
        ("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from bodyshop import body\n", "floors"),
    ],
)
def test_contracts_are_seen_to_catch_a_slip(
    root: Path, tmp_path: Path, contracts, slip: str, contract: str
) -> None:
    shutil.copytree(root / "bodyshop", tmp_path / "bodyshop", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(root / "pyproject.toml", tmp_path)
    with (tmp_path / "bodyshop" / "stock" / "woods.py").open("a", encoding="utf-8") as woods:
        woods.write(slip)
    run = lint_imports(tmp_path)
    assert run.returncode == 1
    assert f"{contracts[contract]['name']} BROKEN" in run.stdout


def test_contracts_cover_what_this_file_tries(contracts) -> None:
    named = " ".join(contracts["floors"]["layers"]).replace("(", " ").replace(")", " ").split()
    assert set(LOW_FLOORS) <= set(named)
    assert set(contracts["heavy"]["forbidden_modules"]) <= HEAVY


def test_every_low_floor_that_exists_is_kept_light_by_contract(root: Path, contracts) -> None:
    kept = {name.removeprefix("bodyshop.") for name in contracts["heavy"]["source_modules"]}
    existing = {name for name in LOW_FLOORS if exists(root, name)}
    assert kept == existing, "name every low floor in the contract called heavy (pyproject.toml)"


@pytest.mark.parametrize("floor", LOW_FLOORS)
def test_low_floors_load_nothing_heavy(root: Path, floor: str) -> None:
    if not exists(root, floor):
        pytest.skip(f"bodyshop.{floor} is not built yet")
    # What the interpreter itself loads at the start (an editable install's hook, say) is not ours.
    loaded = loaded_by(root, imports_of(root, floor)) - loaded_by(root, "") - {"bodyshop"}
    assert foreign(loaded) <= LIGHT


def test_the_import_cache_shows_a_heavy_library(root: Path) -> None:
    # the test above is seen to catch what it looks for
    assert "trimesh" in loaded_by(root, "import trimesh") & HEAVY


def test_every_module_lists_what_it_offers(root: Path) -> None:
    for file in modules(root):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        offers = [value for name, value in assigned(tree) if name == "__all__"]
        if file == root / "bodyshop" / "__init__.py" and not offers:
            # the top of the package offers its version and nothing else
            assert "__version__" in file.read_text(encoding="utf-8")
            continue
        assert len(offers) == 1, f"{file.relative_to(root)} has no __all__"
        names = [ast.literal_eval(element) for element in getattr(offers[0], "elts", [])]
        assert len(names) == len(set(names)), f"{file.relative_to(root)} lists a name twice"
        assert all(not name.startswith("_") for name in names), file


def test_every_folder_of_modules_is_a_package(root: Path) -> None:
    # without this file the import contracts do not see the modules in it
    for folder in {file.parent for file in modules(root)}:
        assert (folder / "__init__.py").is_file(), folder.relative_to(root)


def test_no_star_imports_and_no_drawer_for_odds_and_ends(root: Path) -> None:
    for file in modules(root):
        assert file.stem not in {"util", "utils", "helpers", "common", "misc"}, file
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert all(alias.name != "*" for alias in node.names), file
