"""How long a search for remedies takes: one spoilt number, and a car that breaks many rules.

    python tests/benchmarks/fixing_times.py [RUNS]

Told are the trials (one design read and measured as far as it was asked for), the least time of the runs,
wall and processor, and what a trial comes to in whole checks of the same design, made by turns.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from bodyshop.rules.checking import check_car, open_car
from bodyshop.rules.remedies import make_plan

ROOT = Path(__file__).resolve().parents[2]

CASES = {
    "kestrel, bore depth 48": ("kestrel", "depth = 52", "depth = 48"),
    "swift, half_width 17": ("swift", "half_width = 18.5", "half_width = 17"),
    "dipper, bore depth 1 7/8": ("dipper", "depth = 2\n", 'depth = "1 7/8"\n'),
    "lapwing as it is": ("lapwing", "", ""),
}


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Wall and processor seconds."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def _check(path: Path) -> None:
    check_car(open_car(path))


def main(runs: int) -> None:
    """Print the table."""
    print(f"{'design':26} {'mended':>8} {'trials':>6} {'wall s':>7} {'cpu s':>6} {'checks a trial':>14}")
    with tempfile.TemporaryDirectory() as folder:
        for name, (sample, old, new) in CASES.items():
            text = (ROOT / "samples" / f"{sample}.toml").read_text(encoding="utf-8")
            path = Path(folder) / f"{sample}.toml"
            path.write_text(text.replace(old, new, 1) if old else text, encoding="utf-8")
            opened = open_car(path)
            plan = make_plan(opened, seconds=None, passes=1)
            searches, checks = [], []
            for _ in range(runs):
                searches.append(timed(partial(make_plan, opened, seconds=None, passes=1)))
                checks.append(timed(partial(_check, path)))
            wall, cpu = min(w for w, _ in searches), min(c for _, c in searches)
            share = cpu / plan.trials / min(c for _, c in checks)
            mended = f"{len(plan.before.failed) - len(plan.remaining)}/{len(plan.before.failed)}"
            print(f"{name:26} {mended:>8} {plan.trials:6} {wall:7.2f} {cpu:6.2f} {share:14.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
