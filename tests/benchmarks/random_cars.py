"""Three hundred random cars against the 3D kernel: the worst difference of each measure.

    python tests/benchmarks/random_cars.py [FIRST LAST] [--walls]

`--walls` leaves out volumes and areas, which take the kernel longer. Exit code 1 where a difference is larger
than its bar. The same cars, fewer of them, are compared by tests/outside/test_random_cars.py.
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.outside.random_cars import car_numbers
from tests.outside.random_compare import compared, off_by


def main() -> int:
    """Compare, print a table of the worst, and say by the exit code whether all of them are within bars."""
    numbers = [int(a) for a in sys.argv[1:] if not a.startswith("-")]
    first, last = numbers if len(numbers) == 2 else (0, 300)
    worst: dict[str, tuple[float, int, float, float]] = defaultdict(lambda: (-1.0, -1, 0.0, 0.0))
    count: dict[str, int] = defaultdict(int)
    bad = 0
    for seed in range(first, last):
        for name, (ours, theirs) in compared(car_numbers(seed), solids="--walls" not in sys.argv).items():
            off = off_by(name, ours, theirs)
            off = math.inf if math.isnan(off) else off
            count[name] += 1
            if off > 1:
                bad += 1
                print(f"car {seed}: {name} is {ours:.6g}, by the kernel {theirs:.6g}")
            if off > worst[name][0]:
                worst[name] = (off, seed, ours, theirs)
    print(f"{'measure':28} {'cars':>5} {'worst, of its bar':>18} {'car':>5} {'ours':>14} {'kernel':>14}")
    for name, (off, seed, ours, theirs) in sorted(worst.items()):
        print(f"{name:28} {count[name]:5} {off:18.4f} {seed:5} {ours:14.6f} {theirs:14.6f}")
    print(f"{last - first} cars, {bad} differences above their bars")
    return 1 if bad else 0


if __name__ == "__main__":
    raise SystemExit(main())
