"""Designs, rulebooks, tables and trial books made wrong on purpose, and whatever crashes.

    python tests/benchmarks/fuzz.py --count 500000 --state fuzz.json

Mutant number N of a seed is the same wherever it is made. The state says how far a run has come: the same
command goes on from there. `--only KIND` and `--from N` look at single ones again. What crashes is put
into the folder `--finds`, one file for each place that is stumbled at; what is mended moves to
`tests/hostile/finds`, which a test goes through.
"""

from __future__ import annotations

import argparse
import gc
import json
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.fuzzing.trying import Crash, Kind, crash_of, kinds

__all__ = ["Campaign", "main"]

_DEEP_EVERY: Final = 8
"""One mutant in so many is measured, judged and reported on; the others stop once they are read."""

_SAVED_EVERY: Final = 500


@dataclass
class Campaign:
    """A run over mutants `next` and on; what it found, by the place that was stumbled at."""

    kinds: tuple[Kind, ...]
    seed: int = 0
    next: int = 0
    tried: Counter[str] = field(default_factory=Counter)
    crashed: Counter[str] = field(default_factory=Counter)
    seconds: float = 0.0

    def kind_of(self, number: int) -> Kind:
        """The kind of a mutant: shares taken in turn, so that every stretch of numbers has all of them."""
        shares = [kind for kind in self.kinds for _ in range(kind.share)]
        return shares[number * 7919 % len(shares)]

    def mutant(self, number: int) -> bytes:
        """A mutant by its number."""
        return self.kind_of(number).mutant(np.random.default_rng((self.seed, number)))

    def step(self) -> tuple[int, Kind, bytes, Crash] | None:
        """Try the next mutant; the crash, where it is one."""
        number, self.next = self.next, self.next + 1
        kind = self.kind_of(number)
        data = self.mutant(number)
        start = time.process_time()
        crash = crash_of(kind, data, deep=number % _DEEP_EVERY == 0)
        self.seconds += time.process_time() - start
        self.tried[kind.name] += 1
        if crash is None:
            return None
        self.crashed[crash.name] += 1
        return number, kind, data, crash

    def load(self, file: Path) -> None:
        """Go on from where a state file says."""
        if file.is_file():
            state = json.loads(file.read_text(encoding="utf-8"))
            self.seed, self.next, self.seconds = state["seed"], state["next"], state["seconds"]
            self.tried, self.crashed = Counter(state["tried"]), Counter(state["crashed"])

    def save(self, file: Path) -> None:
        """Write down how far it has come."""
        state = {
            "seed": self.seed,
            "next": self.next,
            "seconds": round(self.seconds, 1),
            "tried": dict(self.tried),
            "crashed": dict(self.crashed),
        }
        beside = file.with_name(file.name + ".new")
        beside.write_text(json.dumps(state, indent=1), encoding="utf-8")
        beside.replace(file)


def main() -> int:
    """Run; 1 where anything crashed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--count", type=int, default=500_000, help="mutants in all, those before counted")
    parser.add_argument("--minutes", type=float, default=1e9, help="stop after so long")
    parser.add_argument("--from", dest="start", type=int, default=None, help="the first number")
    parser.add_argument("--only", default="", help="a kind: design, rulebook, import, values, thrust, book")
    parser.add_argument("--state", type=Path, default=None, help="file that says how far it has come")
    parser.add_argument("--finds", type=Path, default=Path("fuzz_finds"), help="folder for what crashes")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=_quick_folder()) as folder:
        every = kinds(Path(folder))
        chosen = tuple(kind for kind in every if kind.name.startswith(options.only))
        campaign = Campaign(chosen, options.seed)
        if options.state is not None:
            campaign.load(options.state)
        if options.start is not None:
            campaign.next = options.start
        _run(campaign, options, Path(folder))
    total = sum(campaign.tried.values())
    for name, count in sorted(campaign.tried.items()):
        print(f"{name:24} {count:8}")
    rate = total / campaign.seconds if campaign.seconds else 0.0
    print(f"{total} mutants, {rate:.0f} a second, {sum(campaign.crashed.values())} crashed")
    for name, count in campaign.crashed.most_common():
        print(f"{count:8}  {name}")
    return 1 if campaign.crashed else 0


def _quick_folder() -> str | None:
    """A folder in memory, where there is one: a book is written and thrown away every few milliseconds."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None  # noqa: S108 - a folder of its own is made in it


def _run(campaign: Campaign, options: argparse.Namespace, folder: Path) -> None:
    gc.collect()
    gc.freeze()  # what is loaded stays: looking through it again and again would take a fifth of the time
    gc.set_threshold(50_000, 20, 50)
    end = time.monotonic() + options.minutes * 60.0
    while campaign.next < options.count and time.monotonic() < end:
        found = campaign.step()
        if found is not None and not folder.is_dir():
            raise SystemExit(f"{folder}, where files are put on the way, is gone; start again from the state")
        if found is not None and campaign.crashed[found[3].name] <= 3:
            number, kind, data, crash = found
            options.finds.mkdir(parents=True, exist_ok=True)
            (options.finds / f"{kind.name.replace(' ', '-')}-{number}{kind.suffix}").write_bytes(data)
            print(f"{number} {kind.name}: {crash.name}: {crash.words}", flush=True)
        if options.state is not None and campaign.next % _SAVED_EVERY == 0:
            campaign.save(options.state)
    if options.state is not None:
        campaign.save(options.state)


if __name__ == "__main__":
    sys.exit(main())
