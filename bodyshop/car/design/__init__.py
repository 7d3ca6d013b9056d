"""A car from text: the design file's format, its checks, and what comes of them."""

from bodyshop.car.design.load import peek_rulebook, read_design
from bodyshop.car.design.model import AxleEnd, AxleSet, Bore, Design, EyePlace, KeyPath, Kit

__all__ = [
    "AxleEnd",
    "AxleSet",
    "Bore",
    "Design",
    "EyePlace",
    "KeyPath",
    "Kit",
    "peek_rulebook",
    "read_design",
]
