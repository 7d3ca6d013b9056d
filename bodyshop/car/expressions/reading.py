"""Read an expression: tokens, binding strength, brackets and functions."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from bodyshop.car.expressions.quantity import (
    BINDING,
    FUNCTIONS,
    ExpressionError,
    Quantity,
    WorkingStep,
    as_length,
)
from bodyshop.car.expressions.working import Expression
from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units import (
    LengthUnit,
    QuantityError,
    is_unit_word,
    length_from_number,
    scan_literal,
)

__all__ = ["MAX_DEPTH", "MAX_TEXT", "length_value", "parse"]

MAX_TEXT: Final = 1000
MAX_DEPTH: Final = 50
_MINUS: Final = "-\u2010\u2011\u2012\u2013\u2212"
_SIGNS: Final = {
    "+": "+",
    "*": "*",
    "×": "*",
    "·": "*",
    "/": "/",
    "÷": "/",
    "\u2044": "/",
    "\u2215": "/",
    "(": "(",
    ")": ")",
    ",": ",",
    **dict.fromkeys(_MINUS, "-"),
}
_UNARY_BINDING: Final = 3
_FOREIGN: Final = {
    "^": "a * a for a square",
    "%": "a fraction, such as 0.5 *",
    "=": "the value alone",
    "<": "min or max",
    ">": "min or max",
    "[": "( and )",
    "]": "( and )",
    "{": "( and )",
    "}": "( and )",
    ";": "one expression",
    ":": "a division, /",
    "$": "a name or a number",
}


@lru_cache(maxsize=512)
def parse(text: str) -> Expression:
    """Read an expression. Raises `ExpressionError` with the offsets of the part that is wrong."""
    if len(text) > MAX_TEXT:
        raise ExpressionError(
            "expression-length",
            "this is too long for one expression",
            end=len(text),
            expected=f"at most {MAX_TEXT} characters",
        )
    if not text.strip():
        raise ExpressionError(
            "expression-empty", "nothing is written here", end=len(text), expected="a length, such as 12.5 mm"
        )
    reader = _Reader(text)
    steps = reader.whole()
    return Expression(text, frozenset(reader.names), tuple(steps))


def length_value(value: object, env: Mapping[str, Quantity], unit: LengthUnit) -> float:
    """A length in mm from what a file gives: a number, a length as text, or an expression.

    Raises `QuantityError` (`ExpressionError` for expressions).
    """
    if not isinstance(value, str):
        return length_from_number(value, unit)
    expression = parse(value)
    try:
        return as_length(expression.evaluate(env, unit), unit)
    except ExpressionError as error:
        if error.end <= error.start:
            error.end = len(value)
        raise


@dataclass(frozen=True, slots=True)
class _Token:
    """`kind` is number, name, end, or the sign itself."""

    kind: str
    start: int
    end: int
    quantity: Quantity | None = None
    tape: bool = False


class _Reader:
    """Reads by binding strength: + and - bind least, then * and /, then a sign in front."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._depth = 0
        self._last_end = 0
        self._steps: list[WorkingStep] = []
        self.names: set[str] = set()
        self._token = self._next()

    def whole(self) -> list[WorkingStep]:
        self._sum(0)
        token = self._token
        if token.kind == "end":
            return self._steps
        if token.kind == ",":
            before, after = self._text[: token.start].rstrip()[-1:], self._text[token.end : token.end + 1]
            point = " (decimals have a point, as in 2.5)" if before.isdigit() and after.isdigit() else ""
            raise self._error(
                "comma", f"a comma stands here{point}", token, expected="an operator or the end"
            )
        if token.kind == ")":
            raise self._error("bracket", "there is a ) too many", token, expected="a ( for each )")
        raise self._two_in_a_row(token)

    def _two_in_a_row(self, token: _Token) -> ExpressionError:
        shown = self._shown(token)
        if token.kind == "name" and self._steps and self._steps[-1].do == "number":
            last = self._steps[-1]
            bare = last.quantity is not None and last.quantity.power is None and not last.quantity.angle
            close = nearest(shown, ("mm", "cm", "in", "inch", "inches", "deg", "rad"))
            if bare and last.end <= token.start:
                return self._error(
                    "unit",
                    f'"{shortened(shown)}" is not a unit',
                    token,
                    expected=f"mm, cm, in or deg, or a * before {shortened(shown)}",
                    near="in" if close.startswith("inch") else close,
                )
        return self._error(
            "operator", f'there is no operator before "{shortened(shown)}"', token, expected="+, -, * or /"
        )

    # Reading proper. Each method leaves the steps that put one quantity on the stack, and returns the
    # offset at which its part of the text begins; the end is that of the last token read.

    def _sum(self, binding: int) -> int:
        start = self._operand()
        while True:
            token = self._token
            strength = BINDING.get(token.kind, -1)
            if strength <= binding:
                return start
            self._advance()
            if token.kind == "/" and self._token.tape and self._token.quantity is not None:
                raise self._error(
                    "fraction",
                    "a division by a fraction can be read two ways",
                    self._token,
                    expected=f"brackets round it, /({self._shown(self._token)})",
                )
            self._sum(strength)
            self._steps.append(WorkingStep(token.kind, start, self._last_end))

    def _operand(self) -> int:
        token = self._token
        if token.kind == "number":
            self._advance()
            self._steps.append(WorkingStep("number", token.start, token.end, token.quantity))
            return token.start
        if token.kind in ("+", "-"):
            self._advance()
            self._deeper(token, lambda: self._sum(_UNARY_BINDING - 1))
            if token.kind == "-":
                self._steps.append(WorkingStep("negate", token.start, self._last_end))
            return token.start
        if token.kind == "(":
            self._advance()
            self._deeper(token, lambda: self._sum(0))
            self._close(token)
            return token.start
        if token.kind == "name":
            self._advance()
            return self._name(token)
        if token.kind == "end":
            where = max(len(self._text.rstrip()), 1)
            message = "the expression stops short"
            raise ExpressionError(
                "expression-end", message, start=where - 1, end=where, expected="a number or a name"
            )
        squared = token.kind == "*" and self._text[: token.start].endswith("*")
        expected = _FOREIGN["^"] if squared else "a value"
        message = f'"{shortened(self._shown(token))}" stands where a value should'
        raise self._error("operand", message, token, expected=expected)

    def _name(self, token: _Token) -> int:
        name = self._shown(token)
        if self._token.kind != "(":
            if name in FUNCTIONS:
                raise self._error(
                    "function",
                    f"{name} is a function",
                    token,
                    expected=f"its values in brackets, {name}(...)",
                )
            if is_unit_word(name):
                raise self._error(
                    "unit", f'there is no number before "{name}"', token, expected=f"such as 12 {name}"
                )
            self.names.add(unicodedata.normalize("NFC", name))
            self._steps.append(WorkingStep("name", token.start, token.end))
            return token.start
        if name not in FUNCTIONS:
            close = nearest(name, FUNCTIONS)
            expected = ", ".join(FUNCTIONS)
            raise self._error(
                "function", f'there is no function "{shortened(name)}"', token, expected=expected, near=close
            )
        bracket = self._token
        self._advance()
        count = 0
        while True:
            self._deeper(bracket, lambda: self._sum(0))
            count += 1
            if self._token.kind != ",":
                break
            self._advance()
        self._close(bracket)
        least, most = FUNCTIONS[name]
        if count < least or (most is not None and count > most):
            wanted = f"{least} value{'s' if least > 1 else ''}" + (" or more" if most is None else "")
            raise ExpressionError(
                "expression-function",
                f"{name} has {count} value{'s' if count > 1 else ''} here",
                start=token.start,
                end=self._last_end,
                found=self._text[token.start : self._last_end],
                expected=wanted,
            )
        self._steps.append(WorkingStep(name, token.start, self._last_end, count=count))
        return token.start

    def _deeper(self, token: _Token, read: Callable[[], int]) -> None:
        self._depth += 1
        if self._depth > MAX_DEPTH:
            raise self._error(
                "depth", "brackets go too deep here", token, expected=f"at most {MAX_DEPTH} deep"
            )
        read()
        self._depth -= 1

    def _close(self, opened: _Token) -> None:
        if self._token.kind == ")":
            self._advance()
        elif self._token.kind == "end":
            raise self._error("bracket", "this ( is never closed", opened, expected=")")
        elif self._token.kind == ",":
            raise self._error("comma", "a comma stands here", self._token, expected="an operator or )")
        else:
            raise self._two_in_a_row(self._token)

    # Tokens.

    def _advance(self) -> None:
        self._last_end = self._token.end
        self._token = self._next()

    def _next(self) -> _Token:
        text = self._text
        at = self._at
        while at < len(text) and text[at].isspace():
            at += 1
        if at == len(text):
            return _Token("end", at, at)
        char = text[at]
        sign = _SIGNS.get(char)
        if sign is not None:
            self._at = at + 1
            return _Token(sign, at, at + 1)
        if (char.isascii() and (char.isdigit() or char == ".")) or (not char.isascii() and char.isnumeric()):
            return self._number(at)
        if char == "_" or char.isidentifier():
            end = at + 1
            while end < len(text) and ("a" + text[end]).isidentifier():
                end += 1
            self._at = end
            return _Token("name", at, end)
        expected = _FOREIGN.get(char, "numbers, names, + - * / and brackets")
        shown = char if char.isprintable() else repr(char)[1:-1]
        message = f"{shown} has no meaning here"
        raise ExpressionError(
            "expression-character", message, start=at, end=at + 1, found=shown, expected=expected
        )

    def _number(self, at: int) -> _Token:
        try:
            literal = scan_literal(self._text, at)
        except QuantityError as error:
            raise _from_quantity(error) from None
        if literal is None:
            shown = self._text[at]
            message = (
                "a point stands here without digits" if shown == "." else f"{shown} is not a number here"
            )
            raise ExpressionError(
                "expression-character", message, start=at, end=at + 1, found=shown, expected="digits, 0 to 9"
            )
        self._at = literal.end
        if isinstance(literal.unit, LengthUnit):
            quantity = Quantity(literal.value)
        else:
            quantity = Quantity(literal.value, None, literal.unit is not None)
        return _Token("number", at, literal.end, quantity, literal.tape)

    def _shown(self, token: _Token) -> str:
        return self._text[token.start : token.end]

    def _error(
        self, code: str, message: str, token: _Token, *, expected: str = "", near: str = ""
    ) -> ExpressionError:
        return ExpressionError(
            f"expression-{code}",
            message,
            start=token.start,
            end=token.end,
            found=shortened(self._shown(token)),
            expected=expected,
            nearest=near,
        )


def _from_quantity(error: QuantityError) -> ExpressionError:
    return ExpressionError(
        error.code,
        error.message,
        start=error.start,
        end=error.end,
        found=error.found,
        expected=error.expected,
        nearest=error.nearest,
    )
