"""How long a class takes to check, how that grows, and how much memory it needs.

    python tests/benchmarks/class_of_1000.py [COUNT]

The class is made of the sample designs, every one a little different: the same files in every run. Measured
is the whole command, from the words typed to the end, with its CSV, its JSON and its HTML page written.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bodyshop.foundation.toml import Source, read_source
from bodyshop.foundation.units import LengthUnit, parse_length

ROOT = Path(__file__).resolve().parents[2]

_MOVED = ("dimensions", "profile", "plan", "axles", "screw_eye")
_LENGTHS = frozenset(("x", "height", "behind", "ahead"))


def write_class(folder: Path, count: int, seed: int = 2931) -> list[Path]:
    """`count` designs, made from the samples by moving every corner up to 0.2 mm: the same for one seed."""
    chance = np.random.default_rng(seed)
    samples = [read_source(file) for file in sorted((ROOT / "samples").glob("*.toml"))]
    files = []
    for number in range(count):
        sample = samples[number % len(samples)]
        stem = Path(sample.name).stem
        text = _moved(sample, chance)
        text = text.replace(f'name = "{stem.capitalize()}"', f'name = "{stem.capitalize()} {number}"')
        file = folder / f"bench-{number % 30 + 1:02}" / f"{stem}-{number:05}.toml"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8", newline="\n")
        files.append(file)
    return files


def _moved(source: Source, chance: np.random.Generator) -> str:
    inches = source.values.get("units") == "in"
    unit = LengthUnit.IN if inches else LengthUnit.MM
    shape = {name: source.values.get(name) for name in _MOVED}
    lengths = {
        path: parse_length(value, unit) if isinstance(value, str) else value * unit.mm
        for path, value in _lengths(shape, ())
    }
    # The nose and the tail stay where they are, since both views have to end there.
    kept = {
        min(lengths.values()),
        0.0,
        *(v for p, v in lengths.items() if v > 250.0 and p[0] in ("profile", "plan")),
    }
    text = source.text
    for path in sorted(lengths, key=lambda each: source.value_range(each) or (0, 0), reverse=True):
        where = source.value_range(path)
        if where is None or lengths[path] in kept:
            continue
        moved = lengths[path] + float(chance.uniform(-0.2, 0.2))
        text = text[: where[0]] + f"{moved / unit.mm:.4f}" + text[where[1] :]
    return text


def _lengths(
    value: object, path: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], float | str]]:
    """Corners, places along the car and named dimensions: numbers, and texts that begin with a digit."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _lengths(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from _lengths(inner, (*path, number))
    elif path[0] == "dimensions" or path[-1] in _LENGTHS or isinstance(path[-1], int):
        if isinstance(value, str) and value[:1].isdigit():
            yield path, value
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield path, float(value)


@dataclass(frozen=True, slots=True)
class Run:
    """One run of the command: seconds from start to end, seconds of processor time in all processes, and
    the greatest memory of any one of them, MB.
    """

    cars: int
    seconds: float
    worked: float
    memory_mb: float

    @property
    def told(self) -> str:
        """In a line. On a machine that does something else as well, the processor time tells more."""
        return (
            f"{self.cars:6} designs: {self.seconds:6.2f} s, {self.cars / self.seconds:4.0f} a second; "
            f"{1000 * self.worked / self.cars:5.1f} ms of processor time each; {self.memory_mb:.0f} MB"
        )


_WATCHED = """
import resource, sys
from bodyshop.app.cli import main
if __name__ == "__main__":
    code = main(sys.argv[1:])
    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    used = [resource.getrusage(who) for who in whose]
    worked = sum(each.ru_utime + each.ru_stime for each in used)
    print(f"used {worked} {max(each.ru_maxrss for each in used)}", file=sys.stderr)
    raise SystemExit(code)
"""


def timed(folder: Path, out: Path, cars: int, *more: str) -> Run:
    """Run the command once. Ends where it does not do its work."""
    script = out / "watched.py"
    script.write_text(_WATCHED, encoding="utf-8")
    command = [sys.executable, str(script), "class", str(folder), "--out", str(out / f"class-{cars}"), *more]
    started = time.perf_counter()
    ran = subprocess.run(
        command,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    seconds = time.perf_counter() - started
    if ran.returncode not in (0, 1, 2) or "used " not in ran.stderr:
        raise SystemExit(ran.stderr)
    worked, memory_kb = ran.stderr.rpartition("used ")[2].split()
    return Run(cars, seconds, float(worked), int(memory_kb) / 1024)


def main() -> None:
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        for cars in (most // 8, most // 4, most // 2, most):
            write_class(folder / str(cars), cars)
            print(timed(folder / str(cars), folder, cars).told)
        print("and in one process")
        print(timed(folder / str(most // 4), folder, most // 4, "--jobs", "1").told)


if __name__ == "__main__":
    main()
