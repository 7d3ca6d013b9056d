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
from typing import Any, Final

import numpy as np

from bodyshop.race.cartridge import GasDraw, TableThrust, Thrust
from bodyshop.race.model import Array, Basis, CarNumbers, CartridgeNumbers, Estimate
from bodyshop.race.motion import CarDraw
from bodyshop.race.motion import run as race
from bodyshop.race.priors import priors

__all__ = ["FIT_FORMULA", "FIT_SOURCE", "ClassFitted", "Missed", "TimedRun", "fit_class"]

FIT_FORMULA: Final = "most probable impulse and puncture, given all times and what was known before"
FIT_SOURCE: Final = "Bayes' rule, linearised; generalised least squares, any textbook on data analysis"

_TOLD: Final = 0.8
"""The puncture counts as told by the runs where they narrow its prior to less than this share."""

_FAR: Final = 3.0
_STEPS: Final = 12
_LONGEST: Final = 0.3
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
class Missed:
    """How far one measured time lies from the fit, in seconds and in standard deviations of what is expected
    of it.
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
class ClassFitted:
    """The fit. `impulse_ns` is the mean impulse over the runs; `coupling` the correlation between the
    logarithms of impulse factor and hole; `hole_told` whether the runs narrowed the hole at all.

    `birge` is the ratio by which the scatter is wider than expected, at least 1. `left_out` are runs that
    the model cannot make finish.
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
    missed: tuple[Missed, ...]
    left_out: tuple[int, ...]

    @property
    def far(self) -> tuple[Missed, ...]:
        """Times that lie three standard deviations away or more."""
        return tuple(each for each in self.missed if abs(each.deviations) >= _FAR)


Change = Callable[[TimedRun, float], TimedRun]


def _of_car(name: str) -> Change:
    def change(run: TimedRun, z: float) -> TimedRun:
        known = getattr(run.numbers, name)
        moved = Estimate.exact(float(known.draw(np.array([z]))[0]), known.source)
        return replace(run, numbers=replace(run.numbers, **{name: moved}))

    return change


def _of_cartridge(name: str) -> Change:
    def change(run: TimedRun, z: float) -> TimedRun:
        known = getattr(run.cartridge, name)
        moved = Estimate.exact(float(known.draw(np.array([z]))[0]), known.source)
        return replace(run, cartridge=_with(run.cartridge, name, moved))

    return change


def _with(cartridge: CartridgeNumbers, name: str, figure: Estimate) -> CartridgeNumbers:
    changes: dict[str, Any] = {name: figure}
    return replace(cartridge, **changes)


def _of_air(run: TimedRun, z: float) -> TimedRun:
    moved = float(run.density_kg_m3.draw(np.array([z]))[0])
    return replace(run, density_kg_m3=Estimate.exact(moved, run.density_kg_m3.source))


def _one_for_all(_: int, __: TimedRun) -> object:
    return "all"


def _one_a_car(_: int, run: TimedRun) -> object:
    return run.car


def _one_a_run(index: int, _: TimedRun) -> object:
    return index


def _warmth(index: int, run: TimedRun) -> object:
    return index if run.warmth_read else "all"


_REST: Final[tuple[tuple[Change, Callable[[int, TimedRun], object]], ...]] = (
    (_of_car("mass_g"), _one_a_car),
    (_of_car("inertia_g"), _one_a_car),
    (_of_car("cda_m2"), _one_a_car),
    (_of_car("rolling"), _one_a_car),
    (_of_car("line_n"), _one_for_all),
    (_of_cartridge("shell_g"), _one_a_run),
    (_of_cartridge("charge_g"), _one_a_run),
    (_of_cartridge("volume_cm3"), _one_for_all),
    (_of_cartridge("temperature_c"), _warmth),
    (_of_air, _one_for_all),
)
"""What is kept at its prior, and between which runs its error is shared: wheels and paint belong to a car,
the gas in a cartridge to a run, the line and the air to the hall."""


def fit_class(runs: Sequence[TimedRun], thrust: Thrust | None = None) -> ClassFitted | None:
    """The class's impulse and puncture from its runs; None where no run can be made to finish.

    The priors of both are taken from the first run's cartridge.
    """
    thrust = TableThrust() if thrust is None else thrust
    solver = _Solver(runs, thrust)
    if not solver.kept:
        return None
    return solver.solved()


class _Solver:
    """The equations of one fit, for the runs that the model can make finish."""

    def __init__(self, runs: Sequence[TimedRun], thrust: Thrust) -> None:
        self.thrust = thrust
        known = _times(runs, thrust) if runs else []
        self.kept = [i for i, times in enumerate(known) if bool(np.all(np.isfinite(times)))]
        self.left_out = tuple(i for i in range(len(runs)) if i not in self.kept)
        self.runs = [runs[i] for i in self.kept]
        self.owner = np.array([i for i, run in enumerate(self.runs) for _ in run.times], dtype=np.intp)
        self.measured = np.array([time for run in self.runs for _, time in run.times])
        if self.runs:
            first = self.runs[0].cartridge
            self.prior = (first.impulse_factor, first.hole_mm)
            self.start = np.array([math.log(each.value) for each in self.prior])
            self.prior_sd = np.array([each.tau for each in self.prior])

    def times(self, point: Array, changes: Sequence[tuple[Change, float]] = ()) -> list[Array]:
        """All times, in one go, for the runs as they are and then for each change of all of them."""
        factor, hole = (Estimate.exact(float(math.exp(each)), "fit") for each in point)
        plain = [
            replace(run, cartridge=replace(run.cartridge, impulse_factor=factor, hole_mm=hole))
            for run in self.runs
        ]
        sets = [plain] + [[change(run, z) for run in plain] for change, z in changes]
        flat = _times([run for each in sets for run in each], self.thrust)
        n = len(self.runs)
        return [np.concatenate(flat[k * n : (k + 1) * n]) for k in range(len(sets))]

    def covariance(self, point: Array) -> Array:
        """Of the times, from the timing and from all that is kept at its prior."""
        changes = [(change, z) for change, _ in _REST for z in (0.5, -0.5)]
        found = self.times(point, changes)[1:]
        sd = np.array([self.runs[i].timing_sd_s for i in self.owner])
        total = np.diag(sd**2)
        # What the model itself leaves out, a car's own, in proportion to the time.
        left_out = priors().running["rest"].estimate.tau * np.nan_to_num(0.5 * (found[0] + found[1]))
        cars = [self.runs[i].car for i in self.owner]
        for name in set(cars):
            part = np.where([each == name for each in cars], left_out, 0.0)
            total = total + np.outer(part, part)
        for k, (_, scope) in enumerate(_REST):
            slope = np.nan_to_num(found[2 * k] - found[2 * k + 1])
            groups = [scope(i, self.runs[i]) for i in self.owner]
            for group in set(groups):
                part = np.where([each == group for each in groups], slope, 0.0)
                total = total + np.outer(part, part)
        return np.asarray(total, dtype=np.float64)

    def slopes(self, point: Array) -> tuple[Array, Array]:
        """Times, and their change with the logarithm of each figure."""
        step = 0.02

        def moved(index: int, by: float) -> Change:
            name = ("impulse_factor", "hole_mm")[index]

            def change(run: TimedRun, _: float) -> TimedRun:
                now = getattr(run.cartridge, name)
                there = Estimate.exact(now.value * math.exp(by), "fit")
                return replace(run, cartridge=_with(run.cartridge, name, there))

            return change

        found = self.times(point, [(moved(i, by), 0.0) for i in range(2) for by in (step, -step)])
        columns = [(found[1 + 2 * i] - found[2 + 2 * i]) / (2.0 * step) for i in range(2)]
        return found[0], np.stack(columns, axis=1)

    def solved(self) -> ClassFitted:
        """Gauss-Newton steps to the most probable point."""
        free = self.prior_sd > 0
        inverse_prior = np.diag(np.where(free, 1.0 / np.where(free, self.prior_sd, 1.0) ** 2, 1e12))
        point, covariance = self.start.copy(), self.covariance(self.start)
        fitted, jacobian = self.slopes(point)
        weight = np.linalg.inv(covariance)
        for step_number in range(_STEPS):
            normal = jacobian.T @ weight @ jacobian + inverse_prior
            pull = jacobian.T @ weight @ (self.measured - fitted) + inverse_prior @ (self.start - point)
            step = np.clip(np.linalg.solve(normal, pull), -_LONGEST, _LONGEST)
            point = point + step
            fitted, jacobian = self.slopes(point)
            if step_number == 1:  # near enough to the best fit to reckon the rest there
                covariance = self.covariance(point)
                weight = np.linalg.inv(covariance)
            elif float(np.max(step**2 * np.diag(normal))) < _CLOSE**2:
                break
        return self._told(point, fitted, jacobian, np.asarray(covariance), np.asarray(weight), inverse_prior)

    def _told(
        self,
        point: Array,
        fitted: Array,
        jacobian: Array,
        covariance: Array,
        weight: Array,
        inverse_prior: Array,
    ) -> ClassFitted:
        left = self.measured - fitted
        birge = 1.0
        freedom = len(left) - 2
        if freedom > 0:
            birge = max(1.0, math.sqrt(float(left @ weight @ left) / freedom))
        posterior = np.linalg.inv(jacobian.T @ weight @ jacobian / birge**2 + inverse_prior)
        sds = np.sqrt(np.diag(posterior))
        count = len(self.runs)
        source = f"fitted to {count} run{'' if count == 1 else 's'}"
        factor, hole = (_figure(math.exp(at), float(sd), source) for at, sd in zip(point, sds, strict=True))
        told = bool(sds[1] < _TOLD * self.prior_sd[1])
        deviations = left / np.sqrt(np.diag(covariance))
        places = [place for run in self.runs for place, _ in run.times]
        return ClassFitted(
            impulse_factor=factor,
            hole_mm=hole if told else replace(hole, source="as it was before: the runs do not tell it"),
            impulse_ns=_figure(self._impulse(point), float(sds[0]), source),
            coupling=float(posterior[0, 1] / (sds[0] * sds[1])) if sds[1] > 0 else 0.0,
            hole_told=told,
            birge=birge,
            scatter_s=float(np.sqrt(np.mean(left**2))),
            runs=count,
            cars=len({run.car for run in self.runs}),
            times=len(left),
            missed=tuple(
                Missed(self.kept[i], place, float(at), float(fit), float(far))
                for i, place, at, fit, far in zip(
                    self.owner, places, self.measured, fitted, deviations, strict=True
                )
            ),
            left_out=self.left_out,
        )

    def _impulse(self, point: Array) -> float:
        """Mean impulse of the runs' cartridges at the fit, N s."""
        draw = _gas(self.runs)
        ones = np.ones(len(self.runs))
        gas = replace(draw, impulse_factor=ones * math.exp(point[0]), hole_mm=ones * math.exp(point[1]))
        return float(np.mean(self.thrust.push(gas).impulse_ns))


def _figure(value: float, tau: float, source: str) -> Estimate:
    square = math.exp(tau * tau)
    return Estimate(value, value * math.sqrt(square * (square - 1.0)), source, Basis.FITTED)


def _gas(runs: Sequence[TimedRun]) -> GasDraw:
    return GasDraw(
        *(
            np.array([getattr(run.cartridge, name).value for run in runs])
            for name in ("charge_g", "volume_cm3", "temperature_c", "hole_mm", "impulse_factor")
        )
    )


def _times(runs: Sequence[TimedRun], thrust: Thrust) -> list[Array]:
    """Computed times of every run at each of its places; NaN where it stops short."""
    places = sorted({place for run in runs for place, _ in run.times})
    start = [
        run.numbers.mass_g.value + run.cartridge.shell_g.value + run.cartridge.charge_g.value for run in runs
    ]
    car = CarDraw(
        np.array(start),
        np.array([run.numbers.inertia_g.value for run in runs]),
        np.array([run.numbers.cda_m2.value for run in runs]),
        np.array([run.numbers.rolling.value for run in runs]),
        np.array([run.numbers.line_n.value for run in runs]),
        np.array([run.density_kg_m3.value for run in runs]),
    )
    done = race(thrust.push(_gas(runs)), car, places[-1], tuple(places))
    row = {place: k for k, place in enumerate(places)}
    return [np.array([done.gates_s[row[place], i] for place, _ in run.times]) for i, run in enumerate(runs)]
