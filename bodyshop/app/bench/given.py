"""What a page sends, read with care: one JSON object, whatever the bytes are.

Everything behind it may count on texts that can be written down as UTF-8, on finite numbers and on values
that are no deeper than a message of the page. A page that runs here sends nothing else; somebody who has got
hold of the key might, or a person pastes half of a character.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, Final

from bodyshop.output.json.document import whole_characters

__all__ = ["Given", "MALFORMED", "MalformedError", "read_object", "table_of"]

Given = Mapping[str, Any]

MALFORMED: Final = (ValueError, TypeError, AttributeError, LookupError, ArithmeticError, RecursionError)
"""What comes of a message of the right form with values that make no sense."""

_DEEPEST: Final = 12


class MalformedError(ValueError):
    """What was sent is no message of the page; nothing was done."""


def read_object(data: str | bytes) -> dict[str, Any]:
    """The JSON object that was sent, every text in it whole.

    Raises:
        MalformedError: it is no JSON, no object, nested too deep, or holds a number that is none.
    """
    try:
        found = json.loads(data, parse_constant=_refuse, parse_float=_finite)
    except MalformedError:
        raise
    except (ValueError, RecursionError):
        raise MalformedError("this is no JSON") from None
    if not isinstance(found, dict):
        raise MalformedError("an object was expected")
    return {whole_characters(name): _whole(value, _DEEPEST) for name, value in found.items()}


def table_of(given: Given, name: str) -> dict[str, Any]:
    """A table inside a message; an empty one where there is none.

    Raises:
        MalformedError: something else stands there.
    """
    found = given.get(name)
    if found is None or found == "":
        return {}
    if not isinstance(found, dict):
        raise MalformedError(f"{name} is no table")
    return found


def _whole(value: Any, deeper: int) -> Any:
    match value:
        case str():
            return whole_characters(value)
        case list() | dict() if deeper == 0:
            raise MalformedError("it is nested too deep")
        case list():
            return [_whole(each, deeper - 1) for each in value]
        case dict():
            return {whole_characters(name): _whole(each, deeper - 1) for name, each in value.items()}
        case _:
            return value


def _refuse(word: str) -> float:
    raise MalformedError(f"{word} is no number")


def _finite(text: str) -> float:
    number = float(text)
    if number - number != 0.0:
        raise MalformedError("a number is too large")
    return number
