"""The templates of one car as a whole process, and those of a class of 30 as one PDF.

    python tests/benchmarks/template_set.py [RUNS]

The peer is `python -c "import shapely, reportlab.pdfgen.canvas, svgwrite"`: what any program takes that
measures with the one and draws with the others, before it has done anything. Both are started by turns, so
that a busy machine slows both; told are the medians, the time of the processor, and the median of the ratios.
The bars: a set under 1 s, a class under 15 s, on a machine that does nothing else.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.class_of_1000 import write_class  # noqa: E402 - once the tests can be found

MOST_S, MOST_CLASS_S = 1.0, 15.0
PEER = ["-c", "import shapely, reportlab.pdfgen.canvas, svgwrite"]
SETS = {
    "templates kestrel, A4, PDF and SVG": ["kestrel", "--sheet", "a4"],
    "templates kestrel, A4, all formats": ["kestrel", "--sheet", "a4", "--format", "pdf,svg,dxf"],
    "templates plover, letter, PDF": ["plover", "--sheet", "letter", "--format", "pdf"],
    "templates lapwing, roll, PDF and SVG": ["lapwing", "--sheet", "roll:610"],
}
CLASS = 30


@dataclass(frozen=True)
class Taken:
    """Seconds from start to end, and of the processor."""

    wall_s: float
    cpu_s: float


def taken(words: list[str], cache: Path) -> Taken:
    """What a command takes. Modules are compiled once, as in an installed copy."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(cache)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before, began = os.times(), time.perf_counter()
    subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
    )
    wall, after = time.perf_counter() - began, os.times()
    cpu = after.children_user + after.children_system - before.children_user - before.children_system
    return Taken(wall, cpu)


def main(runs: int) -> int:
    """Measure and print; 1 when a bar is missed."""
    good = True
    with tempfile.TemporaryDirectory() as place:
        out, cache = Path(place) / "out", Path(place) / "cache"
        for name, words in SETS.items():
            command = ["-m", "bodyshop", "templates", *words, "--out", str(out / words[0])]
            taken(command, cache)
            taken(PEER, cache)
            pairs = [(taken(command, cache), taken(PEER, cache)) for _ in range(runs)]
            wall = statistics.median(ours.wall_s for ours, _ in pairs)
            cpu = statistics.median(ours.cpu_s for ours, _ in pairs)
            peer = statistics.median(theirs.wall_s for _, theirs in pairs)
            ratio = statistics.median(ours.wall_s / theirs.wall_s for ours, theirs in pairs)
            good = good and wall < MOST_S
            print(f"{name:38} {wall:5.2f} s ({cpu:.2f} s of processor), peer {peer:.2f} s: {ratio:.1f} times")
        folder = Path(place) / "class"
        write_class(folder, CLASS)
        command = ["-m", "bodyshop", "classpapers", str(folder), "--out", str(out / "class")]
        whole = taken(command, cache)
        good = good and whole.wall_s < MOST_CLASS_S
        print(f"{f'class of {CLASS}, one PDF':38} {whole.wall_s:5.1f} s ({whole.cpu_s:.1f} s of processor)")
    print(f"bars: {MOST_S:g} s, {MOST_CLASS_S:g} s: {'kept' if good else 'missed'}")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 7))
