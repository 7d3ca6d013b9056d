"""`bodyshop check` as a whole process: its time against `python -c "import shapely"`, and its memory.

    python tests/benchmarks/check_process.py [RUNS]

Both are started by turns, so that a busy machine slows both; told are the medians and the median of the
ratios. The bars: at most 3 times as long, less than 150 MB.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MOST_RATIO = 3.0
MOST_MB = 150.0

CHECKS = {
    "check kestrel": ["check", "samples/kestrel.toml"],
    "check kestrel --json": ["check", "samples/kestrel.toml", "--json"],
    "check lapwing": ["check", "samples/lapwing.toml"],
    "measure kestrel": ["measure", "samples/kestrel.toml"],
}
# Told by the process itself at its end: a child's peak is not to be had in the same way everywhere.
PEAK = """
import sys
from bodyshop.app.cli import main
main(sys.argv[1:])
try:
    import resource
    unit = 1 << 20 if sys.platform == "darwin" else 1 << 10
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit
    print(peak, file=sys.stderr)
except ImportError:
    print("nan", file=sys.stderr)
"""


def seconds(*command: str) -> float:
    """How long a command takes from start to end."""
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=_environment(), stdout=subprocess.DEVNULL, check=False
    )
    return time.perf_counter() - began


def peak_mb(words: list[str]) -> float:
    """The most memory that a run holds, MB; not a number where the system does not tell."""
    ran = subprocess.run(
        [sys.executable, "-c", PEAK, *words],
        cwd=ROOT,
        env=_environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    return float(ran.stderr.split()[-1])


def _environment() -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPATH": str(ROOT)}


def main(runs: int) -> int:
    """Print the table; 1 when a bar is missed."""
    missed = False
    print(f"{'':24}{'shapely':>10}{'command':>10}{'ratio':>8}{'memory':>10}")
    for name, words in CHECKS.items():
        seconds("-m", "bodyshop", *words)  # writes the compiled modules
        pairs = [(seconds("-c", "import shapely"), seconds("-m", "bodyshop", *words)) for _ in range(runs)]
        ratio = statistics.median(command / shapely for shapely, command in pairs)
        memory = peak_mb(words)
        shapely, command = (statistics.median(pair[i] for pair in pairs) for i in (0, 1))
        fine = ratio <= MOST_RATIO and not memory > MOST_MB
        missed |= not fine
        note = "" if fine else "  misses the bar"
        print(f"{name:24}{shapely:9.3f}s{command:9.3f}s{ratio:8.2f}{memory:7.0f} MB{note}")
    return int(missed)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 15))
