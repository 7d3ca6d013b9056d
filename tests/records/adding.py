"""A program that adds records to a book, run by tests in processes of their own.

`python adding.py BOOK COUNT`: adds so many and prints the number of each. With a third word it lets no file
grow by more than so many bytes: a disk that is full. Then it prints what it was refused with.
"""

from __future__ import annotations

import sys
from pathlib import Path

from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import MassReading, WeighingStage


def main() -> None:
    place, count = Path(sys.argv[1]), int(sys.argv[2])
    with Book.open(place) as book:
        if len(sys.argv) > 3:
            import resource

            limit = place.stat().st_size + int(sys.argv[3])
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        for _ in range(count):
            try:
                entry = book.add(MassReading("Kestrel", WeighingStage.BLANK, 341.2), note="x" * 500)
            except WriteRefusedError as error:
                print(f"refused: {error.reason}", flush=True)  # noqa: T201
                return
            print(entry.id, flush=True)  # noqa: T201 - read by the test


if __name__ == "__main__":
    main()
