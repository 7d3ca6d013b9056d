"""One table of a design file, checked and resolved: lengths in mm, masses in g, angles in rad."""

from __future__ import annotations

from collections.abc import Mapping

from bodyshop.design.model import KeyPath
from bodyshop.outline import Point

__all__ = ["Table"]


class Table:
    """One table of the file as read."""

    def __init__(
        self, path: KeyPath, given: frozenset[str], values: Mapping[str, object], *, faulty: bool = False
    ) -> None:
        self.path = path
        self.given = given
        self.faulty = faulty
        self._values = values

    def number(self, key: str) -> float | None:
        """A length in mm, a mass in g or an angle in rad."""
        value = self._values.get(key)
        return value if isinstance(value, float) else None

    def count(self, key: str) -> int | None:
        """A whole number."""
        value = self._values.get(key)
        return value if isinstance(value, int) else None

    def text(self, key: str) -> str | None:
        """A text or a name."""
        value = self._values.get(key)
        return value if isinstance(value, str) else None

    def flag(self, key: str) -> bool:
        """True only where the file says so."""
        return self._values.get(key) is True

    def says_no(self, key: str) -> bool:
        """True only where the file says `false`."""
        return self._values.get(key) is False

    def point(self, key: str) -> Point | None:
        """A point in mm."""
        found = self.points(key)
        return found[0] if len(found) == 1 else None

    def points(self, key: str) -> tuple[Point, ...]:
        """The points of a key that holds a fixed number of them."""
        value = self._values.get(key)
        return value if isinstance(value, tuple) else ()

    def table(self, key: str) -> Table:
        """A table; one without keys when it is not there, and `faulty` when something else is."""
        value = self._values.get(key)
        if isinstance(value, Table):
            return value
        return Table((*self.path, key), frozenset(), {}, faulty=key in self.given)

    def has_table(self, key: str) -> bool:
        """A table stands there and was read."""
        return isinstance(self._values.get(key), Table)

    def tables(self, key: str) -> list[Table]:
        """The tables of a list."""
        value = self._values.get(key)
        return [t for t in value if isinstance(t, Table)] if isinstance(value, list) else []

    def raw(self, key: str) -> list[object] | None:
        """A list as it stands in the file; None when there is none."""
        value = self._values.get(key)
        return value if isinstance(value, list) else None
