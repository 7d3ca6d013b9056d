"""Race day on the terminal: heats, standings, places."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bodyshop.foundation.text.columns import clip, pad, printable, width_of, wrap
from bodyshop.output.words.raceday import IN_BRACKETS, result_words, seconds
from bodyshop.records.book.model import RaceFormat
from bodyshop.records.raceday.reading import DayState, StoredHeat
from bodyshop.records.raceday.standings import RankedBy, place_words

__all__ = ["heats_text", "ladder_text", "standings_text", "undecided_lines"]

_NAME: Final = 24
_PLACE: Final = 10
_DECIDE: Final = (
    "An official decides if they may race: raceday allow CAR --because ..., or raceday out CAR --because ..."
)
_SCORE: Final = {RankedBy.BEST: "best, s", RankedBy.MEAN: "mean, s", RankedBy.TOTAL: "total, s"}


def heats_text(state: DayState, heats: Sequence[StoredHeat], width: int) -> str:
    """Heats with what was run in them, a line a lane."""
    lines: list[str] = []
    for held in heats:
        heat = held.heat
        race = "time trials" if heat.race is RaceFormat.TIME_TRIALS else "eliminations"
        more = ", a tie" if heat.tie else f", run {heat.leg} of the pairing" if heat.leg > 1 else ""
        more += f", repeats heat {held.again}" if held.again is not None else ""
        lines.append(f"Heat {heat.number}  ({race}, round {heat.round}{more})")
        for lane, car in enumerate(heat.lanes, 1):
            if car is None:
                lines.append(f"  lane {lane}  –")
                continue
            done = state.lane_results.get((heat.number, car))
            told = "out" if car in state.out else ""
            if done is not None:
                told = result_words(done, state.decimals)
            name = pad(clip(printable(car), _NAME), _NAME)
            lines.append(clip(f"  lane {lane}  {name}  {told}".rstrip(), width))
            doubt = state.doubt(heat.number, car)
            if doubt:
                lines += wrap(printable(f"check: {doubt}"), width, "      ? ", "        ")
    return "\n".join(lines) + "\n" if lines else "No heats.\n"


def standings_text(state: DayState, width: int) -> str:
    """The table of time trials."""
    rows = state.standings
    if not rows:
        return "No car is entered.\n"
    name = min(_NAME, max(len("car"), *(width_of(printable(row.car)) for row in rows)))
    lines = [f"{'place':<{_PLACE}} {pad('car', name)}  {_SCORE[state.counts]:>9} {'spread, s':>10}  runs"]
    places = [row.place for row in rows]
    for row in rows:
        place = "out" if row.out else place_words(row.place, places)
        if row.car in state.undecided and row.place is not None:
            place = f"({place})"
        times = "  ".join(seconds(time, state.decimals) for time in row.times)
        told = f"out: {printable(row.out)}" if row.out else times or "–"
        car = pad(clip(printable(row.car), name), name)
        score, spread = seconds(row.score_s, state.score_decimals), seconds(row.spread_s, state.decimals)
        lines.append(clip(f"{place:<{_PLACE}} {car}  {score:>9} {spread:>10}  {told}", width))
    what = {
        RankedBy.BEST: "The best single run counts.",
        RankedBy.MEAN: "The mean of all runs counts; a car with more finished runs goes first.",
        RankedBy.TOTAL: "The total of all runs counts; a car with more finished runs goes first.",
    }[state.counts]
    ranked = "For equal results, the best run decides, then the next best."
    lines += ["", *wrap(f"{what} {ranked}", width)]
    if state.undecided:
        lines += ["", *undecided_lines(state, width), *wrap(IN_BRACKETS, width)]
    return "\n".join(lines) + "\n"


def undecided_lines(state: DayState, width: int) -> list[str]:
    """Cars that have not passed inspection, and what an official can do; no line where there is none."""
    if not state.undecided:
        return []
    lines = [line for words in state.undecided_words for line in wrap(printable(words), width, "", "  ")]
    return [*lines, *wrap(_DECIDE, width)]


def ladder_text(state: DayState, width: int) -> str:
    """Places of eliminations as far as they are decided."""
    ladder = state.ladder
    if not ladder:
        return "No place is decided yet.\n"
    lines = [f"{'place':<{_PLACE}} car"]
    for car in sorted(ladder, key=lambda each: (ladder[each], each)):
        place = place_words(ladder[car], list(ladder.values()))
        if car in state.undecided:
            place = f"({place})"
        lines.append(clip(f"{place:<{_PLACE}} {printable(car)}", width))
    if state.undecided:
        lines += ["", *undecided_lines(state, width), *wrap(IN_BRACKETS, width)]
    return "\n".join(lines) + "\n"
