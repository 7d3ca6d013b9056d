"""Values that would be right with quotes, or with a digit beside their point."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from bodyshop.foundation.problems import Problem
from bodyshop.foundation.toml.diagnosis.fault import KEY_AND_EQUALS, Fault, quoted
from bodyshop.foundation.toml.scan import tokens
from bodyshop.foundation.units import (
    LengthUnit,
    QuantityError,
    parse_angle,
    parse_density,
    parse_length,
    parse_mass,
)

__all__ = ["value_slip"]

_TRUTHS: Final = {
    "yes": "true",
    "on": "true",
    "no": "false",
    "off": "false",
    "true": "true",
    "false": "false",
}
_HALF_POINT: Final = re.compile(r"([+-]?)([0-9_]*)\.([0-9]*)$")
_COMMA: Final = re.compile(r"([+-]?[0-9]+),([0-9]+)(\s*[^\W\d]\w*|\s*\")?$")
_ZEROS: Final = re.compile(r"([+-]?)0+([0-9]+(?:\.[0-9]+)?)$")


def value_slip(fault: Fault) -> Problem | None:
    """A value that would be right with quotes, or with a zero beside its point."""
    if fault.in_header or fault.in_list_above_header or fault.message.startswith("Expected '='"):
        return None
    piece = _piece(fault)
    if piece is None:
        return None
    start, value = piece
    for look in (_number_slip, _stray_inch_mark, _unit_outside, _unquoted, _bare_word):
        found = look(fault, start, value)
        if found is not None:
            return found
    return None


def _piece(fault: Fault) -> tuple[int, str] | None:
    """The value in which the error stands, and its offset: from = [ { or , to the next of their kind."""
    line, at = fault.line, fault.offset - fault.line_start
    inside = bool(fault.open_brackets)
    begin = -1
    for token in tokens(fault.text, fault.line_start):
        if token.start > fault.offset or token.kind == "newline":
            break
        if (token.text == "=" and token.start < fault.offset) or (
            inside and (token.kind == "open" or token.text == ",") and token.start < fault.offset
        ):
            begin = token.end - fault.line_start
            if not inside:
                break
    if begin < 0:
        if not inside or KEY_AND_EQUALS.match(line):
            return None
        begin = 0
    stop = re.compile(r"[,\]}#]" if inside else "#").search(line, max(begin, at if inside else begin))
    end = stop.start() if stop else len(line)
    value = line[begin:end]
    stripped = value.strip()
    return fault.line_start + begin + len(value) - len(value.lstrip()), stripped


def _number_slip(fault: Fault, start: int, value: str) -> Problem | None:
    end = start + len(value)
    half = _HALF_POINT.match(value)
    if half is not None and (half[2] or half[3]) and not (half[2] and half[3]):
        whole = f"{half[1]}{half[2] or '0'}.{half[3] or '0'}"
        message = f"{value} needs a digit on both sides of its point"
        return fault.problem("toml-point", message, start, end, found=value, expected=whole)
    comma = _COMMA.match(value)
    if comma is not None:
        number = f"{comma[1]}.{comma[2]}"
        right = f'"{number} {comma[3].strip()}"' if comma[3] and '"' not in comma[3] else number
        message = f"{value} has a comma in it"
        return fault.problem("toml-comma", message, start, end, found=value, expected=f"a point, {right}")
    zeros = _ZEROS.match(value)
    if zeros is not None:
        right = zeros[1] + zeros[2]
        message = f"{value} begins with a needless zero"
        return fault.problem("toml-zero", message, start, end, found=value, expected=right)
    return None


def _stray_inch_mark(fault: Fault, start: int, value: str) -> Problem | None:
    """`"2 3/4""`, where the inch mark ends the text and one quote is left over."""
    doubled = re.match(r'"([^"]*)""$', value)
    if doubled is None or not _is_quantity(doubled[1] + '"'):
        return None
    return fault.problem(
        "toml-inch-mark",
        "the inch mark ends the quoted text here",
        start + len(value) - 2,
        start + len(value),
        found=value,
        expected=f'"{doubled[1]} in" or \'{doubled[1]}"\'',
    )


def _unit_outside(fault: Fault, start: int, value: str) -> Problem | None:
    """`"5" mm`, where the unit belongs inside the quotes."""
    parts = re.match(r"([\"'])([^\"']*)\1\s*(\w+)$", value)
    if parts is None or not _is_quantity(f"{parts[2]} {parts[3]}"):
        return None
    message = f"{parts[3]} stands outside the quotes"
    right = quoted(f"{parts[2]} {parts[3]}")
    return fault.problem("toml-unquoted", message, start, start + len(value), found=value, expected=right)


def _unquoted(fault: Fault, start: int, value: str) -> Problem | None:
    """A quantity or arithmetic without quotes."""
    end = start + len(value)
    if _is_quantity(value):
        right = quoted(value)
        return fault.problem(
            "toml-unquoted",
            f"{value} needs quotes, as it has more in it than a number",
            start,
            end,
            found=value,
            expected=right,
        )
    if re.match(r"[0-9. /]+['’′]$", value):
        foot = f"{value} is in feet, and lengths here are never in feet"
        return fault.problem(
            "toml-unquoted", foot, start, end, found=value, expected='inches, such as "60 in"'
        )
    if not re.match(r"[-+(]*[\w.(]", value) or value[0] in "\"'" or len(value) > 200:
        return None
    operators = "*/+-" if not fault.open_brackets else "*/"
    if re.match(r"\d{4}-\d\d-\d\d", value):
        return None
    arithmetic = any(mark in value.lstrip("+-") for mark in operators) or re.search(r"[a-z]\(", value)
    if arithmetic and not set(value) & set("\"'=[]{}") and "//" not in value and "--" not in value:
        right = quoted(value)
        return fault.problem(
            "toml-unquoted", "arithmetic needs quotes", start, end, found=value, expected=right
        )
    return None


def _bare_word(fault: Fault, start: int, value: str) -> Problem | None:
    end = start + len(value)
    if value.startswith("=") and fault.message == "Invalid value":
        return fault.problem("toml-equals", "one = is enough", found="=")
    if (not value or value in "]}") and fault.message == "Invalid value" and fault.here != ",":
        return fault.problem("toml-no-value", "no value stands here", expected="a number, or text in quotes")
    truth = _TRUTHS.get(value.lower())
    if truth is not None and value != truth:
        return fault.problem(
            "toml-truth", f"{value} is not a value here", start, end, found=value, expected=truth
        )
    if re.match(r"[^\W\d][\w .&!?+-]*[\"']$", value):
        message = "the quote mark before this text is missing"
        return fault.problem("toml-quotes", message, start, end, found=value, expected=quoted(value[:-1]))
    if re.match(r"[^\W\d][\w .&!?+'-]*$", value) and value.lower() not in ("nan", "inf", "true", "false"):
        return fault.problem(
            "toml-unquoted", "text needs quotes", start, end, found=value, expected=quoted(value)
        )
    return None


def _is_quantity(value: str) -> bool:
    """Whether a value is a length, mass, angle or density with its unit, or a mixed number."""
    readers: tuple[Callable[[str], float], ...] = (
        lambda text: parse_length(text, None),
        lambda text: parse_mass(text, None),
        parse_density,
    )
    if re.match(r"[+-]?\d+ +\d+/\d+$", value):
        readers = (lambda text: parse_length(text, LengthUnit.IN),)
    elif re.search(r"[°º]|deg|rad", value):
        readers = (parse_angle,)
    for read in readers:
        try:
            read(value)
        except QuantityError:
            continue
        return True
    return False
