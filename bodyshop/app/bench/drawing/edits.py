"""Movements of handles and whole points put into the text, with its layout and comments unchanged."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Final

from bodyshop.app.bench.drawing.handles import find_handle
from bodyshop.app.bench.drawing.model import FREE_MM, EditResult, GridStep, Handle, Move, NumberChange, Snap
from bodyshop.car.body import body_faults
from bodyshop.car.design import read_design
from bodyshop.car.editing.numbers import Numbers, RefusedError
from bodyshop.foundation.problems import Problem, ProblemsError, Severity
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.toml import KeyPath, Source, parse_source
from bodyshop.foundation.toml.places import KeyPlace, find_places
from bodyshop.foundation.toml.splice import replaced
from bodyshop.foundation.units import QuantityError
from bodyshop.geometry.outlines import Point
from bodyshop.rules.checking import Checked, LoadedCar
from bodyshop.rules.remedies.candidate import put_together

__all__ = ["Layout", "drag", "nudge", "read_again", "set_value", "point_text"]


Splice = tuple[int, int, str]

_HEADED: Final = "This point is written under a header of its own: change it in the text."
_GAP: Final = re.compile(r"[ \t]*")
_COMMA: Final = re.compile(r"\s*(?:#[^\n]*\n\s*)*,")


class Layout:
    """The places of a text's points, and the splices that change them."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text

    @cached_property
    def _places(self) -> dict[KeyPath, KeyPlace]:
        return find_places(self.text).at

    def range(self, path: KeyPath) -> tuple[int, int]:
        """Where an element of a list stands. Raises `RefusedError` where it has a header of its own."""
        place = self._places.get(path)
        if place is None or self.text[place.value[0]] not in "[{" or place.key is not None:
            raise RefusedError(_HEADED)
        return place.value

    def put_before(self, path: KeyPath, element: str) -> Splice:
        """A new element before the one at `path`: on a line of its own where that one begins its line."""
        start, _ = self.range(path)
        line = self.text.rfind("\n", 0, start) + 1
        indent = self.text[line:start]
        own_line = not indent.strip()
        return (start, start, f"{element},\n{indent}" if own_line else f"{element}, ")

    def take_out(self, path: KeyPath) -> Splice:
        """The element away with its comma, and its line where nothing else stands on it."""
        start, end = self.range(path)
        comma = _COMMA.match(self.text, end)
        if comma is not None and "#" not in comma[0]:
            end = comma.end()
        else:  # the last one: the comma before it goes, unless a remark stands between
            before = self.text[:start].rstrip()
            if before.endswith(",") and "\n" not in self.text[len(before) : start]:
                start = len(before) - 1
        line = self.text.rfind("\n", 0, start) + 1
        stop = self.text.find("\n", end)
        stop = len(self.text) if stop < 0 else stop
        if not self.text[line:start].strip() and not self.text[end:stop].strip():
            return (line, min(stop + 1, len(self.text)), "")
        gap = _GAP.match(self.text, end)
        rest = self.text[end:stop].lstrip()
        keeps_column = rest.startswith("#") and not self.text[line:start].strip()
        return (start, end if keeps_column or gap is None else gap.end(), "")

    def with_keys(self, path: KeyPath, drop: Iterable[str], add: str) -> list[Splice]:
        """The point at `path` without some keys and with others (`round = 3`) behind what it has."""
        start, end = self.range(path)
        if self.text[start] == "[":
            return [(start, start, "{ to = "), (end, end, f", {add} }}")] if add else []
        splices: list[Splice] = []
        pairs = self._pairs(path)
        kept = [pair for pair in pairs if pair[0] not in drop]
        for index, (name, first, last) in enumerate(pairs):
            if name in drop:
                before = pairs[index - 1][2] if index else None
                # With the comma before it; the first pair with the one behind it.
                after = pairs[index + 1][1] if index + 1 < len(pairs) else last
                splices.append((first, after, "") if before is None else (before, last, ""))
        if add:
            at = pairs[-1][2]
            splices.append((at, at, f", {add}" if kept else f" {add}"))
        return splices

    def _pairs(self, path: KeyPath) -> list[tuple[str, int, int]]:
        """The pairs of an inline table: key, and where the pair starts and ends."""
        depth = len(path)
        found = [
            (str(where[-1]), place.key[0], place.value[1])
            for where, place in self._places.items()
            if len(where) == depth + 1 and where[:depth] == path and place.key is not None
        ]
        return sorted(found, key=lambda pair: pair[1])

    def spliced(self, splices: Iterable[Splice]) -> str:
        """The whole text with stretches replaced."""
        return ("\ufeff" if self.source.bom else "") + replaced(self.text, splices)


def point_text(numbers: Numbers, spot: Point, *, fine: bool = False) -> str:
    """A point as a list of two lengths."""
    return f"[{numbers.fresh_text(spot[0], fine=fine)}, {numbers.fresh_text(spot[1], fine=fine)}]"


_SAME_MM: Final = 1e-9
_LEVEL: Final = 0.1
"""A handle that slides less than this share along an axis is not moved by the arrow keys of that axis."""


def drag(source: Source, checked: Checked, handle_id: str, to_mm: Point, snap: Snap) -> EditResult:
    """The text with a handle moved to `to_mm` in its view.

    `source` is the present text, `checked` what it comes to. A number is changed where its new value is at
    least half a step from the old one; it lies on a mark of the grid then. Refused, with a sentence: what
    cannot be changed by hand, and what would make a text that is no car.
    """
    return _edited(source, checked, handle_id, lambda edit: edit.move_to(to_mm, snap))


def nudge(
    source: Source, checked: Checked, handle_id: str, by: tuple[int, int], step: GridStep
) -> EditResult:
    """The text with a handle moved by so many steps along the two axes of its view, on the grid or off it.

    A handle that slides in one direction takes a step of its number that way.
    """
    return _edited(source, checked, handle_id, lambda edit: edit.nudge(by, step))


def set_value(source: Source, checked: Checked, handle_id: str, number: int, typed: str) -> EditResult:
    """The text with one of a handle's numbers typed: `number` counts its moves from 0.

    A unit that the number is not written in is kept as it was typed.
    """
    return _edited(source, checked, handle_id, lambda edit: edit.type_in(number, typed))


def read_again(changed: str | Source, opened: LoadedCar) -> tuple[LoadedCar | None, Problem | None]:
    """The car of a changed text, held against the same rulebook; or the first thing that makes it none."""
    try:
        source = parse_source(changed, opened.source.name) if isinstance(changed, str) else changed
        design = read_design(source, opened.rulebook.kit, opened.design.rulebook)
    except ProblemsError as error:
        return None, error.problems[0]
    # What a movement leaves as it was need not be worked out again.
    design, car = put_together(design, opened.car)
    fault = next((each for each in body_faults(car.body) if each.severity is Severity.ERROR), None)
    if fault is not None:
        return None, fault
    return LoadedCar(source, opened.rulebook, design, car, opened.by_default), None


@dataclass(slots=True)
class _Edit:
    """One movement of one handle, and the numbers of it that cannot be moved."""

    numbers: Numbers
    handle: Handle
    refused: dict[KeyPath, str] = field(default_factory=dict)

    def move_to(self, to: Point, snap: Snap) -> None:
        wanted = [(move, move.wanted_mm(to)) for move in self.handle.moves]
        # The coordinate that moves further settles a dimension that both share.
        for move, value in sorted(wanted, key=lambda each: -abs(each[1] - each[0].value_mm)):
            self._bring(move, value, snap)

    def _bring(self, move: Move, value: float, snap: Snap) -> None:
        exact = snap.exact[0 if abs(move.du) >= abs(move.dv) else 1]
        step = None if exact or snap.step is None else snap.step.mm
        if abs(value - move.value_mm) < (FREE_MM / 2 if step is None else float(step) / 2):
            return
        target = Fraction(value) if step is None else round(Fraction(value) / step) * step
        if move.least_mm is not None and step is not None and target < Fraction(move.least_mm):
            target += step
        if abs(float(target) - move.value_mm) > _SAME_MM:
            self._try(move.path, lambda: self.numbers.put(move.path, target))

    def nudge(self, by: tuple[int, int], step: GridStep) -> None:
        single = len(self.handle.moves) == 1
        for move in self.handle.moves:
            du, dv = _slope(move, self.handle.way) if single else (move.du, move.dv)
            count = by[0] * _sign(du) + by[1] * _sign(dv)
            low = move.least_mm is not None and move.value_mm + count * float(step.mm) < move.least_mm
            if count and not low:
                self._add(move.path, count * step.mm)

    def _add(self, path: KeyPath, by: Fraction) -> None:
        self._try(path, lambda: self.numbers.add(path, by))

    def type_in(self, number: int, typed: str) -> None:
        if not 0 <= number < len(self.handle.moves):
            raise RefusedError("There is no such number.")
        move = self.handle.moves[number]
        try:
            self.numbers.put_typed(move.path, typed)
        except QuantityError as error:
            hint = f"; expected {error.expected}" if error.expected else ""
            raise RefusedError(f"{capital(error.message)}{hint}.") from None

    def _try(self, path: KeyPath, work: Callable[[], None]) -> None:
        try:
            work()
        except RefusedError as error:
            self.refused[path] = str(error)


def _slope(move: Move, way: Point | None) -> Point:
    """Which way along the axes a number grows whose handle slides along a line."""
    u, v = way if way is not None else (move.du, move.dv)
    if move.bulge is not None:
        u, v = (u, v) if move.bulge.long else (-u, -v)  # of two short arcs the rounder has the less radius
    elif move.du * u + move.dv * v < 0:
        u, v = -u, -v
    return (u if abs(u) > _LEVEL else 0.0, v if abs(v) > _LEVEL else 0.0)


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def _edited(source: Source, checked: Checked, handle_id: str, work: Callable[[_Edit], None]) -> EditResult:
    opened = checked.opened
    numbers = Numbers(source)
    handle = find_handle(opened, numbers, handle_id)
    if handle is None:
        return EditResult(None, refusal="This is no longer there.")
    if handle.fixed:
        return EditResult(None, refusal=handle.fixed)
    edit = _Edit(numbers, handle)
    try:
        work(edit)
    except RefusedError as error:
        return EditResult(None, refusal=str(error))
    if not numbers.texts:
        refusal = next(iter(edit.refused.values()), "")
        return EditResult(None if refusal else source.text, refusal=refusal)
    return _finished(source, opened, edit)


def _finished(source: Source, opened: LoadedCar, edit: _Edit) -> EditResult:
    numbers = edit.numbers
    try:
        changed = numbers.changed()
    except RefusedError as error:
        return EditResult(None, refusal=str(error))
    after, problem = read_again(changed, opened)
    if problem is not None:
        return EditResult(None, refusal=f"It cannot go there: {problem.sentence}.")
    changes = tuple(NumberChange(path, numbers.old_text(path), new) for path, new in numbers.texts.items())
    return EditResult(changed.whole, changes, note=_note(source, edit), opened=after)


def _note(source: Source, edit: _Edit) -> str:
    """What moves beside the handle, and what of the handle does not."""
    numbers = edit.numbers
    said: list[str] = []
    named = [path for path in numbers.texts if path[0] == "dimensions"]
    if named:
        others = numbers.followers(Numbers(source), [move.path for move in edit.handle.moves])
        told = " and ".join(f"{path[1]} is now {numbers.texts[path]}" for path in named)
        follow = {0: "", 1: "; one other length follows"}.get(others, f"; {others} other lengths follow")
        said.append(f"{told}{follow}.")
    said.extend(edit.refused.values())
    return " ".join(said)
