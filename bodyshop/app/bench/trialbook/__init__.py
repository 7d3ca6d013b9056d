"""The trial book on the bench: inspection, trials, predictions and race day on the file that the command
line works on too.

Everything is read from the book when it is asked for and written at once: two pages and a command line may
work on one book, and a page that is reloaded has lost nothing.
"""

from __future__ import annotations

from bodyshop.app.bench.trialbook.routes import Books, add_book_routes

__all__ = ["Books", "add_book_routes"]
