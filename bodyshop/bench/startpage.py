"""The page that leads a browser to the bench without the key on anybody's command line.

Whoever is on this machine can read the command line of every program. So the browser is handed a file that
only its owner can read, which leads on to the address with the key; it goes as soon as the key has been used.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from html import escape
from pathlib import Path
from typing import Final

__all__ = ["StartPage"]

_PAGE: Final = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0;url={address}">
<title>To the bench</title>
</head>
<body><p><a href="{address}">To the bench</a></p></body>
</html>
"""


class StartPage:
    """A file that leads to `address`, in a folder of its own that nobody else can look into.

    Raises `OSError` where there is no room for it.
    """

    def __init__(self, address: str) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="bodyshop-bench-"))
        self.file = self._folder / "bench.html"
        try:
            descriptor = os.open(self.file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "w", encoding="utf-8") as stream:
                stream.write(_PAGE.format(address=escape(address)))
        except OSError:
            self.remove()
            raise

    @property
    def uri(self) -> str:
        """What to hand to a browser."""
        return self.file.as_uri()

    def remove(self) -> None:
        """Take it away; nothing happens where it is gone."""
        shutil.rmtree(self._folder, ignore_errors=True)
