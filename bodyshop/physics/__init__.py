"""The race: what a car's numbers come to on the lane, as intervals and never as a bare number.

This room knows the car, its measures and the stock, and nothing of the trial book; what was measured comes
in as an `Estimate`. From the bottom:

- `model`      the terms of the room: `Interval`, `Estimate` (a value with its standard deviation, its law,
               its basis and its source in words), `CarNumbers` (everything the race asks of a car),
               `CartridgeNumbers` (everything it asks of the gas), `Air`, `Lane`, `Push` (the thrust as a
               curve, for any number of samples at once).
- `air`        `Air` from temperature and pressure.
- `drag`       drag area before any test, from published coefficients (drag.toml) on what the air meets of
               a car (`shape`).
- `tunnel`, `lift`, `roll`   what a reading means: each gives an `Estimate` with basis MEASURED, which takes
               the place of the prior in `CarNumbers`.
- `priors`     what is taken of a car, a cartridge and a lane before anything is measured (priors.toml).
- `cartridge`  thrust from the shipped table of blow-downs (blowdown.csv; `blowdown` is the model behind it,
               `make_table` makes it again).
- `thrust_file` thrust measured on a stand, as CSV.
- `motion`     the equation of motion, for many samples at once.
- `factors`    one race about to be run, every figure by its name (`Factor`).
- `prediction` draws, runs, intervals, and what makes them wide; two races compared in pairs.
- `classfit`   what a class's timed runs say of its cartridges: impulse, puncture, and how they are tied.
- `what_if`    what a gram, a tenth of the drag or a degree is worth on this car; the same car with another
               number or another wood.

A figure replaces another with `dataclasses.replace(numbers, cda_m2=estimate)`.
"""

__all__: list[str] = []
