from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics import cartridge
from bodyshop.physics.blowdown import DISCHARGE, LIQUID_STEPS, MIXTURE_STEPS
from bodyshop.physics.cartridge import (
    TABLE_FILE,
    TableThrust,
    blow_down_table,
    check_filling,
    check_temperature,
)
from bodyshop.physics.make_table import COLUMNS, FILLINGS_KG_M3, TEMPERATURES_C
from tests.physics.race_cases import gas


def test_the_table_says_where_it_comes_from_and_in_which_version() -> None:
    head = [line for line in TABLE_FILE.read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    text = "\n".join(head)
    for word in (
        "version: 1",
        "Span and Wagner",
        "CoolProp",
        f"discharge factor {DISCHARGE:g}",
        "triple point",
    ):
        assert word in text


def test_the_table_has_the_axes_and_nodes_it_is_made_with() -> None:
    table = blow_down_table()
    assert tuple(table.temperatures) == TEMPERATURES_C
    assert tuple(table.fillings) == FILLINGS_KG_M3
    assert table.left.shape[2] == LIQUID_STEPS + MIXTURE_STEPS + 1
    rows = [line for line in TABLE_FILE.read_text(encoding="utf-8").splitlines() if line[0] not in "#t"]
    assert len(rows) == table.left.size
    assert all(len(row.split(",")) == len(COLUMNS) for row in rows[:50])


def test_gas_only_ever_leaves_and_time_only_ever_passes() -> None:
    table = blow_down_table()
    assert np.all(np.diff(table.left, axis=2) <= 0)
    assert np.all(np.diff(table.time, axis=2) >= 0)
    assert np.all(table.thrust > 0)
    assert np.all(np.diff(table.thrust, axis=2) <= 1e-9)


def test_a_hole_only_scales_time_and_force() -> None:
    small, wide = (TableThrust().push(gas(hole_mm=hole)) for hole in (1.5, 3.0))
    assert wide.force_n[0] == pytest.approx(4.0 * small.force_n[0])
    assert small.time_s[0] == pytest.approx(4.0 * wide.time_s[0])
    assert wide.impulse_ns[0] == pytest.approx(small.impulse_ns[0])


def test_twice_the_cartridge_is_twice_the_impulse() -> None:
    small = TableThrust().push(gas()).impulse_ns[0]
    large = TableThrust().push(gas(charge_g=16.0, volume_cm3=20.8)).impulse_ns[0]
    assert large == pytest.approx(2.0 * small)


def test_warmer_cartridges_push_more_all_along_the_table() -> None:
    impulses = [TableThrust().push(gas(t)).impulse_ns[0] for t in np.linspace(0.0, 30.0, 61)]
    assert np.all(np.diff(impulses) > 0)


def test_samples_outside_are_taken_at_the_edge() -> None:
    edge = TableThrust().push(gas(30.0)).impulse_ns[0]
    assert TableThrust().push(gas(33.0)).impulse_ns[0] == edge


@pytest.mark.parametrize("temperature", [0.0, 20.0, 30.0])
def test_a_temperature_of_the_table_is_taken(temperature: float) -> None:
    assert check_temperature(temperature) is None


@pytest.mark.parametrize(
    ("temperature", "reason"),
    [
        (-60.0, "no liquid below"),
        (-5.0, "does not go so far"),
        (30.5, "does not go so far"),
        (31.2, "no liquid above"),
        (400.0, "no liquid above"),
        (math.nan, "no liquid below"),
    ],
)
def test_any_other_is_refused_with_the_reason(temperature: float, reason: str) -> None:
    problem = check_temperature(temperature)
    assert problem is not None
    assert reason in problem.message
    assert problem.expected == "from 0 to 30 °C"


def test_a_filling_that_no_shell_holds_is_refused() -> None:
    assert check_filling(8.0, 10.4) is None
    problem = check_filling(8.0, 8.0)
    assert problem is not None
    assert "cm³" in problem.expected
    assert check_filling(8.0, 0.0) is not None


def test_a_damaged_copy_says_so(tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "blowdown.csv"
    broken.write_text("temperature_c\n1,2,x\n", encoding="utf-8")
    monkeypatch.setattr(cartridge, "TABLE_FILE", broken)
    with pytest.raises(ProblemsError, match="install it again"):
        blow_down_table.__wrapped__()


def test_a_curve_starts_with_everything_inside() -> None:
    push = TableThrust().push(gas())
    assert push.time_s[0, 0] == 0.0
    assert push.gone_g[0, 0] == 0.0
    assert 7.5 < push.gone_g[0, -1] < 8.0
