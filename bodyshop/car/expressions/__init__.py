"""Closed arithmetic on named dimensions: `body_length / 2 - 3/4 in`.

The grammar is all there is; nothing is ever run. It has numbers, numbers with a unit, names of
dimensions, + - * / and brackets, and min max abs sqrt sin cos tan.

Kinds of quantity. A length, an angle, a ratio (length by length), and powers of length on the way. A
*bare* number has no kind yet: in * and / it is a factor; added to or compared with a length, or where
the answer has to be a length, it counts in the unit of the file. Angles are said (`sin(30 deg)`).

Inside, lengths are in mm, powers of them in that power of mm, angles in rad.
"""

from bodyshop.car.expressions.dimensions import DimensionFault, name_fault, resolve
from bodyshop.car.expressions.quantity import FUNCTIONS, ExpressionError, Quantity, as_length
from bodyshop.car.expressions.reading import MAX_DEPTH, MAX_TEXT, length_value, parse
from bodyshop.car.expressions.working import Expression

__all__ = [
    "FUNCTIONS",
    "MAX_DEPTH",
    "MAX_TEXT",
    "DimensionFault",
    "Expression",
    "ExpressionError",
    "Quantity",
    "as_length",
    "length_value",
    "name_fault",
    "parse",
    "resolve",
]
