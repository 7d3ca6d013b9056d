"""How a CO2 cartridge empties: the computation behind the shipped table. Needs CoolProp, which no race does.

The model, in SI units:

- Properties by Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, as CoolProp has them.
- The vessel takes no heat from its shell, and what leaves is the mixture as it stands in it. From
  d(m u) = h dm follows ds = 0: what is left keeps its entropy, so the path is an isentrope from the filling
  to the triple point, where the computation stops; what is left then is thought to push no more.
- At the hole the flow is homogeneous, in equilibrium and isentropic; the throat has the pressure at which
  the flux rho sqrt(2 (h0 - h)) is greatest. No state under the triple point is looked at, so that the last
  twentieth of the gas leaves a little too slowly: less than 1 % of the impulse.
- Thrust is flux times throat speed plus throat pressure over that of the air, on the hole's area times the
  discharge factor.

Everything extensive goes with the volume, and time with volume over area; so one filling density and one
temperature give one curve for all cartridges and holes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np

from bodyshop.foundation.constants import STANDARD_HPA, ZERO_C_K
from bodyshop.physics.model import Array

__all__ = [
    "AIR_PA",
    "DISCHARGE",
    "LIQUID_STEPS",
    "MIXTURE_STEPS",
    "BlowDown",
    "Saturation",
    "blow_down",
    "saturation",
]

DISCHARGE: Final = 0.84
"""Share of the hole that the jet fills: a sharp-edged hole under choked flow, textbooks, from memory."""
AIR_PA: Final = 100 * STANDARD_HPA
"""Pressure of the air that the jet leaves into."""

LIQUID_STEPS: Final = 6
"""Steps of a curve while the filling is all liquid; of no length where it never is."""
MIXTURE_STEPS: Final = 32
"""Steps of a curve from the first bubble to the triple point."""

_GRID: Final = 3000
_HIGHEST_K: Final = 304.1
_FINE_LIQUID: Final = 64


@dataclass(frozen=True, slots=True)
class Saturation:
    """Liquid and vapour in equilibrium over temperature, from the triple point up; SI units by mass."""

    temperature: Array
    pressure: Array
    liquid_density: Array
    liquid_enthalpy: Array
    liquid_entropy: Array
    vapour_density: Array
    vapour_enthalpy: Array
    vapour_entropy: Array


@dataclass(frozen=True, slots=True)
class BlowDown:
    """A curve: `LIQUID_STEPS` + `MIXTURE_STEPS` steps, so one node more.

    `left` is mass left over filling; `time` in seconds times hole area over volume (s/m); `thrust` in
    newtons over hole area (Pa); `temperature` (K) and `pressure` (Pa) in the vessel. The discharge factor
    is inside `time` and `thrust`.
    """

    left: Array
    time: Array
    thrust: Array
    temperature: Array
    pressure: Array

    @property
    def impulse(self) -> float:
        """Impulse over volume, N s/m³, of the curve drawn straight between its nodes."""
        return float(np.sum(0.5 * (self.thrust[1:] + self.thrust[:-1]) * np.diff(self.time)))


def _co2() -> Any:
    from CoolProp.CoolProp import AbstractState

    return AbstractState("HEOS", "CO2")


@cache
def saturation() -> Saturation:
    """The saturation line, closer together towards the triple point."""
    from CoolProp import QT_INPUTS

    state = _co2()
    low = float(state.Ttriple())
    temperature = low + (_HIGHEST_K - low) * np.linspace(0.0, 1.0, _GRID) ** 1.5
    rows = []
    for kelvin in temperature:
        state.update(QT_INPUTS, 0.0, float(kelvin))
        liquid = (state.p(), state.rhomass(), state.hmass(), state.smass())
        state.update(QT_INPUTS, 1.0, float(kelvin))
        rows.append((*liquid, state.rhomass(), state.hmass(), state.smass()))
    return Saturation(temperature, *np.array(rows).T)


@dataclass(frozen=True, slots=True)
class _Path:
    """States along the isentrope, downwards: those of a whole liquid first, then the mixture."""

    density: Array
    enthalpy: Array
    temperature: Array
    pressure: Array
    liquid: int


def blow_down(temperature_c: float, filling_kg_m3: float) -> BlowDown:
    """The curve of a cartridge filled to a density and fired at a temperature under the critical one.

    `ValueError` where the gas is no liquid with or without bubbles at the start.
    """
    path = _path(temperature_c + ZERO_C_K, filling_kg_m3)
    flux, thrust = _flow(path)
    middle = 0.5 * (flux[1:] + flux[:-1])
    time = np.concatenate([[0.0], np.cumsum(-np.diff(path.density) / (DISCHARGE * middle))])
    thrust = DISCHARGE * thrust
    impulse = np.concatenate([[0.0], np.cumsum(0.5 * (thrust[1:] + thrust[:-1]) * np.diff(time))])
    # Nodes at even steps of time and impulse together: many where the thrust is high, none far apart.
    way = time / time[-1] + impulse / impulse[-1]
    first = path.liquid
    nodes = np.concatenate(
        [
            np.linspace(0.0, way[first], LIQUID_STEPS + 1)[:-1],
            np.linspace(way[first], way[-1], MIXTURE_STEPS + 1),
        ]
    )
    columns = [path.density / path.density[0], time, thrust, path.temperature, path.pressure]
    return BlowDown(*(np.asarray(np.interp(nodes, way, column)) for column in columns))


def _path(kelvin: float, density: float) -> _Path:
    from CoolProp import DmassSmass_INPUTS, DmassT_INPUTS, iphase_twophase

    sat = saturation()
    state = _co2()
    if not sat.temperature[0] < kelvin < state.T_critical():
        raise ValueError("the temperature is not between the triple and the critical point")
    state.update(DmassT_INPUTS, density, kelvin)
    entropy = state.smass()
    if entropy >= sat.vapour_entropy[-1]:
        raise ValueError("the cartridge holds vapour alone")
    liquid: list[tuple[float, float, float, float]] = []
    if state.phase() == iphase_twophase:
        top = kelvin
    else:
        if density < state.rhomass_critical():
            raise ValueError("the cartridge holds vapour alone")
        top = float(np.interp(entropy, sat.liquid_entropy, sat.temperature))
        bubbles = float(np.interp(top, sat.temperature, sat.liquid_density))
        for each in np.linspace(density, bubbles, _FINE_LIQUID + 1)[:-1]:
            state.update(DmassSmass_INPUTS, float(each), entropy)
            liquid.append((each, state.hmass(), state.T(), state.p()))
    under = sat.temperature < top - 1e-6
    temperature = np.concatenate([[top], sat.temperature[under][::-1]])
    at = {
        name: np.interp(temperature, sat.temperature, getattr(sat, name))
        for name in sat.__slots__
        if name != "temperature"
    }
    vapour = (entropy - at["liquid_entropy"]) / (at["vapour_entropy"] - at["liquid_entropy"])
    volume = (1 - vapour) / at["liquid_density"] + vapour / at["vapour_density"]
    enthalpy = (1 - vapour) * at["liquid_enthalpy"] + vapour * at["vapour_enthalpy"]
    mixture = np.array([1 / volume, enthalpy, temperature, at["pressure"]])
    whole = np.concatenate([np.array(liquid).reshape(-1, 4).T, mixture], axis=1)
    return _Path(whole[0], whole[1], whole[2], whole[3], len(liquid))


def _flow(path: _Path) -> tuple[Array, Array]:
    """Greatest flux (kg/m²s) through the throat and thrust over its area (Pa), from each state.

    While all is liquid the flux rises until the first bubble, so the throat is never in the liquid.
    """
    count = len(path.density)
    flux, thrust = np.empty(count), np.empty(count)
    for i in range(count):
        below = slice(max(i, path.liquid), count)
        speed = np.sqrt(2.0 * np.maximum(path.enthalpy[i] - path.enthalpy[below], 0.0))
        each = path.density[below] * speed
        # At the greatest flux its thrust is stationary too, so the nearest state of a fine grid will do.
        best = int(np.argmax(each))
        flux[i] = each[best]
        thrust[i] = each[best] * speed[best] + path.pressure[below][best] - AIR_PA
    return flux, thrust
