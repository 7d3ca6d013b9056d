"""Makes the shipped table of blow-downs again: `python -m bodyshop.physics.make_table`. Needs CoolProp.

The table is data: it goes into the package, and a race reads it without CoolProp. It is closest together
where a filling of some 770 kg/m³ goes over from bubbles to all liquid, which bends the curves.
"""

from __future__ import annotations

from typing import Final

from bodyshop.physics.blowdown import AIR_PA, DISCHARGE, blow_down
from bodyshop.physics.cartridge import TABLE_FILE, TABLE_VERSION

__all__ = ["COLUMNS", "FILLINGS_KG_M3", "TEMPERATURES_C", "table_text"]

TEMPERATURES_C: Final = (0, 4, 8, 12, 14, 16, 18, 19, 20, 21, 22, 23, 24, 25, 26, 28, 30)
FILLINGS_KG_M3: Final = (500, 560, 620, 660, 700, 720, 740, 750, 760, 770, 780, 790, 800, 820, 840)

COLUMNS: Final = (
    "temperature_c",
    "filling_kg_m3",
    "left",
    "time_s_m2_per_m3",
    "thrust_n_per_mm2",
    "pressure_mpa",
)


def table_text() -> str:
    """The whole file."""
    import CoolProp

    head = (
        "How a CO2 cartridge empties through its puncture, by its temperature and by how full it is.",
        f"version: {TABLE_VERSION}",
        (
            "source: properties by Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, through "
            f"CoolProp {CoolProp.__version__}; computed by bodyshop.physics.make_table"
        ),
        "confidence: C (computed; no published thrust curve was found to hold it against)",
        (
            "model: two-phase blow-down, no heat from the shell, homogeneous equilibrium discharge, "
            f"discharge factor {DISCHARGE:g}, into air at {AIR_PA:g} Pa, stopped at the triple point"
        ),
        (
            "left: gas left over gas at the start; time_s_m2_per_m3: seconds times area of the hole over "
            "volume of the cartridge;"
        ),
        "thrust_n_per_mm2: thrust over area of the hole; pressure_mpa: in the cartridge",
    )
    lines = [*(f"# {line}" for line in head), ",".join(COLUMNS)]
    for temperature in TEMPERATURES_C:
        for filling in FILLINGS_KG_M3:
            curve = blow_down(temperature, filling)
            lines += [
                f"{temperature},{filling},{left:.5f},{time:.6g},{thrust / 1e6:.5g},{pressure / 1e6:.4g}"
                for left, time, thrust, pressure in zip(
                    curve.left, curve.time, curve.thrust, curve.pressure, strict=True
                )
            ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    TABLE_FILE.write_text(table_text(), encoding="utf-8", newline="\n")
