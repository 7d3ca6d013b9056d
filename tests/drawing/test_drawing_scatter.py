from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.drawing.layout.scatter import Axis, Dot, nice_ticks, scatter_plot
from bodyshop.drawing.sheet.items import Circle, Sheet, Text
from bodyshop.drawing.sheet.replay import replay


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(3, 12))
def test_ticks_are_round_few_and_hold_the_data(low, span, most) -> None:
    ticks, decimals = nice_ticks(low, low + span, most)
    step = ticks[1] - ticks[0]
    assert 2 <= len(ticks) <= most + 1
    assert ticks[0] <= low + 1e-6 * step
    assert ticks[-1] >= low + span - 1e-6 * step
    # A step is 1, 2 or 5 times a power of ten (Heckbert, "Nice numbers for graph labels", Graphics Gems
    # 1990, from memory), so what is printed loses nothing.
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - base) for base in (1, 2, 5, 10)) < 1e-4
    assert all(abs(float(f"{tick:.{decimals}f}") - tick) < 1e-6 * step for tick in ticks)


def test_a_single_value_still_has_an_axis() -> None:
    ticks, _ = nice_ticks(1.2, 1.2)
    assert ticks[0] < 1.2 < ticks[-1]
    with pytest.raises(ValueError, match="finite"):
        nice_ticks(math.nan, 1.0)


def _dots(count: int) -> list[Dot]:
    rng = np.random.default_rng(5)
    made = []
    for k in range(count):
        x, y = 50 + 10 * rng.random(), 1 + 0.3 * rng.random()
        made.append(Dot(str(k + 1), (x, x - 0.5, x + 0.5), (y, y - 0.01, y + 0.02)))
    return made


def test_points_lie_where_their_values_are() -> None:
    dots = _dots(12)
    block = scatter_plot("t", Axis("mass, g"), Axis("time, s"), dots, 180, 110)
    discs = [item for item in block.items if isinstance(item, Circle)]
    centres = np.array([disc.centre for disc in discs])
    values = np.array([(dot.x[0], dot.y[0]) for dot in dots])
    # A plot is an affine map: numpy's least squares must find it without rest.
    basis = np.column_stack([values, np.ones(len(values))])
    for axis in (0, 1):
        _, residual, _, _ = np.linalg.lstsq(basis, centres[:, axis], rcond=None)
        assert float(residual.sum()) < 1e-18


@pytest.mark.parametrize("count", [0, 1, 40])
def test_nothing_leaves_the_plot_and_numbers_stay_apart(count) -> None:
    block = scatter_plot("t", Axis("x, g"), Axis("y, s"), _dots(count), 170, 100)
    assert list(replay(Sheet(200, 200, block.items)))
    texts = [item for item in block.items if isinstance(item, Text)]
    assert all(0 <= text.at[0] <= 170 and -100 <= text.at[1] <= 0 for text in texts)
    numbers = [
        text.at
        for text in texts
        if text.text in {dot.label for dot in _dots(count)} and text.weight.value == "bold"
    ]
    assert len(numbers) == count
    if count <= 12:
        assert all(math.dist(one, other) > 1.0 for k, one in enumerate(numbers) for other in numbers[:k])


def test_equal_axes_share_their_ends() -> None:
    dots = [Dot("1", (1.0, 0.9, 1.1), (1.4, 1.4, 1.4), hollow=True)]
    block = scatter_plot("t", Axis("predicted, s"), Axis("measured, s"), dots, 150, 120, equal=True)
    figures = [
        Fraction(item.text)
        for item in block.items
        if isinstance(item, Text) and item.text[:1] == "1" and "." in item.text
    ]
    assert all(figures.count(value) == 2 for value in figures)
