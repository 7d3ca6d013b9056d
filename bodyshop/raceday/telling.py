"""Race day on the terminal: heats, standings, places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from bodyshop.raceday.papers import result_words, seconds
from bodyshop.raceday.reading import DayState, HeldHeat
from bodyshop.raceday.standings import Counts, Row
from bodyshop.report.columns import clip, pad, printable, width_of, wrap
from bodyshop.report.plain_data import Data
from bodyshop.trials.model import RaceFormat

__all__ = ["day_data", "heats_text", "ladder_text", "standings_text"]

_NAME: Final = 24
_SCORE: Final = {Counts.BEST: "best, s", Counts.MEAN: "mean, s", Counts.TOTAL: "total, s"}


def heats_text(state: DayState, heats: Sequence[HeldHeat], width: int) -> str:
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
            told = result_words(done) if done is not None else "out" if car in state.out else ""
            name = pad(clip(printable(car), _NAME), _NAME)
            lines.append(clip(f"  lane {lane}  {name}  {told}".rstrip(), width))
            doubt = state.doubt(heat.number, car)
            if doubt:
                lines += wrap(printable(f"asked about: {doubt}"), width, "      ? ", "        ")
    return "\n".join(lines) + "\n" if lines else "No heats.\n"


def standings_text(state: DayState, width: int) -> str:
    """The table of time trials."""
    rows = state.standings
    if not rows:
        return "No car is entered.\n"
    name = min(_NAME, max(len("car"), *(width_of(printable(row.car)) for row in rows)))
    lines = [f"{'place':<6} {pad('car', name)}  {_SCORE[state.counts]:>9} {'spread, s':>10}  runs"]
    places = [row.place for row in rows]
    for row in rows:
        shared = row.place is not None and places.count(row.place) > 1
        place = "out" if row.out else "–" if row.place is None else f"{row.place}{' =' if shared else ''}"
        told = (
            f"out: {printable(row.out)}" if row.out else "  ".join(seconds(time) for time in row.times) or "–"
        )
        car = pad(clip(printable(row.car), name), name)
        line = f"{place:<6} {car}  {seconds(row.score_s):>9} {seconds(row.spread_s):>10}  {told}"
        lines.append(clip(line, width))
    what = {
        Counts.BEST: "The best single run counts.",
        Counts.MEAN: "The mean of all runs counts; a finished run more goes first.",
        Counts.TOTAL: "The total of all runs counts; a finished run more goes first.",
    }[state.counts]
    lines += ["", *wrap(f"{what} Equal cars are told apart by their best run, then the next best.", width)]
    return "\n".join(lines) + "\n"


def ladder_text(ladder: Mapping[str, int], width: int) -> str:
    """Places of eliminations as far as they are decided."""
    if not ladder:
        return "No place is decided yet.\n"
    taken = list(ladder.values())
    lines = ["place  car"]
    for car in sorted(ladder, key=lambda each: (ladder[each], each)):
        shared = " =" if taken.count(ladder[car]) > 1 else ""
        lines.append(clip(f"{f'{ladder[car]}{shared}':<6} {printable(car)}", width))
    return "\n".join(lines) + "\n"


def day_data(state: DayState) -> dict[str, Data]:
    """The day as plain data, for other programs: times in s, places as numbers."""
    return {
        "format": "bodyshop-raceday",
        "version": 1,
        "event": state.event.name,
        "as_of": state.as_of,
        "counts": state.counts.value,
        "heats": [_heat_data(state, held) for held in state.heats],
        "standings": [_row_data(row) for row in state.standings],
        "eliminations": [
            {"car": car, "place": place}
            for car, place in sorted(state.ladder.items(), key=lambda each: (each[1], each[0]))
        ],
        "decisions": [{"at": at, "what": what} for at, what in state.decisions],
    }


def _heat_data(state: DayState, held: HeldHeat) -> Data:
    lanes: list[Data] = []
    for lane, car in enumerate(held.heat.lanes, 1):
        done = None if car is None else state.lane_results.get((held.heat.number, car))
        lanes.append(
            {
                "lane": lane,
                "car": car,
                "end": None if done is None else done.end.value,
                "time_s": None if done is None else done.time_s,
                "doubt": (state.doubt(held.heat.number, car) if car is not None else "") or None,
            }
        )
    return {
        "number": held.heat.number,
        "race": held.heat.race.value,
        "round": held.heat.round,
        "tie": held.heat.tie,
        "repeats": held.again,
        "lanes": lanes,
    }


def _row_data(row: Row) -> Data:
    return {
        "car": row.car,
        "place": row.place,
        "score_s": row.score_s,
        "times_s": list(row.times),
        "runs": row.runs,
        "out": row.out or None,
    }
