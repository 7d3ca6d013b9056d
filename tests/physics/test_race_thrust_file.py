from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.model import Push
from bodyshop.physics.thrust_file import MeasuredThrust, read_thrust
from tests.physics.race_cases import car, gas, raced

GOOD = "time_s,force_n\n0,0\n0.01,10\n0.2,6\n0.4,0\n"


def written(tmp_path: Path, text: str) -> MeasuredThrust:
    file = tmp_path / "thrust.csv"
    file.write_bytes(text.encode("utf-8"))
    return read_thrust(file)


def test_a_curve_is_read_and_its_impulse_is_the_area_under_it(tmp_path: Path) -> None:
    curve = written(tmp_path, GOOD)
    assert curve.impulse_ns == pytest.approx(0.05 + 0.19 * 8.0 + 0.2 * 3.0)
    assert not curve.warnings
    assert curve.push(gas()).impulse_ns[0] == pytest.approx(curve.impulse_ns)
    assert curve.push(gas()).gone_g[0, -1] == pytest.approx(8.0)


@pytest.mark.parametrize(
    "text",
    [
        "\ufefftime_s;force_n\r\n0;0\r\n0,01;10\r\n0,2;6\r\n0,4;0\r\n",
        "# a stand\ntime_s\tforce_n\n0\t0\n0.01\t10\n\n0.2\t6\n0.4\t0\n",
        "volt,Force_N,Time_S\n9,0,0\n9,10,0.01\n9,6,0.2\n9,0,0.4\n",
        GOOD.replace("0.4,0", '"0.4","-0.05"'),
    ],
)
def test_spreadsheets_write_it_in_many_ways(tmp_path: Path, text: str) -> None:
    assert written(tmp_path, text).impulse_ns == pytest.approx(written(tmp_path, GOOD).impulse_ns)


def test_a_balance_that_shows_grams_or_ounces_is_taken_at_its_word(tmp_path: Path) -> None:
    newtons = written(tmp_path, GOOD).impulse_ns
    grams = "time_ms,force_gf\n0,0\n10,1019.716\n200,611.830\n400,0\n"
    ounces = "time_s;force_ozf\n0;0\n0,01;35,9694\n0,2;21,5817\n0,4;0\n"
    assert written(tmp_path, grams).impulse_ns == pytest.approx(newtons, rel=1e-5)
    assert written(tmp_path, ounces).impulse_ns == pytest.approx(newtons, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "line", "code"),
    [
        (GOOD.replace("10", "ten"), 3, "thrust-number"),
        (GOOD.replace("10", "nan"), 3, "thrust-number"),
        (GOOD.replace("10", "inf"), 3, "thrust-number"),
        (GOOD.replace("0.01,10", "0.01"), 3, "thrust-cell"),
        (GOOD.replace("0.2,6", "0.005,6"), 4, "thrust-order"),
        (GOOD.replace("0.2,6", "0.01,6"), 4, "thrust-order"),
        (GOOD.replace("0.2,6", "0.2,-6"), 4, "thrust-negative"),
        (GOOD.replace("0.01,10", "0.01,9810"), 3, "thrust-range"),
        (GOOD.replace("0,0\n0.01", "-1,0\n0.01"), 2, "thrust-range"),
        (GOOD.replace("0.4,0", "400,0"), 5, "thrust-range"),
        ("time_s,force_n\n0,0\n1,0\n2,0\n", 2, "thrust-nothing"),
        ("time,force\n0,0\n1,2\n2,0\n", 1, "thrust-column"),
        ("time_s,force_n,force_gf\n0,0,0\n1,2,2\n2,0,0\n", 1, "thrust-column"),
        ("time_s,force_n,force_n\n0,0,0\n1,2,2\n2,0,0\n", 1, "thrust-column"),
    ],
)
def test_each_slip_is_told_with_its_line(tmp_path: Path, text: str, line: int, code: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        written(tmp_path, text)
    found = [(problem.code, problem.span.line if problem.span else 0) for problem in caught.value.problems]
    assert (code, line) in found


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", "time_s,force_n\n0,1\n1,0\n"])
def test_too_little_is_told(tmp_path: Path, text: str) -> None:
    with pytest.raises(ProblemsError):
        written(tmp_path, text)


def test_what_is_no_text_or_no_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "bin.csv").write_bytes(b"time_s,force_n\n0,\xff\xfe\n")
    for name in ("bin.csv", "none.csv", "a\0b", ""):
        with pytest.raises(ProblemsError):
            read_thrust(tmp_path / name if name and "\0" not in name else name)


def test_all_slips_are_told_at_once(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError) as caught:
        written(tmp_path, "time_s,force_n\n0,a\n1,b\n2,c\n")
    assert len(caught.value.problems) == 3


def test_a_curve_that_is_cut_off_and_one_in_grams_are_doubted(tmp_path: Path) -> None:
    cut = written(tmp_path, "time_s,force_n\n0,0\n0.01,10\n0.2,6\n")
    assert [w.code for w in cut.doubts(8.0)] == ["thrust-open"]
    strong = written(tmp_path, GOOD.replace("10", "100").replace("6", "60"))
    assert [w.code for w in strong.doubts(8.0)] == ["thrust-too-much"]
    assert written(tmp_path, GOOD).doubts(8.0) == ()


def test_a_late_first_row_is_nothing_before(tmp_path: Path) -> None:
    curve = written(tmp_path, "time_s,force_n\n0.1,0\n0.11,10\n0.3,6\n0.5,0\n")
    assert curve.time_s[0] == 0.0
    assert curve.impulse_ns == pytest.approx(written(tmp_path, GOOD).impulse_ns)
    later = raced(car(), curve.push(gas())).finish_s[0]
    assert later == pytest.approx(
        raced(car(), written(tmp_path, GOOD).push(gas())).finish_s[0] + 0.1, abs=1e-6
    )


def test_thousands_of_readings_keep_their_impulse_and_their_race(tmp_path: Path) -> None:
    time = np.linspace(0.0, 0.5, 5001)
    force = 12.0 * np.exp(-time / 0.1) + 0.5 * np.sin(400.0 * time) * np.exp(-time / 0.05)
    text = "time_s,force_n\n" + "\n".join(f"{t:.6f},{f:.6f}" for t, f in zip(time, force, strict=True))
    curve = written(tmp_path, text)
    push = curve.push(gas())
    assert push.time_s.shape[1] <= 500
    assert push.impulse_ns[0] == pytest.approx(curve.impulse_ns, rel=1e-6)
    steps = np.concatenate([[0.0], np.cumsum(0.5 * (force[1:] + force[:-1]) * np.diff(time))])
    fine = Push(time[None, :], force[None, :], 8.0 * steps[None, :] / steps[-1])
    assert raced(car(), push).finish_s[0] == pytest.approx(raced(car(), fine).finish_s[0], abs=3e-5)
