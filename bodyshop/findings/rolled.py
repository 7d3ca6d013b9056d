"""What the roll test means: the friction of wheels and bearings, and where the height's energy went."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.assembly import Car
from bodyshop.findings.figures import figure, number, share
from bodyshop.findings.known import roll_of, rolling_from, usable_rolls
from bodyshop.findings.model import Finding, Subject
from bodyshop.race.air import GRAVITY_M_S2
from bodyshop.race.model import Estimate
from bodyshop.race.roll import FLOOR_FALL, ROLL_FORMULA, ROLL_SOURCE, RollResult, impossible
from bodyshop.trials.model import Entry, RollTest

__all__ = ["rolling_findings"]


def rolling_findings(
    entries: Sequence[Entry[RollTest]],
    design: Car | None,
    mass_g: Estimate | None,
    cda_m2: Estimate | None,
) -> Iterator[Finding]:
    """The friction from all rolls that can be; those that cannot are questioned."""
    if not entries:
        return
    doubts = [
        f"Roll {entry.id} cannot be: {why}. Is a unit wrong, or where the run-out is measured from?"
        for entry in entries
        if (why := impossible(roll_of(entry.record)))
    ]
    usable = usable_rolls(entries)
    result = rolling_from(entries, design, mass_g, cda_m2)
    if result is None:
        yield Finding(
            id="rolling.friction",
            subject=Subject.ROLLING,
            title="Rolling friction",
            figure="not to be told",
            sentence="No roll of this car can be as it is noted.",
            formula=ROLL_FORMULA,
            source=ROLL_SOURCE,
            doubts=tuple(doubts),
            records=tuple(entry.id for entry in entries),
        )
        return
    held = result.estimate.interval()
    yield Finding(
        id="rolling.friction",
        subject=Subject.ROLLING,
        title="Rolling friction",
        figure=figure(held),
        sentence=_sentence(result),
        formula=ROLL_FORMULA,
        source=ROLL_SOURCE,
        value=held.value,
        unit="",
        interval=held,
        repeats=result.series,
        notes=tuple(_notes(result)),
        doubts=(*doubts, *result.doubts),
        records=tuple(entry.id for entry in usable),
    )


def _sentence(result: RollResult) -> str:
    friction = result.estimate.value
    return (
        f"Wheels and bearings hold back {number(friction, 2)} N for every newton the car weighs: on a level "
        f"floor it loses {number(friction * GRAVITY_M_S2, 2)} m/s in every second. Of the height's "
        "energy they "
        f"took {share(1.0 - result.air_share)}, the air {share(result.air_share)}."
    )


def _notes(result: RollResult) -> Iterator[str]:
    simple = sum(each.simple for each in result.rolls) / len(result.rolls)
    over = simple / result.estimate.value - 1.0
    yield (
        f"height over the whole level way gives {number(simple)}, {share(over)} more: it blames the "
        "wheels for "
        "what the air took as well"
    )
    if result.both_ways:
        yield "rolled both ways and averaged, so the floor's slope falls out" + (
            ""
            if result.floor_fall is None
            else f": it falls by {number(abs(result.floor_fall) * 1e3, 2)} mm in a metre"
        )
    else:
        yield (
            f"rolled one way only: a floor that falls by {FLOOR_FALL * 1e3:g} mm in a metre is counted "
            "in the "
            "interval; rolling both ways takes that out"
        )
    worst = [f"{name} ({share(sd / result.estimate.value)})" for name, sd in result.causes[:3]]
    yield f"what makes it unsure, worst first: {', '.join(worst)}"
    if len(result.rolls) == 1:
        yield "one roll shows no spread of its own: four more would tell how well it repeats"
