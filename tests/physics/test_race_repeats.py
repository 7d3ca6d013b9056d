"""Repeated readings."""

from __future__ import annotations

import math

import pytest

from bodyshop.foundation.statistics import repeats, t_quantile
from bodyshop.physics.model import Interval


@pytest.mark.parametrize(
    ("freedom", "t"), [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (9, 2.262), (30, 2.042)]
)
def test_students_table(freedom, t) -> None:
    # JCGM 100:2008 (GUM), table G.2, and any textbook: 95 %, two-sided.
    assert t_quantile(0.975, freedom) == pytest.approx(t, abs=6e-4)


def test_a_series_by_hand() -> None:
    series = repeats([2.0, 4.0, 6.0])
    assert (series.count, series.mean, series.spread) == (3, 4.0, 2.0)
    assert series.half_width == pytest.approx(4.303 * 2 / math.sqrt(3), rel=1e-3)
    assert series.sd == pytest.approx(4.303 * 2 / math.sqrt(3) / 1.96, rel=1e-3)
    held = Interval.of_mean(series)
    assert held is not None
    assert held.high - held.value == pytest.approx(held.value - held.low)


def test_one_reading_has_no_spread() -> None:
    series = repeats([3.0])
    assert (series.mean, series.spread, Interval.of_mean(series), series.sd) == (3.0, None, None, None)
