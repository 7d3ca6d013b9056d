"""A random body that the kernel refuses is passed over: the refusal is an error told in words, never a
wrong file. What must build (samples, hand-made bodies) is tested without this.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from hypothesis import Phase, reject

from bodyshop.solids import SolidError

__all__ = ["FIRST", "passed_over"]

FIRST = (Phase.explicit, Phase.generate)
"""Without shrinking, which costs minutes where one example costs seconds."""


@contextmanager
def passed_over() -> Iterator[None]:
    """Leave this example out where the solid is refused."""
    try:
        yield
    except SolidError:
        reject()
