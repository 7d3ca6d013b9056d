"""Words about a class, the same on a terminal, in a table and on a page."""

from __future__ import annotations

from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import number_words
from bodyshop.foundation.units import LengthUnit, format_estimate, format_length
from bodyshop.records.classroom.discovery import CarRow, CarState, SupplyShelf
from bodyshop.records.classroom.stock_plan import StockLine, StockPlan
from bodyshop.records.classroom.summary import ClassReport, SameShapeCars

__all__ = [
    "alike_words",
    "books_words",
    "clean",
    "headline",
    "line_note",
    "mass_words",
    "plan_notes",
    "plan_unit",
    "problem_words",
    "get_words",
    "verdict_words",
]

_ROD = {SupplyShelf.AXLE: "rod", SupplyShelf.BEARING: "straw"}


def clean(text: str) -> str:
    """A text from a file, fit to be shown: nothing in it steers a terminal or turns a line round."""
    return printable(text).strip()


def verdict_words(car: CarRow) -> str:
    """How a car stands in at most 17 letters: `FAILS 8`, `4 points off`, `passes (2 close)`,
    `passes (1 open)` where an estimate is too close to tell.
    """
    match car.standing:
        case CarState.FAILS:
            return f"FAILS {len(car.failed)}" if car.failed else "FAILS"
        case CarState.POINTS_OFF:
            return f"{car.points_off:g} {'point' if car.points_off == 1 else 'points'} off"
        case CarState.PASSES if car.too_close:
            return f"passes ({len(car.too_close)} open)"
        case CarState.PASSES if car.near:
            return f"passes ({len(car.near)} close)"
        case _:
            return str(car.standing.value)


def mass_words(car: CarRow) -> str:
    """`83 g (71 to 95)`: without a cartridge, and its 95 % range."""
    mass, low, high = (format_estimate(each, car.mass_unit) for each in (car.mass_g, car.low_g, car.high_g))
    return f"{mass} ({low.partition(' ')[0]} to {high.partition(' ')[0]})"


def headline(report: ClassReport) -> str:
    """The class in one sentence."""
    parts = [f"{report.passing} pass", f"{report.failing} fail"]
    if report.probably_failing:
        one = report.probably_failing == 1
        parts.append(f"{report.probably_failing} probably {'fails' if one else 'fail'}")
    if report.unknown:
        parts.append(f"{report.unknown} cannot be judged")
    if report.unread:
        parts.append(f"{len(report.unread)} cannot be read")
    return f"{number_words(report.designs, 'design')} in {clean(report.folder)}: {', '.join(parts)}."


def books_words(report: ClassReport) -> str:
    """By whose rules."""
    counts = {book.key: sum(car.book == book.key for car in report.cars) for book in report.books}
    names = [
        clean(book.name) + (f", {clean(book.division)}" if book.division else "") for book in report.books
    ]
    if len(names) > 1:
        names = [
            f"{name} ({number_words(counts[book.key], 'car')})"
            for name, book in zip(names, report.books, strict=True)
        ]
    default = sum(car.by_default for car in report.cars)
    told = f"Checked against {'; '.join(names)}." if names else ""
    if default:
        told += (
            f" {number_words(default, 'design names', 'designs name')} no rulebook, so the default was used."
        )
    return told


def problem_words(problem: Problem) -> str:
    """A problem with its place, in a line."""
    where = clean(problem.where)
    return f"{where}: {clean(problem.sentence)}" if where else clean(problem.sentence)


def alike_words(alike: SameShapeCars) -> str:
    """What is alike about some cars."""
    return "exactly the same design, name included" if alike.same else "the same shape"


# ---------------------------------------------------------------- the stock plan


def plan_unit(report: ClassReport) -> LengthUnit:
    """The unit that most of the class draws in."""
    inches = sum(car.units == LengthUnit.IN.symbol for car in report.cars)
    return LengthUnit.IN if inches > len(report.cars) / 2 else LengthUnit.MM


def get_words(line: StockLine) -> str:
    """What to buy, in words: `60`, `16 rods`; empty for what has no count."""
    if line.is_cut:
        return number_words(line.get, _ROD[line.supply])
    return str(line.get) if line.get else ""


def line_note(line: StockLine, unit: LengthUnit) -> str:
    """More about a line: what is cut from what, or what is to be covered; empty where that is all."""
    if line.area_mm2:
        if unit is LengthUnit.IN:
            return f"to cover {line.area_mm2 / unit.mm**2:.0f} in² of wood"
        return f"to cover {line.area_mm2 / 1e6:.2f} m² of wood"
    if not line.is_cut:
        return ""
    whole = f"{line.cut_mm / unit.mm:.0f} in" if unit is LengthUnit.IN else f"{line.cut_mm / 1000:.2f} m"
    note = (
        f"{whole} in all, longest {format_length(line.longest_mm, unit, decimals=1)}, "
        f"from {_ROD[line.supply]}s of {format_length(line.rod_mm, unit, decimals=0)}"
    )
    if line.too_long:
        note += f"; {number_words(line.too_long, 'piece is', 'pieces are')} longer than that, and not counted"
    return note


def plan_notes(report: ClassReport, unit: LengthUnit) -> list[str]:
    """How the plan was worked out."""
    plan: StockPlan = report.plan
    figures = plan.figures
    cartridges = number_words(figures.runs, "cartridge")
    spares = f"Get includes {figures.spare_share * 100:g} % spares; {cartridges} for each car."
    saw, trim, straw = (
        format_length(length, unit) for length in (figures.rod_cut_mm, figures.straw_cut_mm, figures.straw_mm)
    )
    cutting = (
        f"Allows {saw} of saw cut per axle. Bearings are cut {trim} too long and trimmed. "
        f"Straws are counted as {straw}."
    )
    notes = [spares, cutting]
    if report.unread:
        notes.append(
            f"{number_words(len(report.unread), 'design')} could not be read and "
            f"{'is' if len(report.unread) == 1 else 'are'} not counted."
        )
    return notes
