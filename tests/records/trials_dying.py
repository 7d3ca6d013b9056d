"""Writers that are killed in the middle of their work, over and over. Run by a test, in a process of its own.

`python trials_dying.py BOOK LIVES SEED` lets so many writers live one after the other; each opens the book
and adds records, telling the number of each once it is acknowledged. It is killed at a moment that the seed
decides: after so many records, and a little while into the next. What was acknowledged must be in the book
each time.
"""

from __future__ import annotations

import gc
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, suppress
from pathlib import Path

import numpy as np

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import MassReading, WeighingStage

MOST_RECORDS = 4
LONGEST_S = 0.008


def write(book_file: Path, out: int) -> None:
    """Add records without end, and tell each."""
    with Book.open(book_file) as book:
        count = 0
        while True:
            entry = book.add(
                MassReading("Kestrel", WeighingStage.BLANK, 300.0 + count % 100), note="x" * (count % 50)
            )
            os.write(out, b"%d\n" % entry.id)
            count += 1


def born(book_file: Path) -> tuple[int, int]:
    """A writer: its process and the end of the pipe it tells its records into."""
    if hasattr(os, "fork"):
        read, told = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(read)
            try:
                write(book_file, told)
            finally:
                os._exit(3)
        os.close(told)
        return child, read
    process = subprocess.Popen(
        [sys.executable, __file__, "write", str(book_file)], stdout=subprocess.PIPE, close_fds=True
    )
    if process.stdout is None:
        raise RuntimeError("no pipe")
    return process.pid, process.stdout.fileno()


def live(book_file: Path, records: int, moment_s: float) -> list[int]:
    """One life: what was acknowledged before the end of it."""
    child, read = born(book_file)
    told = b""
    while told.count(b"\n") < records:
        part = os.read(read, 4096)
        if not part:
            break
        told += part
    until = time.perf_counter() + moment_s
    while time.perf_counter() < until:
        pass
    with suppress(ProcessLookupError):
        os.kill(child, getattr(signal, "SIGKILL", signal.SIGTERM))
    while part := os.read(read, 65536):
        told += part
    os.close(read)
    with suppress(ChildProcessError):
        os.waitpid(child, 0)
    whole = told[: told.rfind(b"\n") + 1]
    return [int(line) for line in whole.splitlines()]


def main() -> None:
    book_file, lives, chance = Path(sys.argv[1]), int(sys.argv[2]), np.random.default_rng(int(sys.argv[3]))
    acknowledged: set[int] = set()
    missing: set[int] = set()
    unheard = broken = 0
    numbers: set[int] = set()
    gc.freeze()  # what is loaded need not be copied into every child
    for life in range(lives):
        told = live(book_file, int(chance.integers(0, MOST_RECORDS)), float(chance.uniform(0.0, LONGEST_S)))
        acknowledged.update(told)
        if life % 10 == 0:
            Book.open(book_file).close()
        with closing(sqlite3.connect(book_file)) as raw:
            broken += raw.execute("PRAGMA quick_check").fetchall() != [("ok",)]
            numbers = {row[0] for row in raw.execute("SELECT id FROM mass")}
        missing |= acknowledged - numbers
        # In the book, and killed before it could be told: the blow fell in the middle of an entry.
        unheard += max(numbers, default=0) > max(told, default=max(acknowledged, default=0))
    print(  # noqa: T201 - read by the test
        json.dumps(
            {
                "lives": lives,
                "acknowledged": len(acknowledged),
                "missing": sorted(missing),
                "in_book": len(numbers),
                "unheard": unheard,
                "broken": broken,
            }
        )
    )


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(Path(sys.argv[2]), sys.stdout.fileno())
    else:
        main()
