"""What is raised when the kernel cannot build what was asked for."""

from __future__ import annotations

from bodyshop.foundation.problems import Problem, ProblemsError

__all__ = ["SolidError"]


class SolidError(ProblemsError):
    """No solid, or none that can be trusted: nothing may be written.

    One problem with code `solid`; `file` is the design it came from, where known.
    """

    def __init__(self, message: str, expected: str = "", file: str = "") -> None:
        super().__init__([Problem("solid", message, file=file, expected=expected)])

    def named(self, file: str) -> SolidError:
        """The same fault, placed in a file."""
        first = self.problems[0]
        return SolidError(first.message, first.expected, file)
