"""How the server answers a page's call: with data, or with why it was refused."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Final

from fastapi.responses import Response

from bodyshop.app.bench.messages import Data
from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.foundation.text.small_words import capital
from bodyshop.output.json.document import encoded

__all__ = ["answer", "answered", "refusal_words"]

_MOST: Final = 6


def answer(data: Data, status: int = 200) -> Response:
    """An answer to a page."""
    return Response(encoded(data), status, media_type="application/json")


async def answered(work: Callable[[], Awaitable[Data]]) -> Response:
    """What some work comes to; where it is refused, the words and the names of the fields at fault."""
    try:
        return answer(await work())
    except ProblemsError as error:
        keys = [problem.key for problem in error.problems if problem.key]
        return answer({"refused": refusal_words(error), "keys": keys}, 422)
    except WriteRefusedError as error:
        return answer({"refused": f"{error.path}: {error.reason}"}, 409)


def refusal_words(error: ProblemsError) -> str:
    """The first of its problems, a sentence each."""
    return " ".join(f"{capital(problem.sentence)}." for problem in error.problems[:_MOST])
