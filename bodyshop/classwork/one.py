"""One file of a class, from its path to a row."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Final

from bodyshop.assembly import AxleStack, Car
from bodyshop.checking import Bookshelf, Opened, open_car, shown_file
from bodyshop.classwork.found import Entry
from bodyshop.classwork.model import (
    Book,
    CarRow,
    CheckOptions,
    Clause,
    Cut,
    Needs,
    Row,
    SkippedRow,
    Standing,
    Supply,
    UnreadRow,
)
from bodyshop.classwork.shape import shape_print, thumbnail
from bodyshop.design import Design
from bodyshop.measures import catalogue
from bodyshop.problems import Problem, ProblemsError
from bodyshop.rulebook import CarResult, Judgement, Outcome, Rulebook, judge
from bodyshop.source import parse_source, read_source
from bodyshop.stock.blanks import Blank, blanks
from bodyshop.stock.hardware import MAKERS, Axle, Hardware, Wheel, hardware

__all__ = ["Checker", "checker", "is_rulebook"]

MOST_PROBLEMS: Final = 5
"""Problems of a file that are kept; the others are counted."""

_RULEBOOK_KEYS: Final = frozenset(("rule", "change", "inherits", "reading", "divisions", "score", "kit"))
_DESIGN_KEYS: Final = frozenset(("profile", "plan", "axles", "bore", "blank"))

_STANDINGS: Final = {
    CarResult.LEGAL: Standing.PASSES,
    CarResult.NEEDS_INSPECTOR: Standing.NOT_JUDGED,
    CarResult.PROBABLY_BROKEN: Standing.PROBABLY_FAILS,
    CarResult.POINTS_OFF: Standing.POINTS_OFF,
    CarResult.NOT_LEGAL: Standing.FAILS,
}


@cache
def checker(options: CheckOptions) -> Checker:
    """The one checker of this process for these options: it has read each rulebook once."""
    return Checker(options)


class Checker:
    """Checks files, each rulebook read once. `refused` is what is wrong with the rulebook asked for."""

    def __init__(self, options: CheckOptions) -> None:
        self._options = options
        self._shelf = Bookshelf(options.rulebook, options.division)
        self._books: dict[str, Book] = {}
        self.refused = self._asked_for()

    def _asked_for(self) -> tuple[Problem, ...]:
        if not self._options.rulebook:
            return ()
        try:
            # Any source will do: the rulebook asked for goes before the one that it names.
            self._shelf.book(parse_source("format = 1", ""))
        except ProblemsError as error:
            return error.problems
        return ()

    def row(self, entry: Entry) -> tuple[Row, Book | None]:
        """One file's row, and the book that a car was judged by."""
        try:
            opened = open_car(entry.path, shelf=self._shelf)
        except ProblemsError as error:
            return _unread(entry, error.problems), None
        book = self._book(opened.rulebook)
        return self._judged(entry, opened, book), book

    def _book(self, rulebook: Rulebook) -> Book:
        key = " ".join(part for part in (rulebook.stem, rulebook.division, rulebook.fingerprint) if part)
        found = self._books.get(key)
        if found is None:
            found = self._books[key] = Book(
                key=key,
                name=rulebook.name,
                division=rulebook.division,
                file=shown_file(rulebook.source.name),
                fingerprint=rulebook.fingerprint,
                clauses=tuple(
                    Clause(rule.clause, rule.title or rule.item, bool(rule.measure))
                    for rule in rulebook.rules
                ),
            )
        return found

    def _judged(self, entry: Entry, opened: Opened, book: Book) -> CarRow:
        car, design = opened.car, opened.design
        measures = catalogue()
        # Only what the rulebook names: the whole catalogue takes several times as long.
        judgement = judge(
            opened.rulebook, {name: measures[name].take(car) for name in opened.rulebook.measures}
        )
        mass, loaded = car.mass, car.mass_loaded
        return CarRow(
            file=entry.shown,
            name=design.name,
            bench=design.bench,
            units=design.unit.symbol,
            book=book.key,
            by_default=opened.by_default,
            standing=Standing.SHOW_ONLY if judgement.show_only else _STANDINGS[judgement.result],
            failed=_clauses(judgement, Outcome.FAIL),
            too_close=_clauses(judgement, Outcome.TOO_CLOSE),
            near=_clauses(judgement, Outcome.NEAR),
            advised=_clauses(judgement, Outcome.ADVICE),
            unjudged=_clauses(judgement, Outcome.CANNOT_JUDGE),
            points_off=judgement.points_off,
            mass_g=mass.mass_g,
            low_g=mass.low_g,
            high_g=mass.high_g,
            loaded_g=loaded.mass_g,
            mass_unit=opened.rulebook.mass_unit,
            fingerprint=design.fingerprint,
            shape=shape_print(car),
            warnings=design.warnings,
            needs=_needs(car, opened.rulebook.kit.brought),
            thumbnail=thumbnail(car) if self._options.thumbnails else None,
        )


def _clauses(judgement: Judgement, outcome: Outcome) -> tuple[str, ...]:
    return tuple(verdict.rule.clause for verdict in judgement.having(outcome))


def _unread(entry: Entry, problems: tuple[Problem, ...]) -> Row:
    if is_rulebook(entry):
        return SkippedRow(entry.shown, "a rulebook")
    return UnreadRow(entry.shown, problems[:MOST_PROBLEMS], len(problems))


def is_rulebook(entry: Entry) -> bool:
    """Whether a file that is no design has a rulebook's keys, and none of a design's."""
    try:
        keys = read_source(entry.path).values.keys()
    except ProblemsError:
        return False
    return bool(keys & _RULEBOOK_KEYS) and not keys & _DESIGN_KEYS


# ---------------------------------------------------------------- what a car is made of


def _needs(car: Car, own: Hardware) -> Needs:
    design = car.design
    front, rear = design.axles
    pieces: list[tuple[Supply, str, int]] = [
        (Supply.BLANK, f"{_blank(design.blank)}, {design.wood.id}", 1),
        (Supply.FRONT_WHEEL, _wheel(front.wheel, own), 2),
        (Supply.REAR_WHEEL, _wheel(rear.wheel, own), 2),
        (Supply.CARTRIDGE, design.cartridge.id, 1),
    ]
    pieces += [(Supply.WASHER, axle.washer.id, 2 * axle.washers) for axle in design.axles if axle.washer]
    pieces += [(Supply.EYE, place.eye.id, 1) for place in design.eyes]
    pieces += _declared(design)
    cuts = [cut for stack in car.stacks for cut in _cuts(stack)]
    cuts += [Cut(Supply.AXLE, *_longest_axle(car))] * design.parts.spare_axles
    return Needs(
        pieces=tuple(piece for piece in pieces if piece[2]),
        cuts=tuple(cuts),
        finish=design.finish.id,
        glue=design.glue.id,
        skin_mm2=car.body.wetted_area,
        brought=tuple(_brought(own)),
    )


def _brought(own: Hardware) -> Iterator[tuple[str, str, float]]:
    """The event's own hardware: id, label, length of a rod."""
    for shelf in MAKERS:
        for part in own.shelf(shelf).values():
            yield part.id, part.label, part.stock_length_mm if isinstance(part, Axle) else 0.0


def _declared(design: Design) -> list[tuple[Supply, str, int]]:
    """Small parts and spares that the design counts without drawing them."""
    parts = design.parts
    washer = next((axle.washer.id for axle in design.axles if axle.washer), "")
    eye = design.eyes[0].eye.id if design.eyes else ""
    return [
        (Supply.SPARE_WHEEL, "front or rear", parts.spare_wheels),
        (Supply.WASHER, washer or "any", parts.spare_washers),
        (Supply.EYE, eye or "any", parts.spare_eyes),
        (Supply.CLIP, "any", parts.clips + parts.spare_clips),
    ]


def _blank(blank: Blank) -> str:
    if blank.id in blanks():
        return blank.id
    height = f"{blank.height_nose_mm:.4g}"
    if blank.is_wedge:
        height += f" to {blank.height_tail_mm:.4g}"
    return f"{blank.label} {blank.length_mm:.4g} × {blank.width_mm:.4g} × {height} mm"


def _wheel(wheel: Wheel, own: Hardware) -> str:
    stock = hardware().and_also(own).wheels.get(wheel.id)
    if stock is not None and stock.diameter_mm == wheel.diameter_mm and stock.width_mm == wheel.width_mm:
        return wheel.id
    return f"{wheel.id}, own size {wheel.diameter_mm:.4g} × {wheel.width_mm:.4g} mm"


def _cuts(stack: AxleStack) -> list[Cut]:
    cuts = [Cut(Supply.AXLE, stack.axle.axle.id, stack.axle_length_mm)]
    if stack.axle.bearing is not None:
        cuts.append(Cut(Supply.BEARING, stack.axle.bearing.id, stack.bearing_length_mm))
    return cuts


def _longest_axle(car: Car) -> tuple[str, float]:
    longest = max(car.stacks, key=lambda stack: stack.axle_length_mm, default=None)
    if longest is None:
        return car.design.front.axle.id, 0.0
    return longest.axle.axle.id, longest.axle_length_mm
