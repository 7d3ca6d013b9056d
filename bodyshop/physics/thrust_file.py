"""Thrust measured on a stand, from a CSV file with the columns `time_s` and `force_n`.

Time may be in `time_ms` as well, force in `force_gf` or `force_ozf`, as the balance shows it. Columns are
parted by commas, semicolons or tabs; with semicolons or tabs a number may have a decimal comma. Lines that
begin with # are remarks. The first row is the moment the race's clock starts. What has left of the gas is not
measured: it is taken to leave as the impulse does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from bodyshop.foundation.constants import GRAVITY_M_S2, OUNCE_G
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.problems import Problem, ProblemsError, Severity, Span, nearest
from bodyshop.physics.cartridge import GasDraw
from bodyshop.physics.model import Array, Push

__all__ = ["COLUMNS", "MeasuredThrust", "read_thrust"]

COLUMNS: Final = ("time_s", "force_n")
"""The columns, in the units that everything else is told in."""

_TIMES: Final = {"time_s": 1.0, "time_ms": 1e-3}
_FORCES: Final = {"force_n": 1.0, "force_gf": GRAVITY_M_S2 / 1000, "force_ozf": OUNCE_G / 1000 * GRAVITY_M_S2}

_MOST_BYTES: Final = 4_000_000
_MOST_TOLD: Final = 20
_LONGEST_S: Final = 10.0
_STRONGEST_N: Final = 500.0
_NOISE: Final = 0.01
"""Share of the greatest force that a reading may lie below zero: a balance's noise."""
_OPEN_END: Final = 0.1
_FASTEST_M_S: Final = 436.0
"""Speed of an ideal choked jet of CO2 from 20 °C, k = 1.30, into air: no cartridge gives more impulse."""
_NODES: Final = 240


@dataclass(frozen=True, slots=True)
class MeasuredThrust:
    """One measured curve; `warnings` are doubts that did not stop the reading."""

    file: str
    time_s: Array
    force_n: Array
    warnings: tuple[Problem, ...] = ()

    @property
    def source(self) -> str:
        """Where the curve comes from, in a clause."""
        return f"thrust measured on a stand, {Path(self.file).name}"

    @property
    def impulse_ns(self) -> float:
        """The impulse of the curve as it stands, drawn straight between its rows."""
        return float(np.sum(0.5 * (self.force_n[1:] + self.force_n[:-1]) * np.diff(self.time_s)))

    def push(self, gas: GasDraw) -> Push:
        """The curve for every sample, times its impulse factor; temperature and hole play no part."""
        time, force = _thinned(self.time_s, self.force_n)
        steps = 0.5 * (force[1:] + force[:-1]) * np.diff(time)
        gone = np.concatenate([[0.0], np.cumsum(steps)])
        gone /= gone[-1]
        return Push(
            time_s=time[None, :],
            force_n=force[None, :] * gas.impulse_factor[:, None],
            gone_g=gone[None, :] * gas.charge_g[:, None],
        )

    def doubts(self, charge_g: float) -> tuple[Problem, ...]:
        """The warnings, and whether the charge can give so much."""
        most = charge_g * 1e-3 * _FASTEST_M_S
        if self.impulse_ns <= most:
            return self.warnings
        message = (
            f"the curve gives {self.impulse_ns:.2f} N s, more than {charge_g:g} g of CO2 can: "
            "is the force in newtons and the time in seconds?"
        )
        return (
            *self.warnings,
            Problem(
                "thrust-too-much",
                message,
                file=self.file,
                expected=f"at most {most:.1f} N s",
                severity=Severity.WARNING,
            ),
        )


def _thinned(time: Array, force: Array) -> tuple[Array, Array]:
    """A curve of many readings as fewer steps, each with the impulse it had: constant force, then a jump."""
    if len(time) <= _NODES:
        return time, force
    impulse = np.concatenate([[0.0], np.cumsum(0.5 * (force[1:] + force[:-1]) * np.diff(time))])
    way = (time - time[0]) / (time[-1] - time[0]) + impulse / impulse[-1]
    at = np.interp(np.linspace(0.0, way[-1], _NODES + 1), way, time)
    mean = np.diff(np.interp(at, time, impulse)) / np.diff(at)
    return np.repeat(at, 2)[1:-1], np.repeat(mean, 2)


def read_thrust(path: Path | str) -> MeasuredThrust:
    """The curve in a file.

    Raises:
        ProblemsError: all that is wrong with it, each with its line.
    """
    return _Reader(str(path)).read()


@dataclass(frozen=True, slots=True)
class _Column:
    """A column: its name, its place in a row, and what its unit counts for."""

    name: str
    index: int
    scale: float


class _Reader:
    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def read(self) -> MeasuredThrust:
        lines = self._lines()
        rows = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and line.lstrip()[:1] != "#"]
        if not rows:
            raise self._failed("thrust-empty", "the file holds no readings", expected="time_s,force_n")
        number, head = rows[0]
        mark = next((mark for mark in "\t;," if mark in head), ",")
        columns = self._columns(number, [cell.strip().strip('"') for cell in head.split(mark)])
        readings = [self._row(n, line, mark, columns) for n, line in rows[1:]]
        if self.problems:
            raise ProblemsError(self.problems[:_MOST_TOLD])
        good = [reading for reading in readings if reading is not None]
        if len(good) < 3:
            message = f"there are {len(good)} readings"
            raise self._failed("thrust-few", message, expected="at least three")
        return self._curve([n for n, _ in rows[1:]], np.array(good).T)

    def _lines(self) -> list[str]:
        try:
            with Path(self.file).open("rb") as stream:
                data = stream.read(_MOST_BYTES + 1)
        except (OSError, ValueError):
            missing = not is_there(self.file)
            message = "there is no such file" if missing else "the file cannot be read"
            raise self._failed("file-missing" if missing else "file-unreadable", message) from None
        if len(data) > _MOST_BYTES:
            raise self._failed("thrust-size", "the file is too large", expected="at most 4 MB")
        try:
            return data.decode("utf-8-sig").splitlines()
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            self._note(line, 1, "file-encoding", "the file is not text in UTF-8")
            raise ProblemsError(self.problems) from None

    def _columns(self, line: int, names: list[str]) -> tuple[_Column, ...]:
        folded = [name.casefold() for name in names]
        found: list[_Column] = []
        for told, units in zip(COLUMNS, (_TIMES, _FORCES), strict=True):
            here = [(k, name) for k, name in enumerate(folded) if name in units]
            if len(here) == 1:
                index, name = here[0]
                found.append(_Column(name, index, units[name]))
            elif here:
                both = " and ".join(name for _, name in here)
                self._note(line, 1, "thrust-column", f"one of the columns {both} is too many")
            else:
                near = nearest(told, [name for name in names if name.isprintable()])
                there = f'; there is "{near}"' if near else ""
                expected = "columns in the first row that say their unit: time_s and force_n"
                message = f"there is no column {told}{there}"
                self._note(line, 1, "thrust-column", message, expected=expected)
        if self.problems:
            raise ProblemsError(self.problems)
        return tuple(found)

    def _row(
        self, line: int, text: str, mark: str, columns: tuple[_Column, ...]
    ) -> tuple[float, float] | None:
        cells = text.split(mark)
        found: list[float] = []
        for wanted in columns:
            if wanted.index >= len(cells):
                self._note(line, len(text) + 1, "thrust-cell", f"{wanted.name} is missing")
                continue
            at = sum(len(cell) + 1 for cell in cells[: wanted.index]) + 1
            value = self._number(line, at, wanted.name, cells[wanted.index].strip().strip('"'), mark)
            if value is not None:
                found.append(value * wanted.scale)
        return (found[0], found[1]) if len(found) == 2 else None

    def _number(self, line: int, column: int, name: str, text: str, mark: str) -> float | None:
        try:
            value = float(text.replace(",", ".") if mark != "," else text)
        except ValueError:
            value = math.nan
        if math.isfinite(value) and "_" not in text:
            return value
        shown = text if text.isprintable() and len(text) <= 40 else "something else"
        message = f'{name} is "{shown}"' if text else f"{name} is empty"
        self._note(line, column, "thrust-number", message, found=shown, expected="a number")
        return None

    def _curve(self, lines: list[int], readings: Array) -> MeasuredThrust:
        time, force = readings
        most = float(force.max())
        for k in range(len(time)):
            if k and time[k] <= time[k - 1]:
                message = f"time_s goes from {time[k - 1]:g} to {time[k]:g}"
                self._note(lines[k], 1, "thrust-order", message, expected="rows in the order of time")
            if force[k] < -_NOISE * most:
                message = f"force_n is {force[k]:g}"
                self._note(
                    lines[k], 1, "thrust-negative", message, expected="a force along the car, from 0 up"
                )
            if force[k] > _STRONGEST_N:
                message = f"force_n is {force[k]:g}"
                expected = f"newtons, at most {_STRONGEST_N:g}"
                self._note(lines[k], 1, "thrust-range", message, expected=expected)
        if time[0] < 0.0:
            message = f"time_s begins at {time[0]:g}"
            self._note(lines[0], 1, "thrust-range", message, expected="seconds from the start, from 0 up")
        if time[-1] > _LONGEST_S:
            message = f"time_s goes up to {time[-1]:g}"
            expected = f"seconds, at most {_LONGEST_S:g}"
            self._note(lines[-1], 1, "thrust-range", message, expected=expected)
        if most <= 0.0:
            self._note(lines[0], 1, "thrust-nothing", "no force is above 0", expected="a thrust")
        if self.problems:
            raise ProblemsError(self.problems[:_MOST_TOLD])
        force = np.maximum(force, 0.0)
        if time[0] > 0.0:  # nothing was read before, so nothing pushed at 0
            time, force = np.concatenate([[0.0], time]), np.concatenate([[0.0], force])
        return MeasuredThrust(self.file, time, force, self._open_end(lines[-1], force, most))

    def _open_end(self, line: int, force: Array, most: float) -> tuple[Problem, ...]:
        if force[-1] <= _OPEN_END * most:
            return ()
        message = f"the curve ends at {force[-1]:g} N, while the cartridge still pushes"
        return (
            Problem(
                "thrust-open",
                message,
                file=self.file,
                span=Span(line, 1, line, 2),
                expected="readings until the push is over",
                severity=Severity.WARNING,
            ),
        )

    def _note(
        self, line: int, column: int, code: str, message: str, *, found: str = "", expected: str = ""
    ) -> None:
        span = Span(line, column, line, column + max(1, len(found)))
        self.problems.append(
            Problem(code, message, file=self.file, span=span, found=found, expected=expected)
        )

    def _failed(self, code: str, message: str, expected: str = "") -> ProblemsError:
        return ProblemsError([Problem(code, message, file=self.file, expected=expected)])
