"""What officials do on race day, each deed whole in the trial book or not at all."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any, Final

import numpy as np

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.records.book.book import Book
from bodyshop.records.book.earlier import known_about
from bodyshop.records.book.model import (
    Draw,
    Entrant,
    EntrantState,
    HeatLane,
    RaceFormat,
    Ruling,
    RunEnd,
    TrackRun,
)
from bodyshop.records.book.model import Heat as HeatRecord
from bodyshop.records.book.plausibility import questions
from bodyshop.records.book.writing import Writer
from bodyshop.records.raceday.draw import GroupResult, draw_trials, first_groups, heats_of, next_groups
from bodyshop.records.raceday.model import LEAST_LANES, MOST_CARS, MOST_LANES, DrawnHeat
from bodyshop.records.raceday.reading import TIE, DayState, EliminationRound, StoredHeat, read_day
from bodyshop.records.raceday.standings import RankedBy

__all__ = ["DOUBT", "LEAST_S", "MOST_LEGS", "MOST_ROUNDS", "MOST_S", "RaceDay"]

LEAST_S: Final = 0.3
MOST_S: Final = 60.0
"""Times that a timer over a school track may show."""

DOUBT: Final = "trial-doubt"
"""The code of a question about what can hardly be true. It is stored once it is confirmed."""

MOST_ROUNDS: Final = 50
MOST_LEGS: Final = 4


class RaceDay:
    """The day in a book. A deed takes the writer's place, and then reads: two programs may work on one book.

    Every method may raise:
        ProblemsError: it cannot be done as things stand; the message tells why.
        WriteRefusedError: the book cannot be written.
    """

    def __init__(self, book: Book) -> None:
        self.book = book

    @property
    def state(self) -> DayState:
        """Everything as it stands now."""
        return read_day(self.book)

    # ------------------------------------------------------------ who races

    def enter(self, cars: Sequence[str] | None = None) -> tuple[str, ...]:
        """Enter cars of the book, all that are not entered yet where none is named; those now entered."""
        with self.book.writing() as writer:
            state = self.state
            known = [car.name for car in state.cars]
            wanted = known if cars is None else [self.book.car(name).record.name for name in cars]
            fresh = [name for name in dict.fromkeys(wanted) if name not in state.entered]
            if len(state.entered) + len(fresh) > MOST_CARS:
                raise _refused("raceday-many", f"more than {MOST_CARS} cars", expected=f"at most {MOST_CARS}")
            for name in fresh:
                writer.add(Entrant(name))
        return tuple(fresh)

    def rule_out(self, car: str, reason: str, *, by: str = "") -> str:
        """A car does not race any more; heats that it is drawn for run with its lane empty."""
        return self._set_state(car, EntrantState.OUT, "{car} is out of the race", reason, by)

    def allow(self, reason: str, cars: Sequence[str] = (), *, by: str = "") -> tuple[str, ...]:
        """Let cars race that have not passed inspection, all of them where none is named; those now allowed.

        The decision holds until the car is inspected again.
        """
        if not reason.strip():
            raise _refused("raceday-reason", "a decision says why", expected="a reason in a few words")
        with self.book.writing() as writer:
            state = self.state
            names = [str(self.book.car(car).record.name) for car in cars] or list(state.undecided)
            for name in names:
                if name not in state.admissions:
                    raise _refused(
                        "raceday-entry", f"{name} is not entered", expected="a car that is entered"
                    )
                if state.admissions[name].decided:
                    raise _refused("raceday-entry", f"{name} may race already: {state.admissions[name].why}")
            for entry in self.book.records(Entrant):
                if entry.record.car not in names:
                    continue
                found = state.admissions[entry.record.car]
                over = None if found.inspection is None else found.inspection.origin
                record = replace(entry.record, allowed=reason, allowed_over=over)
                # Why it is out, where it is, stays the reason of its entry.
                writer.correct(Entrant, entry.id, record, entry.reason or reason, by=by)
                writer.add(Ruling(f"{found.car} may race: {found.words}", reason, car=found.car), by=by)
        return tuple(names)

    def readmit(self, car: str, reason: str, *, by: str = "") -> str:
        """A car that was out races again."""
        return self._set_state(car, EntrantState.ENTERED, "{car} races again", reason, by)

    def _set_state(self, car: str, to: EntrantState, words: str, reason: str, by: str) -> str:
        name = str(self.book.car(car).record.name)
        if not reason.strip():
            raise _refused("raceday-reason", "a ruling says why", expected="a reason in a few words")
        with self.book.writing() as writer:
            entry = next((each for each in self.book.records(Entrant) if each.record.car == name), None)
            if entry is None:
                raise _refused("raceday-entry", f"{name} is not entered", expected="a car that is entered")
            if entry.record.state is to:
                now = "out" if to is EntrantState.OUT else to.value
                raise _refused("raceday-entry", f"{name} is {now} already")
            record = replace(entry.record, state=to)
            writer.correct(Entrant, entry.id, record, reason, by=by)
            writer.add(Ruling(words.format(car=name), reason, car=name), by=by)
        return name

    # ------------------------------------------------------------ time trials

    def draw_trials(
        self, rounds: int, seed: int, *, lanes: int | None = None, counts: RankedBy = RankedBy.BEST
    ) -> tuple[StoredHeat, ...]:
        """Draw time trials for all cars that race and are in no heat of time trials yet.

        A second draw is for cars that came late; it keeps what counts from the first.
        """
        if not 1 <= rounds <= MOST_ROUNDS:
            raise _refused("raceday-rounds", f"{rounds} rounds", expected=f"1 to {MOST_ROUNDS}")
        with self.book.writing() as writer:
            state = self.state
            wide = _lanes(lanes or state.event.lanes)
            trials = [held.heat for held in state.heats if held.heat.race is RaceFormat.TIME_TRIALS]
            drawn = {car for heat in trials for car in heat.cars}
            cars = [car for car in state.racing if car not in drawn]
            if not cars:
                why = "every car that races has its heats" if drawn else "no car is entered"
                raise _refused("raceday-draw", f"{why}: there is nothing to draw")
            chosen = state.counts if drawn else counts
            settings = {"rounds": rounds, "counts": chosen.value, "cars": cars}
            draw = Draw("time trials", RaceFormat.TIME_TRIALS, wide, seed, _json(settings))
            heats = [
                replace(heat, number=heat.number + state.last_number)
                for heat in draw_trials(cars, wide, rounds, seed)
            ]
            return _put_heats(writer, draw, heats)

    # ------------------------------------------------------------ results

    def record(
        self,
        number: int,
        car: str,
        end: RunEnd,
        time_s: float | None = None,
        *,
        reason: str = "",
        by: str = "",
        confirmed: bool = False,
    ) -> None:
        """Note how a car did in a heat. Where that is noted already, `reason` says why it is changed.

        A time that can hardly be true is asked about: every question is a problem `trial-doubt`, and nothing
        is stored, unless it is `confirmed`; then the doubt is stored beside it.
        """
        with self.book.writing() as writer:
            state = self.state
            held = state.heat(number)
            name = _in_heat(held, car)
            if name in state.out and (number, name) not in state.results:
                raise _refused("raceday-out", f"{name} is out: {state.out[name]}")
            if end is RunEnd.FINISHED and time_s is None:
                raise _refused("raceday-time", f"heat {number}, {name}: a finished run has a time")
            if time_s is not None and not LEAST_S <= time_s <= MOST_S:
                raise _refused(
                    "raceday-time",
                    f"heat {number}, {name}: {time_s:g} s is no time over a track",
                    found=f"{time_s:g} s",
                    expected=f"{LEAST_S:g} to {MOST_S:g} s",
                )
            timed = time_s if end is RunEnd.FINISHED else None
            run = self._run(held, name, end, timed)
            self._note(writer, number, run, reason, by, confirmed=confirmed)

    def _run(self, held: StoredHeat, car: str, end: RunEnd, time_s: float | None = None) -> TrackRun:
        """How a car did in a heat, as a run on the track."""
        event = self.state.event
        lane = held.heat.lane_of(car)
        step = event.time_step_s
        return TrackRun(car, event.track_mm, time_s, step, lane=lane, end=end, heat=held.origin)

    def _note(
        self, writer: Writer, number: int, run: TrackRun, reason: str, by: str, *, confirmed: bool = False
    ) -> None:
        """A run of a heat, or its correction."""
        old = self.state.results.get((number, run.car))
        if old is not None:
            if not reason.strip():
                raise _refused(
                    "raceday-noted",
                    f"heat {number}, {run.car} has a result already; a correction says why",
                    expected="a reason in a few words",
                )
            run = replace(old.record, end=run.end, time_s=run.time_s)
        but = None if old is None else old.id
        asked = () if run.time_s is None else questions(run, known_about(self.book, run, but=but))
        if asked and not confirmed:
            raise ProblemsError(Problem(DOUBT, ask.rstrip(".")) for ask in asked)
        doubt = " ".join(asked)
        if old is not None:
            writer.correct(TrackRun, old.id, run, reason, by=by, doubt=doubt)
        else:
            writer.add(run, by=by, doubt=doubt)

    def rerun(self, number: int, reason: str, *, cars: Sequence[str] = (), by: str = "") -> StoredHeat:
        """Void a heat, or some of its lanes, and draw it again at the end with the same lanes."""
        if not reason.strip():
            raise _refused("raceday-reason", "a rerun says why", expected="a reason in a few words")
        with self.book.writing() as writer:
            state = self.state
            held = state.heat(number)
            names = [_in_heat(held, car) for car in cars] or list(held.heat.cars)
            again = [name for name in names if name not in state.out]
            if not again:
                raise _refused("raceday-rerun", f"no car of heat {number} races any more")
            for later in state.heats:
                twice = [name for name in again if name in later.heat.cars] if later.again == number else []
                if twice:
                    raise _refused(
                        "raceday-rerun",
                        f"{', '.join(twice)}: heat {number} is run again as heat {later.heat.number}",
                        expected=f"a rerun of heat {later.heat.number}, should that have gone wrong too",
                    )
            for name in again:
                self._note(writer, number, self._run(held, name, RunEnd.VOID), reason, by)
            lanes = tuple(car if car in again else None for car in held.heat.lanes)
            heat = replace(held.heat, number=state.last_number + 1, lanes=lanes, tie=False)
            words = f"Heat {number} is run again as heat {heat.number}: {', '.join(again)}"
            writer.add(Ruling(words, reason, heat=held.origin), by=by)
            return StoredHeat(heat, _put_heat(writer, held.draw, heat, reruns=held.origin), held.draw, number)

    # ------------------------------------------------------------ eliminations

    def draw_knockout(
        self, *, lanes: int | None = None, legs: int = 1, best: int | None = None, seed: int | None = None
    ) -> tuple[StoredHeat, ...]:
        """Draw the first round: by the standings of time trials, or by chance where `seed` is given.

        `best` takes only so many of the cars that stand highest.
        """
        if not 1 <= legs <= MOST_LEGS:
            raise _refused("raceday-legs", f"{legs} runs a pairing", expected=f"1 to {MOST_LEGS}")
        with self.book.writing() as writer:
            state = self.state
            wide = _lanes(lanes or state.event.lanes)
            if state.rounds:
                raise _refused("raceday-draw", "eliminations are drawn already: go on with the next round")
            ranked = self._ranked(state, seed)
            if best is not None:
                ranked = ranked[: max(best, 0)]
            if len(ranked) < 2:
                raise _refused("raceday-draw", "eliminations need two cars at least", found=str(len(ranked)))
            drawn = EliminationRound(0, first_groups(ranked, wide), ranked, wide, legs)
            return _put_round(writer, drawn, seed or 0, state.last_number)

    def _ranked(self, state: DayState, seed: int | None) -> tuple[str, ...]:
        if seed is not None:
            order = np.random.default_rng(seed).permutation(len(state.racing))
            return tuple(state.racing[int(k)] for k in order)
        open_trials = [h for h in state.open_heats if h.heat.race is RaceFormat.TIME_TRIALS]
        if open_trials:
            numbers = ", ".join(str(held.heat.number) for held in open_trials[:8])
            raise _refused("raceday-open", f"time trials are not over: heat {numbers}")
        timed = tuple(row.car for row in state.standings if row.place is not None)
        if not timed:
            raise _refused(
                "raceday-draw",
                "no car has a time to be ranked by",
                expected="a draw by chance, or time trials first",
            )
        return timed

    def next_round(self) -> tuple[StoredHeat, ...]:
        """Draw the round after the last; where cars are equal, the runs that tell them apart.

        Nothing is drawn after the final.
        """
        with self.book.writing() as writer:
            state = self.state
            if not state.rounds:
                raise _refused("raceday-draw", "eliminations are not drawn yet")
            drawn, results = state.rounds[-1], state.knockout[-1]
            _refuse_open(state, drawn, results)
            tied = [result for result in results if result.tied]
            if tied:
                return _put_ties(writer, state, drawn, tied)
            groups = next_groups(results, drawn.lanes, drawn.ranked, tuple(state.out))
            if not groups:
                return ()
            return _put_round(writer, replace(drawn, groups=groups), 0, state.last_number)


def _refuse_open(state: DayState, drawn: EliminationRound, results: Sequence[GroupResult]) -> None:
    if all(result.order or not result.group.cars for result in results):
        return
    numbers = sorted(held.heat.number for held in state.open_heats if held.draw == drawn.draw)
    told = ", ".join(str(number) for number in numbers[:8])
    raise _refused("raceday-open", f"the round is not over: heat {told}" if told else "the round is not over")


def _put_ties(
    writer: Writer, state: DayState, drawn: EliminationRound, tied: Sequence[GroupResult]
) -> tuple[StoredHeat, ...]:
    made: list[StoredHeat] = []
    for result in tied:
        first = state.group_heats(drawn, result.group)[0]
        # From the other end than before, so that lanes change.
        cars = tuple(reversed(result.tied))
        lanes = (*cars, *([None] * (drawn.lanes - len(cars))))
        number = state.last_number + len(made) + 1
        group = result.group
        heat = DrawnHeat(RaceFormat.ELIMINATION, number, group.round, lanes, group.number, tie=True)
        writer.add(Ruling(f"Equal, so they run again as heat {number}: {', '.join(result.tied)}"))
        made.append(
            StoredHeat(heat, _put_heat(writer, drawn.draw, heat, reruns=first.origin, name=TIE), drawn.draw)
        )
    return tuple(made)


def _put_round(writer: Writer, drawn: EliminationRound, seed: int, after: int) -> tuple[StoredHeat, ...]:
    heats = heats_of(drawn.groups, drawn.lanes, drawn.legs, after + 1)
    settings = {
        "groups": [asdict(group) for group in drawn.groups],
        "ranked": list(drawn.ranked),
        "legs": drawn.legs,
    }
    name = f"eliminations, round {drawn.groups[0].round}"
    return _put_heats(writer, Draw(name, RaceFormat.ELIMINATION, drawn.lanes, seed, _json(settings)), heats)


def _put_heats(writer: Writer, draw: Draw, heats: Sequence[DrawnHeat]) -> tuple[StoredHeat, ...]:
    number = writer.add(draw).origin
    return tuple(StoredHeat(heat, _put_heat(writer, number, heat), number) for heat in heats)


def _put_heat(
    writer: Writer, draw: int, heat: DrawnHeat, *, reruns: int | None = None, name: str = ""
) -> int:
    origin = writer.add(HeatRecord(draw, heat.round, heat.number, reruns, name)).origin
    for lane, car in enumerate(heat.lanes, 1):
        if car is not None:
            writer.add(HeatLane(origin, lane, car))
    return origin


def _in_heat(held: StoredHeat, car: str) -> str:
    """The car of a heat that is meant: by its name in any case, or by its lane."""
    cars, word = held.heat.cars, " ".join(car.split())
    for name in cars:
        if name.casefold() == word.casefold():
            return name
    lane = word.casefold().removeprefix("lane").strip()
    if lane.isdecimal() and 1 <= int(lane[:3]) <= len(held.heat.lanes):
        placed = held.heat.lanes[int(lane[:3]) - 1]
        if placed is not None:
            return placed
        raise _refused("raceday-lane", f"lane {lane} of heat {held.heat.number} is empty")
    placed_cars = ", ".join(f"{name} ({held.heat.lane_of(name)})" for name in cars)
    raise ProblemsError(
        [
            Problem(
                "raceday-lane",
                f'"{word}" is not in heat {held.heat.number}',
                found=word,
                expected=f"a car or its lane: {placed_cars}",
                nearest=nearest(word, cars),
            )
        ]
    )


def _lanes(lanes: int) -> int:
    if not LEAST_LANES <= lanes <= MOST_LANES:
        raise _refused("raceday-lanes", f"{lanes} lanes", expected=f"{LEAST_LANES} to {MOST_LANES}")
    return lanes


def _json(settings: dict[str, Any]) -> str:
    return json.dumps(settings, ensure_ascii=False, sort_keys=True)


def _refused(code: str, message: str, *, found: str = "", expected: str = "") -> ProblemsError:
    return ProblemsError([Problem(code, message, found=found, expected=expected)])
