"""The house stands: rooms import downwards only, low rooms are light, every module says what it offers."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.architecture.loading import HEAVY, LIGHT, foreign, loaded_by

# The rooms that `check` stands on, the lowest first.
LOW_ROOMS = ["foundation", "geometry", "car", "rules"]
ROOMS = [*LOW_ROOMS, "physics", "drawing", "solids", "records", "output", "app"]


def modules(root: Path) -> list[Path]:
    found = sorted((root / "bodyshop").rglob("*.py"))
    assert len(found) > 10
    return found


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


def imports_of(root: Path, room: str) -> str:
    """Statements that import every module of a room."""
    package = root / "bodyshop"
    names = []
    for file in sorted((package / room).rglob("*.py")):
        parts = file.relative_to(root).with_suffix("").parts
        names.append(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
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
    ("file", "slip", "contract"),
    [
        ("car/stock/woods.py", "def slip():\n    import reportlab\n", "heavy"),
        (
            "car/stock/woods.py",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from bodyshop import rules\n",
            "rooms",
        ),
        ("car/stock/woods.py", "def slip():\n    from bodyshop.car import body\n", "car"),
        ("records/book/store.py", "def slip():\n    from bodyshop.records import raceday\n", "records"),
        ("output/words/verdict.py", "def slip():\n    from bodyshop.output import terminal\n", "output"),
        ("drawing/sheet/pens.py", "def slip():\n    from bodyshop.drawing import layout\n", "drawing"),
        ("drawing/sheet/pens.py", "def slip():\n    from bodyshop import car\n", "sheet"),
    ],
)
def test_each_contract_is_seen_to_catch_a_slip(
    root: Path, tmp_path: Path, contracts, file: str, slip: str, contract: str
) -> None:
    shutil.copytree(root / "bodyshop", tmp_path / "bodyshop", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(root / "pyproject.toml", tmp_path)
    with (tmp_path / "bodyshop" / file).open("a", encoding="utf-8") as module:
        module.write(slip)
    run = lint_imports(tmp_path)
    assert run.returncode == 1
    # the terminal of the linter breaks long names
    assert f"{contracts[contract]['name']} BROKEN" in " ".join(run.stdout.split())


def test_a_room_that_no_contract_names_is_seen(root: Path, tmp_path: Path) -> None:
    shutil.copytree(root / "bodyshop", tmp_path / "bodyshop", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(root / "pyproject.toml", tmp_path)
    (tmp_path / "bodyshop" / "attic").mkdir()
    (tmp_path / "bodyshop" / "attic" / "__init__.py").write_text("", encoding="utf-8")
    run = lint_imports(tmp_path)
    assert run.returncode == 1
    assert "bodyshop.attic" in run.stdout


def test_the_folder_list_is_the_list_of_rooms(root: Path, contracts) -> None:
    assert contracts["rooms"]["layers"] == ROOMS[::-1]
    folders = {file.parent.name for file in (root / "bodyshop").glob("*/__init__.py")}
    assert folders == set(ROOMS)
    loose = {file.name for file in (root / "bodyshop").glob("*.py")}
    assert loose == {"__init__.py", "__main__.py"}


def test_tests_lie_in_folders_of_the_rooms_names(root: Path) -> None:
    beside = {"architecture", "benchmarks", "golden", "hostile", "outside"}
    folders = {path.name for path in (root / "tests").iterdir() if path.is_dir() and path.name[0] not in "._"}
    assert folders == set(ROOMS) | beside


def test_contracts_cover_what_this_file_tries(contracts) -> None:
    assert set(contracts["heavy"]["forbidden_modules"]) <= HEAVY
    light = [name.removeprefix("bodyshop.") for name in contracts["heavy"]["source_modules"]]
    assert light == LOW_ROOMS, "name every low room in the contract called heavy (pyproject.toml)"


@pytest.mark.parametrize("room", LOW_ROOMS)
def test_low_rooms_load_nothing_heavy(root: Path, room: str) -> None:
    # What the interpreter itself loads at the start (an editable install's hook, say) is not ours.
    loaded = loaded_by(root, imports_of(root, room)) - loaded_by(root, "") - {"bodyshop"}
    assert foreign(loaded) <= LIGHT


def test_public_class_names_stand_in_one_module(root: Path) -> None:
    homes: dict[str, list[str]] = {}
    for file in modules(root):
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(str(file.relative_to(root)))
    twice = {name: found for name, found in homes.items() if len(found) > 1}
    assert not twice


def test_no_module_is_longer_than_a_thought(root: Path) -> None:
    long = {}
    for file in modules(root):
        lines = len(file.read_text(encoding="utf-8").splitlines())
        if lines > 470:
            long[str(file.relative_to(root))] = lines
    assert not long


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
