"""What the balance's readings mean."""

from __future__ import annotations

from collections.abc import Iterator

from bodyshop.assembly import Car
from bodyshop.findings.figures import figure, number, times_words
from bodyshop.findings.known import mass_estimate
from bodyshop.findings.model import Finding, Subject
from bodyshop.repeats import repeats
from bodyshop.trials.model import Entry, MassReading, Stage

__all__ = ["mass_findings"]

_FORMULA = "mean of the readings; mean ± t s / √n, and the balance's step"
_SOURCE = "JCGM 100:2008 (GUM), G.3 and F.2.2.1"
_CHANGED_G = 0.5

_WORDS = {
    Stage.BLANK: "the blank",
    Stage.DRILLED: "the drilled block",
    Stage.SAWN: "the sawn body",
    Stage.SANDED: "the sanded body",
    Stage.FINISHED: "the finished body",
    Stage.COMPLETE: "the complete car",
    Stage.LOADED: "the car with its cartridge",
}


def mass_findings(entries: tuple[Entry[MassReading], ...], design: Car | None) -> Iterator[Finding]:
    """The mass at every stage that was weighed, in shop order, with what each step took or added."""
    before: tuple[Stage, float] | None = None
    for stage in Stage:
        same = [entry for entry in entries if entry.record.stage is stage]
        estimate = mass_estimate([(entry.record.mass_g, entry.record.resolution_g) for entry in same])
        if estimate is None:
            continue
        step = max(entry.record.resolution_g for entry in same)
        series = repeats([entry.record.mass_g for entry in same if entry.record.mass_g > 0], step)
        sentence = f"{_capital(_WORDS[stage])} weighs {number(estimate.value, 4)} g."
        if before is not None and stage is not Stage.LOADED:
            change = estimate.value - before[1]
            verb = "taken off" if change < 0 else "added"
            sentence += f" Since {_WORDS[before[0]]} the work has {verb} {number(abs(change))} g."
        if stage is Stage.COMPLETE and design is not None:
            sentence += _against(estimate.value, design)
        doubts = []
        if series.spread is not None and series.spread > max(_CHANGED_G, 5.0 * step):
            doubts.append(
                f"{_capital(_WORDS[stage])} was weighed {times_words(series.count)}, and the readings "
                "spread by "
                f"{number(series.spread)} g: was it changed in between?"
            )
        yield Finding(
            id=f"mass.{stage.name.casefold()}",
            subject=Subject.MASS,
            title=f"Mass of {_WORDS[stage]}",
            figure=figure(estimate.interval(), "g"),
            sentence=sentence,
            formula=_FORMULA,
            source=_SOURCE,
            value=estimate.value,
            unit="g",
            interval=estimate.interval(),
            repeats=series,
            repeats_unit="g",
            doubts=tuple(doubts),
            records=tuple(entry.id for entry in same),
        )
        before = (stage, estimate.value)


def _against(measured_g: float, design: Car) -> str:
    mass = design.mass
    words = f" Its drawing came to {number(mass.mass_g)} g ({number(mass.low_g)} to {number(mass.high_g)})"
    if mass.low_g <= measured_g <= mass.high_g:
        return words + ": the balance agrees."
    if measured_g > mass.high_g:
        return words + ": it is heavier than that. Denser wood, more left on, or more paint?"
    return words + ": it is lighter than that. Lighter wood, or more taken off?"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
