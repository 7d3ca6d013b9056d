"""Changes the code a little, many times, and counts the changes that no test notices.

A mutant is one change of one place: a comparison turned or moved by its border, plus for minus, `min` for
`max`, `and` for `or`, a condition denied, a number changed, a result dropped, a statement left out. For each
mutant the tests of its area run until the first fails, those of its module first. A mutant that no test
notices is printed with its file, line and change: either no person could see the difference, or a test is
missing.

The sample follows the seed alone. The work is done in a copy of the tree in a temporary folder, never in the
tree itself. `--state` goes on where a run stopped. It needs a system that can fork.

    python tests/benchmarks/mutate.py --areas mass trials --count 25 --seed 1 --state mutants.jsonl
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]

# area: its sources, the folders or files of its tests, those that know most first.
AREAS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "body": (("bodyshop/car/body",), ("tests/car", "tests/outside", "tests/output")),
    "measures": (("bodyshop/car/measures",), ("tests/car", "tests/outside", "tests/rules", "tests/output")),
    "rulebook": (("bodyshop/rules/rulebook",), ("tests/rules", "tests/output", "tests/app")),
    "mass": (("bodyshop/car/assembly/mass.py",), ("tests/car", "tests/outside", "tests/output")),
    "raceday": (("bodyshop/records/raceday",), ("tests/records", "tests/output", "tests/app")),
    "trials": (("bodyshop/records/book",), ("tests/records", "tests/app")),
}

# module: words in the names of the test files that know it best.
KNOWN_BY: dict[str, tuple[str, ...]] = {
    "bore_wall": ("walls", "holes"),
    "clearance": ("walls",),
    "x_profile": ("sections", "volumes"),
    "moments": ("volumes", "assembly"),
    "notches": ("areas", "sections"),
    "rectangles": ("areas", "sections"),
    "rim": ("walls", "holes"),
    "rings": ("sections",),
    "section": ("sections",),
    "surfaces": ("areas", "volumes"),
    "csv_cells": ("csv",),
    "csv_in": ("csv",),
    "csv_rows": ("csv",),
    "entering": ("commands",),
    "salvage": ("damage", "trouble"),
    "repair": ("damage", "trouble"),
    "database_file": ("trouble", "damage"),
    "class_summary": ("day", "admission"),
    "telling": ("day", "papers"),
    "reading": ("day", "draw"),
    "consequences": ("judge", "inherit", "words"),
    "limits": ("judge", "hostile"),
    "rules": ("hostile", "judge"),
    "inheritance": ("inherit", "hostile"),
    "load": ("hostile", "inherit"),
}

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
COUNTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
}
SWAPPED = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: where it stands, what stood there, and what stands there now."""

    area: str
    file: str
    line: int
    start: int
    end: int
    before: str
    after: str

    @property
    def key(self) -> str:
        """What names the change in a state file."""
        return f"{self.file}:{self.start}:{self.end}:{self.after}"


def changes(node: ast.AST) -> Iterator[str]:  # noqa: C901, PLR0912 - a branch for each kind of place
    """What a place may be changed into."""
    match node:
        case ast.Compare(left, [op], [right]):
            for other in COMPARED[type(op)]:
                yield ast.unparse(ast.Compare(left, [other()], [right]))
        case ast.BinOp(left, op, right) if type(op) in COUNTED and not _words(node):
            yield ast.unparse(ast.BinOp(left, COUNTED[type(op)](), right))
        case ast.BoolOp(op, values):
            joined = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield f"({ast.unparse(ast.BoolOp(joined, values))})"
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield f"({ast.unparse(operand)})"
        case ast.Call(ast.Name(name)) if name in SWAPPED:
            yield ast.unparse(ast.Call(ast.Name(SWAPPED[name]), node.args, node.keywords))
        case ast.Constant(bool() as value):
            yield repr(not value)
        case ast.Constant(int() as value):
            yield repr(value + 1)
        case ast.Constant(float() as value):
            yield repr(value * 1.5 if value else 1.0)
        case ast.IfExp(test, body, orelse):
            yield f"({ast.unparse(ast.IfExp(test, orelse, body))})"
        case ast.Return(value) if value is not None and not _is_none(value):
            yield "return None"
        case ast.AugAssign() | ast.Continue():
            yield "pass"
        case ast.Expr(ast.Call() | ast.Yield() | ast.YieldFrom()):
            # A generator stays one.
            yield "pass" if isinstance(node.value, ast.Call) else "yield from ()"


def _words(node: ast.BinOp) -> bool:
    return any(
        isinstance(each, ast.JoinedStr) or (isinstance(each, ast.Constant) and isinstance(each.value, str))
        for each in ast.walk(node)
    )


def _is_none(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def places(node: ast.AST) -> Iterator[ast.AST]:
    """Every place of a tree that is run: no annotation, decorator, or field between braces."""
    yield node
    if isinstance(node, ast.JoinedStr):
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "bases", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from places(child)


def mutants_of(area: str, file: Path) -> list[Mutant]:
    """All mutants of a file."""
    text = file.read_bytes()
    begins = [0]
    for line in text.splitlines(keepends=True):
        begins.append(begins[-1] + len(line))
    name = file.relative_to(ROOT).as_posix()
    found: list[Mutant] = []

    def add(at: ast.AST, after: str) -> None:
        line, column = getattr(at, "lineno", 0), getattr(at, "col_offset", 0)
        start = begins[line - 1] + column
        end = begins[getattr(at, "end_lineno", 0) - 1] + getattr(at, "end_col_offset", 0)
        found.append(Mutant(area, name, line, start, end, text[start:end].decode(), after))

    for top in ast.parse(text).body:
        targets = top.targets if isinstance(top, ast.Assign) else []
        if any(isinstance(each, ast.Name) and each.id == "__all__" for each in targets):
            continue
        for node in places(top):
            for after in changes(node) if hasattr(node, "lineno") else ():
                add(node, after)
            if isinstance(node, ast.If | ast.While):
                add(node.test, f"not ({ast.unparse(node.test)})")
    return found


def sample(area: str, count: int, seed: int) -> list[Mutant]:
    """Some mutants of an area, drawn without favour."""
    sources, _ = AREAS[area]
    files = [
        file
        for source in sources
        for file in ([ROOT / source] if source.endswith(".py") else sorted((ROOT / source).rglob("*.py")))
    ]
    every = [mutant for file in files for mutant in mutants_of(area, file)]
    order = np.random.default_rng([seed, len(area)]).permutation(len(every))
    return [every[k] for k in order[:count]]


def tests_for(mutant: Mutant, tree: Path) -> list[str]:
    """The test files of an area, those of the mutant's module first."""
    module = Path(mutant.file).stem
    words = (module.rstrip("s"), *KNOWN_BY.get(module, ()))
    files: list[str] = []
    for name in AREAS[mutant.area][1]:
        here = tree / name
        found = [here] if here.is_file() else sorted(here.glob("test_*.py"))
        found = [file for file in found if not file.name.startswith("test_bench")]  # no browser here
        files += [file.relative_to(tree).as_posix() for file in found]
    return sorted(files, key=lambda file: not any(word in Path(file).stem for word in words))


def copied(tree: Path) -> None:
    """A copy of everything that tests need."""
    wanted = ("bodyshop", "tests", "rules", "samples", "templates_out", "pyproject.toml", "README.md")
    for name in (*wanted, "DEVELOPERS.md", "LICENSE"):
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(ROOT / name, tree / name)


def run_tests(tree: Path, files: list[str], limit_s: float, *, keep: bool = False) -> tuple[str, str]:
    """`killed`, `survived` or `timed out`, and the test that failed. The tests run in their own process."""
    log = tree.parent / "tests.log"
    child = os.fork()
    if child == 0:
        os.setsid()
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(tree)
        sys.path.insert(0, str(tree))
        os.environ["PYTHONPATH"] = str(tree)
        sys.dont_write_bytecode = not keep
        if not keep:
            os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        import pytest

        # Beside the copy: no test may write in it.
        base = tempfile.mkdtemp(dir=tree.parent)
        code = 70
        try:
            plain = ["-x", "-q", "--no-header", "--tb=line", "-p", "no:cacheprovider", f"--basetemp={base}/t"]
            code = int(pytest.main([*plain, *files]))
        except BaseException:
            traceback.print_exc()
            raise
        finally:
            shutil.rmtree(base, ignore_errors=True)
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)
    until = time.monotonic() + limit_s
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            break
        if time.monotonic() > until:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "timed out", ""
        time.sleep(0.02)
    said = log.read_text(encoding="utf-8", errors="replace")
    by = re.search(r"^(?:FAILED|ERROR) (\S+)", said, re.MULTILINE)
    # pytest ends with 1 where a test failed and with 2 where a test file could not be read.
    outcome = {0: "survived", 1: "killed", 2: "killed"}.get(os.waitstatus_to_exitcode(status))
    if outcome is None:
        raise RuntimeError(f"the tests did not run: {said[-2000:]}")
    return outcome, by[1] if by else said[-200:]


def warmed() -> None:
    """Loads what every run of tests needs, but nothing of our own, so that it is loaded once."""
    import pytest
    import scipy.integrate
    import shapely
    import sqlalchemy.orm
    import tree_sitter_toml

    for each in (pytest, scipy.integrate, shapely, sqlalchemy.orm, tree_sitter_toml):
        assert each.__name__


def tried(mutant: Mutant, tree: Path, limit_s: float) -> dict[str, object]:
    """A mutant and what became of it; the copy is afterwards as it was."""
    file = tree / mutant.file
    before = file.read_bytes()
    for stale in (file.parent / "__pycache__").glob(f"{file.stem}.*.pyc"):
        stale.unlink()
    try:
        file.write_bytes(before[: mutant.start] + mutant.after.encode() + before[mutant.end :])
        began = time.monotonic()
        outcome, by = run_tests(tree, tests_for(mutant, tree), limit_s)
    finally:
        file.write_bytes(before)
    took = round(time.monotonic() - began, 1)
    return {**asdict(mutant), "key": mutant.key, "outcome": outcome, "by": by, "s": took}


def told(rows: list[dict[str, object]]) -> None:
    """The score of each area, and every mutant that was not killed."""
    for area in AREAS:
        own = [row for row in rows if row["area"] == area]
        if own:
            ends = [row["outcome"] for row in own]
            counts = ", ".join(f"{ends.count(end)} {end}" for end in ("killed", "timed out", "survived"))
            share = 100.0 * ends.count("survived") / len(own)
            print(f"{area}: {len(own)} mutants: {counts}; {share:.0f} % survived")
    for row in rows:
        if row["outcome"] != "killed":
            print(f"{row['outcome']}: {row['file']}:{row['line']}: {row['before']!r} -> {row['after']!r}")


def main() -> int:
    """Run the sample; 1 where more than a tenth survived."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--areas", nargs="+", choices=AREAS, default=list(AREAS))
    parser.add_argument("--count", type=int, default=30, help="mutants of each area")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--limit", type=float, default=120.0, help="seconds for a mutant's tests")
    parser.add_argument(
        "--state", type=Path, help="file of results, one a line; what is in it is not done again"
    )
    parser.add_argument(
        "--again", choices=("survived", "timed out"), nargs="*", default=[], help="do these again"
    )
    parser.add_argument("--no-baseline", action="store_true", help="trust that the unchanged tree passes")
    chosen = parser.parse_args()
    wanted = [
        mutant
        for rank in zip(*(sample(area, chosen.count, chosen.seed) for area in chosen.areas), strict=False)
        for mutant in rank
    ]
    rows: dict[str, dict[str, object]] = {}
    if chosen.state and chosen.state.exists():
        for line in chosen.state.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            rows[row["key"]] = row
    warmed()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        tree.mkdir()
        copied(tree)
        for area in chosen.areas if not chosen.no_baseline else ():
            files = tests_for(Mutant(area, "", 0, 0, 0, "", ""), tree)
            outcome, by = run_tests(tree, files, 20 * chosen.limit, keep=True)
            if outcome != "survived":
                print(f"{area}: the unchanged tree is {outcome}: {by}")
                return 2
        for mutant in wanted:
            if mutant.key in rows and rows[mutant.key]["outcome"] not in chosen.again:
                continue
            row = rows[mutant.key] = tried(mutant, tree, chosen.limit)
            if chosen.state:
                with chosen.state.open("a", encoding="utf-8") as out:
                    out.write(json.dumps(row) + "\n")
    seen = [rows[mutant.key] for mutant in wanted]
    told(seen)
    return 1 if sum(row["outcome"] == "survived" for row in seen) > 0.1 * len(seen) else 0


if __name__ == "__main__":
    sys.exit(main())
