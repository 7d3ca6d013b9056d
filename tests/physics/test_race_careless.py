"""Whatever is in a thrust file or behind --set, it is read or refused: never a traceback."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.thrust_file import MeasuredThrust, read_thrust
from bodyshop.physics.what_if import read_setting, redesigned
from bodyshop.rules.checking import RulebookCache, open_car
from tests.output.cars import ROOT
from tests.physics.race_cases import car, gas, raced

CELLS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True, width=32).map(repr),
    st.floats(0.0, 0.4).map(lambda value: f"{value:.4f}"),
    st.sampled_from(["", "x", "1e999", "-0", "0x1", "1_0", '"2"', "١", "½"]),
)
ROWS = st.lists(st.tuples(CELLS, CELLS), max_size=8)


def read_or_refused(place: Path) -> MeasuredThrust | None:
    try:
        return read_thrust(place)
    except ProblemsError:
        return None


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("thrust") / "thrust.csv"


@settings(max_examples=80)
@given(rows=ROWS, mark=st.sampled_from([",", ";", "\t"]), end=st.sampled_from(["\n", "\r\n", "\r"]))
def test_any_table_is_read_or_refused(place: Path, rows: list[tuple[str, str]], mark: str, end: str) -> None:
    lines = [f"time_s{mark}force_n", *(f"{time}{mark}{force}" for time, force in rows)]
    place.write_bytes(end.join(lines).encode())
    curve = read_or_refused(place)
    if curve is None:
        return
    assert np.all(np.diff(curve.time_s) > 0)
    assert np.all(curve.force_n >= 0)
    assert curve.impulse_ns > 0
    found = raced(car(), curve.push(gas()))
    assert np.isfinite(found.finish_s[0]) or found.reached_m[0] < 20.0


@settings(max_examples=80)
@given(data=st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(place: Path, data: bytes) -> None:
    place.write_bytes(b"time_s,force_n\n" + data)
    read_or_refused(place)


@settings(max_examples=25)
@given(
    key=st.sampled_from(
        [
            "bore.height",
            "profile.points[2].to[0]",
            "plan.points[0]",
            "edges.round",
            "bore",
            "axles.front.wheel",
            "x",
        ]
    ),
    value=st.one_of(st.floats().map(str), st.integers().map(str), st.text(max_size=12)),
)
def test_any_setting_is_a_car_or_refused(key: str, value: str) -> None:
    opened = open_car(ROOT / "samples" / "kestrel.toml")
    with suppress(ProblemsError):
        assert redesigned(opened, [read_setting(f"{key}={value}")], RulebookCache()).car.mass.mass_g > 0
