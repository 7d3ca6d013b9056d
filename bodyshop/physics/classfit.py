"""What a class's own runs tell of its cartridges: the impulse that reaches a car, and the puncture.

Two figures are fitted, the factor on the computed impulse and the diameter of the puncture, both on the scale
of their logarithms. Everything else (mass, wheels, drag area, friction, line, charge, temperature, air) is
kept where it was known before: its spread is carried into the covariance of the times, not fitted, since
times at the finish tell nothing of it. This is Bayes' rule with normal laws on the times linearised about the
best fit (generalised least squares with a prior):

    minimise (t - f(p))' C^-1 (t - f(p)) + (p - p0)' P^-1 (p - p0),  C = timing + J P_rest J'

Where the times scatter by more than C expects, the result is widened by the Birge ratio (R. T. Birge, Phys.
Rev. 40 (1932) 207). With a finish time alone the two figures cannot be told apart: the puncture then stays
at its prior, and the correlation says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from bodyshop.physics.cartridge import GasDraw, TableThrust, Thrust
from bodyshop.physics.model import Array, Basis, CarNumbers, CartridgeNumbers, Estimate
from bodyshop.physics.motion import CarDraw
from bodyshop.physics.motion import run as race
from bodyshop.physics.priors import priors

__all__ = [
    "FIT_FORMULA",
    "FIT_SOURCE",
    "ClassFitResult",
    "OutlyingRun",
    "FitResidual",
    "Solver",
    "TimedRun",
    "computed_times",
    "fit_class",
]

FIT_FORMULA: Final = "most probable impulse and puncture, given all times and what was known before"
FIT_SOURCE: Final = "Bayes' rule, linearised; generalised least squares, any textbook on data analysis"

_TOLD: Final = 0.5
"""The puncture counts as told by the runs where they narrow its prior to less than this share."""

_FAR: Final = 4.0
"""Standard deviations at which a run is pointed at as not fitting the others."""

_MOST_FAR: Final = 10
_STEPS: Final = 12
_LONGEST: Final = 0.3
_ROOM: Final = 5.0
"""Standard deviations of the prior that the fit may go: what lies beyond is no cartridge, but a slip."""

_CLOSE: Final = 0.02
"""Steps end where one moves each figure by less than this share of its standard deviation."""


@dataclass(frozen=True, slots=True)
class TimedRun:
    """One run of a car: what was known of it, and when it passed each place (m, s), the finish the last.

    `cartridge` is as it was taken before any fit, with its own temperature where that was measured
    (`warmth_read`). `timing_sd_s` is how well each time is known.
    """

    car: str
    numbers: CarNumbers
    cartridge: CartridgeNumbers
    density_kg_m3: Estimate
    times: tuple[tuple[float, float], ...]
    timing_sd_s: float
    warmth_read: bool = False


@dataclass(frozen=True, slots=True)
class FitResidual:
    """How far one measured time lies from the fit, in seconds and in standard deviations of what is expected
    of it beside the fit.
    """

    run: int
    place_m: float
    measured_s: float
    fitted_s: float
    deviations: float

    @property
    def error_s(self) -> float:
        """Measured less fitted."""
        return self.measured_s - self.fitted_s


@dataclass(frozen=True, slots=True)
class OutlyingRun:
    """A run that the others do not let expect: by how much at its last place, and by how many standard
    deviations over all its times.
    """

    run: int
    error_s: float
    deviations: float


@dataclass(frozen=True, slots=True)
class ClassFitResult:
    """The fit. `impulse_ns` is the mean impulse over the runs; `coupling` the correlation between the
    logarithms of impulse factor and hole; `hole_told` whether the runs narrowed the hole at all.

    `birge` is the ratio by which the scatter is wider than expected, at least 1. `far` are runs that the
    others do not let expect; they are in the fit all the same. `left_out` are runs that the model cannot
    make finish.
    """

    impulse_factor: Estimate
    hole_mm: Estimate
    impulse_ns: Estimate
    coupling: float
    hole_told: bool
    birge: float
    scatter_s: float
    runs: int
    cars: int
    times: int
    missed: tuple[FitResidual, ...]
    far: tuple[OutlyingRun, ...]
    left_out: tuple[int, ...]


Scope = Callable[[int, TimedRun], object]


def _one_for_all(_: int, __: TimedRun) -> object:
    return "all"


def _one_a_car(_: int, run: TimedRun) -> object:
    return run.car


def _one_a_run(index: int, _: TimedRun) -> object:
    return index


def _warmth(index: int, run: TimedRun) -> object:
    return index if run.warmth_read else "all"


@dataclass(frozen=True, slots=True)
class _Kept:
    """A figure that is kept at its prior, and between which runs its error is shared."""

    figure: Callable[[TimedRun], Estimate]
    scope: Scope


_KEPT: Final = (
    _Kept(lambda run: run.numbers.mass_g, _one_a_car),
    _Kept(lambda run: run.numbers.inertia_g, _one_a_car),
    _Kept(lambda run: run.numbers.cda_m2, _one_a_car),
    _Kept(lambda run: run.numbers.rolling, _one_a_car),
    _Kept(lambda run: run.numbers.line_n, _one_for_all),
    _Kept(lambda run: run.density_kg_m3, _one_for_all),
    _Kept(lambda run: run.cartridge.shell_g, _one_a_run),
    _Kept(lambda run: run.cartridge.charge_g, _one_a_run),
    _Kept(lambda run: run.cartridge.volume_cm3, _one_for_all),
    _Kept(lambda run: run.cartridge.temperature_c, _warmth),
)
"""Wheels and paint belong to a car, the gas in a cartridge to a run, the line and the air to the hall. The
order is that of the rows of figures below."""

_MASS, _INERTIA, _CDA, _ROLLING, _LINE, _AIR, _SHELL, _CHARGE, _VOLUME, _WARMTH, _HOLE, _IMPULSE = range(12)
_HALF_SD: Final = 0.5
_LOG_STEP: Final = 0.02


def fit_class(runs: Sequence[TimedRun], thrust: Thrust | None = None) -> ClassFitResult | None:
    """The class's impulse and puncture from its runs; None where no run can be made to finish.

    The priors of both are taken from the first run's cartridge.
    """
    thrust = TableThrust() if thrust is None else thrust
    if not runs:
        return None
    known = computed_times(runs, thrust)
    kept = [i for i, times in enumerate(known) if bool(np.all(np.isfinite(times)))]
    if not kept:
        return None
    return Solver([runs[i] for i in kept], thrust).solved(kept, len(runs))


class Solver:
    """The equations of one fit, for runs that the model can make finish. A point is the logarithms of impulse
    factor and hole.
    """

    def __init__(self, runs: Sequence[TimedRun], thrust: Thrust) -> None:
        self.runs = list(runs)
        self.thrust = thrust
        self.timed = _Timed(runs)
        self.measured = np.array([time for run in runs for _, time in run.times])
        first = runs[0].cartridge
        self.start = np.log([first.impulse_factor.value, first.hole_mm.value])
        self.prior_sd = np.array([first.impulse_factor.tau, first.hole_mm.tau])
        self._middle, self._more, self._less = (
            np.array([[float(kept.figure(run).draw(np.array([z]))[0]) for run in runs] for kept in _KEPT])
            for z in (0.0, _HALF_SD, -_HALF_SD)
        )
        self._groups = [self._scoped(kept.scope) for kept in _KEPT]
        self._cars = self._scoped(_one_a_car)
        self._rest = priors().running["rest"].estimate.tau

    def _scoped(self, scope: Scope) -> Array:
        """Which times share an error: 1 where two do."""
        names = [scope(i, self.runs[i]) for i in self.timed.owner]
        return np.array([[float(one == other) for other in names] for one in names])

    def expected(self, point: Array) -> tuple[Array, Array, Array]:
        """The times at a point, their change with its logarithms, and their covariance from the timing and
        from all that is kept at its prior, each worked out by a difference of one up and one down.
        """
        rows = len(_KEPT)
        sets = 1 + 2 * rows + 4
        values = np.empty((sets, 12, len(self.runs)))
        values[:, :rows] = self._middle
        for k in range(rows):
            values[1 + 2 * k, k], values[2 + 2 * k, k] = self._more[k], self._less[k]
        values[:, _IMPULSE], values[:, _HOLE] = np.exp(point[0]), np.exp(point[1])
        for j, row in enumerate((_IMPULSE, _HOLE)):
            values[sets - 4 + 2 * j, row] *= math.exp(_LOG_STEP)
            values[sets - 3 + 2 * j, row] *= math.exp(-_LOG_STEP)
        found = self.timed.times(values, self.thrust)
        jacobian = (found[-4::2] - found[-3::2]).T / (2.0 * _LOG_STEP)
        sd = np.array([self.runs[i].timing_sd_s for i in self.timed.owner])
        # What the model itself leaves out is a car's own, in proportion to the time.
        left_out = self._rest * found[0]
        covariance = np.diag(sd**2) + np.outer(left_out, left_out) * self._cars
        for k, shared in enumerate(self._groups):
            slope = np.nan_to_num(found[1 + 2 * k] - found[2 + 2 * k]) / (2.0 * _HALF_SD)
            covariance = covariance + np.outer(slope, slope) * shared
        return found[0], jacobian, covariance

    def solved(self, kept: Sequence[int], asked: int) -> ClassFitResult:
        """Gauss-Newton steps to the most probable point; `kept` are the runs' places among the `asked`."""
        free = self.prior_sd > 0
        inverse_prior = np.diag(np.where(free, 1.0 / np.where(free, self.prior_sd, 1.0) ** 2, 1e12))
        point, room = self.start.copy(), _ROOM * self.prior_sd
        fitted, jacobian, covariance = self.expected(point)
        for _ in range(_STEPS):
            weight = np.linalg.inv(covariance)
            normal = jacobian.T @ weight @ jacobian + inverse_prior
            pull = jacobian.T @ weight @ (self.measured - fitted) + inverse_prior @ (self.start - point)
            step = np.clip(np.linalg.solve(normal, pull), -_LONGEST, _LONGEST)
            point = np.clip(point + step, self.start - room, self.start + room)
            fitted, jacobian, covariance = self.expected(point)
            if float(np.max(step**2 * np.diag(normal))) < _CLOSE**2:
                break
        return self._told(point, fitted, jacobian, covariance, inverse_prior, kept, asked)

    def _told(
        self,
        point: Array,
        fitted: Array,
        jacobian: Array,
        covariance: Array,
        inverse_prior: Array,
        kept: Sequence[int],
        asked: int,
    ) -> ClassFitResult:
        weight = np.linalg.inv(covariance)
        left = self.measured - fitted
        birge, freedom = 1.0, len(left) - 2
        if freedom > 0:
            birge = max(1.0, math.sqrt(float(left @ weight @ left) / freedom))
        posterior = np.linalg.inv(jacobian.T @ weight @ jacobian / birge**2 + inverse_prior)
        sds = np.sqrt(np.diag(posterior))
        count = len(self.runs)
        source = f"fitted to {count} run{'' if count == 1 else 's'}"
        factor, hole = (_figure(math.exp(at), float(sd), source) for at, sd in zip(point, sds, strict=True))
        told = bool(sds[1] < _TOLD * self.prior_sd[1])
        before = left + jacobian @ (point - self.start)
        spread = covariance + jacobian @ np.linalg.inv(inverse_prior) @ jacobian.T
        places = [place for run in self.runs for place, _ in run.times]
        return ClassFitResult(
            impulse_factor=factor,
            hole_mm=hole if told else replace(hole, source="as it was before: the runs do not tell it"),
            impulse_ns=_figure(self._impulse(point), float(sds[0]), source),
            coupling=float(posterior[0, 1] / (sds[0] * sds[1])),
            hole_told=told,
            birge=birge,
            scatter_s=float(np.sqrt(np.mean(left**2))),
            runs=count,
            cars=len({run.car for run in self.runs}),
            times=len(left),
            missed=tuple(
                FitResidual(kept[i], place, float(at), float(fit), float(far))
                for i, place, at, fit, far in zip(
                    self.timed.owner,
                    places,
                    self.measured,
                    fitted,
                    left / np.sqrt(np.diag(covariance)),
                    strict=True,
                )
            ),
            far=tuple(replace(each, run=kept[each.run]) for each in self._far(before, spread)),
            left_out=tuple(i for i in range(asked) if i not in set(kept)),
        )

    def _far(self, before: Array, spread: Array) -> list[OutlyingRun]:
        """Runs that the others do not let expect, the worst first, each one judged without those before it.

        `before` is measured less expected before the fit, `spread` its covariance: what the rest suggests
        of a run is then read off the inverse (deletion residuals, any textbook on regression).
        """
        owner = np.array(self.timed.owner)
        active = np.ones(len(owner), dtype=bool)
        found: list[OutlyingRun] = []
        while len(found) < _MOST_FAR and len(set(owner[active].tolist())) > 2:
            inverse = np.linalg.inv(spread[np.ix_(active, active)])
            pull = inverse @ before[active]
            worst: OutlyingRun | None = None
            for run in sorted(set(owner[active].tolist())):
                mine = owner[active] == run
                alone = np.linalg.solve(inverse[np.ix_(mine, mine)], pull[mine])
                size = math.sqrt(max(float(pull[mine] @ alone), 0.0) / int(mine.sum()))
                if worst is None or size > worst.deviations:
                    worst = OutlyingRun(run, float(alone[-1]), size)
            if worst is None or worst.deviations < _FAR:
                break
            found.append(worst)
            active &= owner != worst.run
        return found

    def _impulse(self, point: Array) -> float:
        """Mean impulse of the runs' cartridges at the fit, N s."""
        values = np.concatenate([self._middle, np.empty((2, len(self.runs)))])
        values[_IMPULSE], values[_HOLE] = np.exp(point[0]), np.exp(point[1])
        return float(np.mean(self.thrust.push(_gas(values)).impulse_ns))


class _Timed:
    """Where some runs were timed: places in order, and for each time its run and its place."""

    def __init__(self, runs: Sequence[TimedRun]) -> None:
        self.places = tuple(sorted({place for run in runs for place, _ in run.times}))
        row = {place: k for k, place in enumerate(self.places)}
        self.owner = [i for i, run in enumerate(runs) for _ in run.times]
        self.row = [row[place] for run in runs for place, _ in run.times]
        self.count = len(runs)

    def times(self, values: Array, thrust: Thrust) -> Array:
        """Computed times, a row for each set of `values` (sets, figures, runs); NaN where a run stops
        short.
        """
        flat = values.transpose(1, 0, 2).reshape(values.shape[1], -1)
        car = CarDraw(
            flat[_MASS] + flat[_SHELL] + flat[_CHARGE],
            flat[_INERTIA],
            flat[_CDA],
            flat[_ROLLING],
            flat[_LINE],
            flat[_AIR],
        )
        done = race(thrust.push(_gas(flat)), car, self.places[-1], self.places)
        gates = done.gates_s.reshape(len(self.places), len(values), self.count)
        return np.asarray(gates[self.row, :, self.owner].T)


def _gas(values: Array) -> GasDraw:
    return GasDraw(values[_CHARGE], values[_VOLUME], values[_WARMTH], values[_HOLE], values[_IMPULSE])


def _figure(value: float, tau: float, source: str) -> Estimate:
    square = math.exp(tau * tau)
    return Estimate(value, value * math.sqrt(square * (square - 1.0)), source, Basis.FITTED)


def computed_times(runs: Sequence[TimedRun], thrust: Thrust) -> list[Array]:
    """Times of every run at each of its places with every figure at its middle; NaN where it stops short."""
    values = np.array(
        [
            [kept.figure(run).value for run in runs]
            for kept in (
                *_KEPT,
                _Kept(lambda run: run.cartridge.hole_mm, _one_for_all),
                _Kept(lambda run: run.cartridge.impulse_factor, _one_for_all),
            )
        ]
    )
    timed = _Timed(runs)
    found = timed.times(values[None], thrust)[0]
    owner = np.array(timed.owner)
    return [found[owner == i] for i in range(len(runs))]
