"""Many damaged books: each is opened and read whole, checked, and salvaged. Bar: none altered, none crashed.

python tests/benchmarks/damaged_books.py [COUNT] [SEED] [FIRST]

The seed and the number of a case decide what is done to it. What a case gives in the end is printed where it
should not be: a later call with FIRST goes on from there. `/dev/shm` is used where there is one.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bodyshop.records.book.database_file import OpenedFile, create_file
from tests.records.damaging import Chance, Entries, checked, class_book, damage, opened, salvaged

BAD = frozenset(("altered", "crashed", "missed", "gone unsaid"))


def one(folder: Path, whole: bytes, wanted: Entries, seed: int, case: int) -> list[tuple[str, str, str]]:
    """What became of one case: opened, checked and salvaged, each with more words."""
    place = folder / "a.trials"
    how = damage(Chance(seed, case), whole, place)
    for name in ("b.trials", "c.trials"):
        shutil.copy(place, folder / name)
    opening = opened(place, wanted)
    found = [("opened", *opening), ("checked", *checked(folder / "b.trials", opening[0]))]
    found.append(("salvaged", *salvaged(folder / "c.trials", folder / "new.trials", wanted)))
    return [(what, became, f"{how}: {more}") for what, became, more in found]


def main() -> None:
    count, seed, first = (int(word) for word in [*sys.argv[1:4], *("20000", "10", "0")[len(sys.argv) - 1 :]])
    shm = Path("/dev/shm")  # noqa: S108 - a disk in memory, where there is one
    counts: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory(dir=shm if shm.is_dir() else None) as name:
        root = Path(name)
        wanted = class_book(root / "whole.trials")
        whole = (root / "whole.trials").read_bytes()
        create_file(root / "empty.trials")

        def made(path: Path) -> OpenedFile:
            shutil.copy(root / "empty.trials", path)
            return OpenedFile(writable=True)

        begin = time.perf_counter()
        # A new book and the copy of the day are the same each time, and take longer than all the rest.
        with (
            mock.patch("bodyshop.records.book.salvage.create_file", made),
            mock.patch("bodyshop.records.book.database_file.copy_is_due", return_value=False),
        ):
            for case in range(first, first + count):
                folder = root / "case"
                folder.mkdir()
                for what, became, more in one(folder, whole, wanted, seed, case):
                    counts[what, became] += 1
                    if became in BAD:
                        print(f"case {case}, {what}: {became}: {more}", flush=True)
                shutil.rmtree(folder)
                if (case + 1) % 1000 == 0:
                    print(f"{case + 1} of {first + count}: {dict(sorted(counts.items()))}", flush=True)
        taken = time.perf_counter() - begin
    for (what, became), number in sorted(counts.items()):
        print(f"{what:10} {became:12} {number:8}")
    print(f"{count} books in {taken:.0f} s")
    sys.exit(1 if any(became in BAD for _, became in counts) else 0)


if __name__ == "__main__":
    main()
