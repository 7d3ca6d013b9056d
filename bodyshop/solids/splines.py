"""Functions of one parameter as B-splines: fitted by interpolation, refined until near enough.

Several functions are fitted on one set of knots, so that any sum of them is a spline on the same knots:
the edges and faces of the skin are such sums, and share their edges to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bodyshop.geometry.outlines import Array

__all__ = ["Fit", "basis", "fit"]

DEGREE = 5
MOST_SPANS = 100
# Where the fit is compared with the function inside each span; no interpolation node lies near all four.
PROBES = np.array([0.13, 0.37, 0.61, 0.89])


@dataclass(frozen=True, slots=True)
class Fit:
    """Clamped B-splines over [0, 1]: `breaks` are the distinct knots, inner ones of multiplicity 1;
    `poles` has one row a function. `error` is the largest deviation found.
    """

    degree: int
    breaks: Array
    poles: Array
    error: float

    def at(self, s: Array) -> Array:
        """Values of every function at parameters `s`, shape (functions, s.size)."""
        return np.asarray(self.poles @ basis(self.degree, self.breaks, s).T)


def fit(ways: Sequence[Callable[[Array], Array]], tolerance: float) -> Fit:
    """Fit functions of shape (functions, s.size) over [0, 1], given in several ways: the same curve run at
    another pace. The way that comes nearest at once is refined; the next is tried when that fails.

    Straight ones come out as degree 1. The caller decides whether the `error` reached will do.
    """
    straight, _ = _interpolate(ways[0], 1, np.array([0.0, 1.0]))
    if straight.error < 1e-3 * tolerance:
        return straight
    first = []
    for way in ways:
        rough, wrong = _interpolate(way, DEGREE, np.linspace(0.0, 1.0, 3))
        if rough.error <= tolerance:
            return rough
        first.append((rough, wrong, way))
    found = []
    for rough, wrong, way in sorted(first, key=lambda one: one[0].error):
        found.append(_refined(rough, wrong, way, tolerance))
        if found[-1].error <= tolerance:
            break
    return min(found, key=lambda one: one.error)


def _refined(found: Fit, wrong: Array, functions: Callable[[Array], Array], tolerance: float) -> Fit:
    """Spans that stray are halved until none does."""
    while found.error > tolerance and found.breaks.size <= MOST_SPANS:
        breaks = found.breaks
        middles = (breaks[:-1] + 0.5 * np.diff(breaks))[wrong > tolerance]
        found, wrong = _interpolate(functions, DEGREE, np.sort(np.concatenate((breaks, middles))))
    return found


def _interpolate(functions: Callable[[Array], Array], degree: int, breaks: Array) -> tuple[Fit, Array]:
    """The spline through the functions at its nodes, and how far it strays in each span."""
    nodes, probe, solved, at_probe = _frame(degree, tuple(breaks.tolist()))
    values = functions(np.concatenate((nodes, probe)))
    poles = np.asarray(values[:, : nodes.size] @ solved)
    off = np.abs(poles @ at_probe - values[:, nodes.size :]).max(axis=0)
    wrong = np.asarray(off.reshape(-1, PROBES.size).max(axis=1))
    return Fit(degree, breaks, poles, float(wrong.max())), wrong


@lru_cache(maxsize=256)
def _frame(degree: int, breaks: tuple[float, ...]) -> tuple[Array, Array, Array, Array]:
    """What depends on the knots alone: nodes, probes, values at nodes to poles, poles to values at probes."""
    at = np.array(breaks)
    knots = _clamped(degree, at)
    count = knots.size - degree - 1
    # Greville's abscissae: the mean of the knots under each basis function.
    nodes = np.array([knots[i + 1 : i + degree + 1].mean() for i in range(count)])
    nodes[0], nodes[-1] = 0.0, 1.0
    probe = np.asarray((at[:-1, None] + np.diff(at)[:, None] * PROBES).ravel(), dtype=np.float64)
    inverse = np.linalg.inv(basis(degree, at, nodes))
    return nodes, probe, np.asarray(inverse.T, dtype=np.float64), np.asarray(basis(degree, at, probe).T)


def _clamped(degree: int, breaks: Array) -> Array:
    return np.concatenate((np.zeros(degree), breaks, np.ones(degree)))


def basis(degree: int, breaks: Array, s: Array) -> Array:
    """Values of every basis function at `s`, shape (s.size, functions): de Boor's recurrence."""
    knots = _clamped(degree, breaks)
    span = np.clip(np.searchsorted(breaks, s, side="right") - 1, 0, breaks.size - 2) + degree
    local = np.zeros((s.size, degree + 1))
    local[:, 0] = 1.0
    for d in range(1, degree + 1):
        saved = np.zeros(s.size)
        for r in range(d):
            right, left = knots[span + r + 1], knots[span + 1 - d + r]
            share = local[:, r] / (right - left)
            local[:, r] = saved + (right - s) * share
            saved = (s - left) * share
        local[:, d] = saved
    full = np.zeros((s.size, knots.size - degree - 1))
    columns = span[:, None] - degree + np.arange(degree + 1)
    np.put_along_axis(full, columns, local, axis=1)
    return full
