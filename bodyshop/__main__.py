"""`python -m bodyshop` is the same program as `bodyshop`."""

import sys

from bodyshop.app.cli import main

__all__: list[str] = []

if __name__ == "__main__":
    sys.exit(main())
