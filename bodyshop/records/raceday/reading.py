"""Race day as the trial book holds it, read in one go."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.units import LengthUnit
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    CarRecord,
    Draw,
    Entrant,
    EntrantState,
    Entry,
    Event,
    HeatLane,
    RaceFormat,
    Ruling,
    RunEnd,
    TrackRun,
)
from bodyshop.records.book.model import Heat as HeatRecord
from bodyshop.records.raceday.draw import GroupResult, KnockoutGroup, places, resolve
from bodyshop.records.raceday.model import (
    Admission,
    DrawnHeat,
    LaneResult,
    admissions,
    decimals_of,
    undecided_words,
)
from bodyshop.records.raceday.standings import RankedBy, StandingsRow, standings
from bodyshop.rules.rulebook import find_rulebook, read_rulebook

__all__ = ["TIE", "DayState", "EliminationRound", "StoredHeat", "event_unit", "read_day"]

TIE: Final = "tie"
"""Name of a heat in which cars that were equal run against each other."""


@dataclass(frozen=True, slots=True)
class StoredHeat:
    """A heat in the book. `again` is the number of the heat that it repeats."""

    heat: DrawnHeat
    origin: int
    draw: int
    again: int | None = None


@dataclass(frozen=True, slots=True)
class EliminationRound:
    """A round of eliminations: its groups, as they were drawn, and its settings."""

    draw: int
    groups: tuple[KnockoutGroup, ...]
    ranked: tuple[str, ...]
    lanes: int
    legs: int


@dataclass(frozen=True)
class DayState:
    """Everything of the day. `out` are cars that do not race any more, with the reason."""

    event: Event
    cars: tuple[CarRecord, ...]
    entered: tuple[str, ...]
    out: Mapping[str, str]
    heats: tuple[StoredHeat, ...]
    results: Mapping[tuple[int, str], Entry[TrackRun]]
    rounds: tuple[EliminationRound, ...]
    counts: RankedBy
    decisions: tuple[tuple[str, str], ...]
    admissions: Mapping[str, Admission]

    @property
    def undecided(self) -> tuple[str, ...]:
        """Cars that race and have not passed inspection, and about which no official has decided."""
        return tuple(car for car in self.racing if not self.admissions[car].decided)

    @property
    def undecided_words(self) -> tuple[str, ...]:
        """The same in sentences."""
        return undecided_words(self.admissions, self.racing)

    @cached_property
    def still_racing(self) -> frozenset[str]:
        """Cars whose place can change by their own runs: with a heat to run, or left in eliminations."""
        open_cars = {car for held in self.open_heats for car in self.open_lanes(held)}
        drawn = {car for each in self.rounds[:1] for group in each.groups for car in group.cars}
        return frozenset(open_cars | {car for car in drawn - set(self.ladder) if car not in self.out})

    @property
    def pending(self) -> tuple[str, ...]:
        """Why the places are not final yet, in sentences; none where they are."""
        told = []
        numbers = [str(held.heat.number) for held in self.open_heats]
        if not self.heats:
            told.append("No heat is drawn yet.")
        elif numbers:
            more = f" and {len(numbers) - 8} more" if len(numbers) > 8 else ""
            what = "Heat" if len(numbers) == 1 else "Heats"
            told.append(f"{what} still to be run: {', '.join(numbers[:8])}{more}.")
        elif self.still_racing:
            told.append("The eliminations are not over: draw the next round.")
        if self.undecided:
            told += [*self.undecided_words, "No official has decided yet whether they race."]
        return tuple(told)

    @property
    def apart_s(self) -> float:
        """The step of the event's timing, s: times of the same step are equal."""
        return self.event.time_step_s

    @property
    def decimals(self) -> int:
        """Decimals of a second that the timing shows."""
        return decimals_of(self.apart_s)

    @property
    def benches(self) -> dict[str, str]:
        """The bench of each car."""
        return {car.name: car.bench for car in self.cars}

    @property
    def last_number(self) -> int:
        """The highest number of a heat; 0 where there is none."""
        return max((held.heat.number for held in self.heats), default=0)

    @property
    def racing(self) -> tuple[str, ...]:
        """Cars that are entered and not out."""
        return tuple(car for car in self.entered if car not in self.out)

    def heat(self, number: int) -> StoredHeat:
        """A heat by its number.

        Raises:
            ProblemsError: there is none.
        """
        for held in self.heats:
            if held.heat.number == number:
                return held
        there = f"1 to {self.last_number}" if self.heats else "none: draw heats first"
        raise ProblemsError(
            [Problem("raceday-heat", f"there is no heat {number}", found=str(number), expected=there)]
        )

    @cached_property
    def lane_results(self) -> dict[tuple[int, str], LaneResult]:
        """What stands, by number of heat and car."""
        return {
            key: LaneResult(key[0], key[1], entry.record.end, entry.record.time_s)
            for key, entry in self.results.items()
        }

    @property
    def score_decimals(self) -> int:
        """Decimals of what is ranked: a mean lies between steps."""
        return self.decimals + (1 if self.counts is RankedBy.MEAN else 0)

    def doubt(self, number: int, car: str) -> str:
        """What was asked about a result that stands, and confirmed; empty for none."""
        entry = self.results.get((number, car))
        return "" if entry is None else entry.doubt

    def open_lanes(self, held: StoredHeat) -> tuple[str, ...]:
        """Cars of a heat that still race and have no result in it."""
        return tuple(
            car
            for car in held.heat.cars
            if car not in self.out and (held.heat.number, car) not in self.results
        )

    @property
    def open_heats(self) -> tuple[StoredHeat, ...]:
        """Heats that are not run, or not to the end, in their order."""
        return tuple(held for held in self.heats if self.open_lanes(held))

    @cached_property
    def standings(self) -> tuple[StandingsRow, ...]:
        """Time trials as they stand."""
        trials = {h.heat.number for h in self.heats if h.heat.race is RaceFormat.TIME_TRIALS}
        ran = [result for (number, _), result in sorted(self.lane_results.items()) if number in trials]
        return standings(self.entered, ran, counts=self.counts, out=self.out, apart_s=self.apart_s)

    @cached_property
    def knockout(self) -> tuple[tuple[GroupResult, ...], ...]:
        """Every group of every round of eliminations as it stands."""
        return tuple(tuple(self._resolved(drawn, group) for group in drawn.groups) for drawn in self.rounds)

    @property
    def ladder(self) -> dict[str, int]:
        """Places of eliminations that are decided."""
        return places(self.knockout, tuple(self.out))

    def place(self, car: str) -> int | None:
        """The place of a car on the day: that of eliminations where it is in them, else of time trials.

        None as long as it is not decided.
        """
        if any(car in group.cars for drawn in self.rounds for group in drawn.groups):
            return self.ladder.get(car)
        return next((row.place for row in self.standings if row.car == car), None)

    def group_heats(self, drawn: EliminationRound, group: KnockoutGroup) -> tuple[StoredHeat, ...]:
        """The heats of a group, without those that only repeat another."""
        return tuple(
            held
            for held in self.heats
            if held.draw == drawn.draw and held.heat.group == group.number and held.again is None
        )

    def _resolved(self, drawn: EliminationRound, group: KnockoutGroup) -> GroupResult:
        heats = [held.heat for held in self.group_heats(drawn, group)]
        return resolve(group, heats, self._effective, out=tuple(self.out), apart_s=self.apart_s)

    @cached_property
    def _effective(self) -> dict[tuple[int, str], LaneResult]:
        """Results by the heat that was drawn: what a repeat gave stands in the place of what it repeats."""
        stands = dict(self.lane_results)
        first = {held.heat.number: held.again for held in self.heats if held.again is not None}
        for (number, car), result in sorted(self.lane_results.items()):
            drawn = number
            while first.get(drawn) is not None:
                drawn = first[drawn] or drawn
            if drawn != number and result.end is not RunEnd.VOID:
                stands[drawn, car] = LaneResult(drawn, car, result.end, result.time_s)
        return stands

    @property
    def as_of(self) -> str:
        """How far the day has come, in words."""
        done = [held for held in self.heats if not self.open_lanes(held)]
        if not self.heats:
            return "before the draw"
        if not done:
            return "before the first heat"
        if len(done) == len(self.heats):
            return f"after heat {max(held.heat.number for held in done)} (all heats run)"
        return f"{len(done)} of {len(self.heats)} heats run"


def read_day(book: Book) -> DayState:
    """The day in a book.

    Raises:
        ProblemsError: the book is damaged.
    """
    event = book.event.record
    entrants = book.records(Entrant)
    draws = {entry.origin: entry.record for entry in book.records(Draw)}
    lanes: dict[int, list[HeatLane]] = {}
    for entry in book.records(HeatLane):
        lanes.setdefault(entry.record.heat, []).append(entry.record)
    heats = _heats(book, draws, lanes)
    numbers = {held.origin: held.heat.number for held in heats}
    results = {
        (numbers[entry.record.heat], entry.record.car): entry
        for entry in book.records(TrackRun)
        if entry.record.heat in numbers
    }
    return DayState(
        event=event,
        cars=tuple(entry.record for entry in book.cars()),
        entered=tuple(entry.record.car for entry in sorted(entrants, key=lambda entry: entry.origin)),
        out={
            entry.record.car: entry.reason or entry.note or entry.record.state.value
            for entry in entrants
            if entry.record.state is not EntrantState.ENTERED
        },
        heats=heats,
        results=results,
        rounds=_rounds(draws),
        counts=_counts(draws),
        admissions=admissions(book, entrants),
        decisions=_decisions(book, numbers, decimals_of(event.time_step_s)),
    )


def event_unit(book: Book) -> LengthUnit:
    """The unit of length of the event's rulebook; mm where it names none, or none that can be read."""
    name = book.event.record.rulebook
    try:
        return read_rulebook(find_rulebook(name, book.path.parent)).unit if name else LengthUnit.MM
    except ProblemsError:
        return LengthUnit.MM


def _heats(
    book: Book, draws: Mapping[int, Draw], lanes: Mapping[int, Sequence[HeatLane]]
) -> tuple[StoredHeat, ...]:
    entries = sorted(book.records(HeatRecord), key=lambda entry: entry.record.number)
    number_of = {entry.origin: entry.record.number for entry in entries}
    held: list[StoredHeat] = []
    for entry in entries:
        record = entry.record
        draw = draws.get(record.draw)
        if draw is None:
            continue
        placed: list[str | None] = [None] * draw.lanes
        for lane in lanes.get(entry.origin, ()):
            if lane.lane <= draw.lanes:
                placed[lane.lane - 1] = lane.car
        tie = record.name == TIE
        again = None if tie or record.reruns is None else number_of.get(record.reruns)
        group, leg = _group_of(draw, tuple(car for car in placed if car is not None), record, held)
        heat = DrawnHeat(draw.race, record.number, record.round, tuple(placed), group, leg, tie)
        held.append(StoredHeat(heat, entry.origin, record.draw, again))
    return tuple(held)


def _group_of(
    draw: Draw, cars: Sequence[str], record: HeatRecord, before: Sequence[StoredHeat]
) -> tuple[int, int]:
    """Group and leg of a heat: whose group its cars are, and how many such heats there were."""
    if draw.race is not RaceFormat.ELIMINATION:
        return 0, 1
    for group in _groups(settings_of(draw)):
        if cars and set(cars) <= set(group.cars):
            same = [
                held
                for held in before
                if held.draw == record.draw and held.heat.group == group.number and held.again is None
            ]
            return group.number, len(same) + 1
    return 0, 1


def settings_of(draw: Draw) -> dict[str, Any]:
    """What was chosen for a draw."""
    try:
        told = json.loads(draw.settings)
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}


def _groups(settings: Mapping[str, Any]) -> tuple[KnockoutGroup, ...]:
    return tuple(
        KnockoutGroup(
            int(each["round"]),
            int(each["number"]),
            tuple(each["cars"]),
            int(each["through"]),
            bool(each["final"]),
        )
        for each in settings.get("groups", ())
    )


def _rounds(draws: Mapping[int, Draw]) -> tuple[EliminationRound, ...]:
    rounds: list[EliminationRound] = []
    for origin, draw in sorted(draws.items()):
        if draw.race is RaceFormat.ELIMINATION:
            settings = settings_of(draw)
            ranked = tuple(str(car) for car in settings.get("ranked", ()))
            legs = int(settings.get("legs", 1))
            rounds.append(EliminationRound(origin, _groups(settings), ranked, draw.lanes, legs))
    return tuple(rounds)


def _counts(draws: Mapping[int, Draw]) -> RankedBy:
    """What counts is a choice of the first draw of time trials."""
    for _, draw in sorted(draws.items()):
        if draw.race is RaceFormat.TIME_TRIALS:
            word = settings_of(draw).get("counts", RankedBy.BEST.value)
            return RankedBy(word) if word in {each.value for each in RankedBy} else RankedBy.BEST
    return RankedBy.BEST


def _decisions(book: Book, numbers: Mapping[int, int], decimals: int) -> tuple[tuple[str, str], ...]:
    """Rulings and corrections in the order in which they were made, with the time of day."""
    told: list[tuple[int, Any, str]] = []
    for ruling in book.records(Ruling):
        because = f": {ruling.record.because}" if ruling.record.because else ""
        told.append((0, ruling.at, f"{ruling.record.what}{because}"))
    entries = [
        (number, entry)
        for entry in book.records(TrackRun, history=True)
        if (number := numbers.get(entry.record.heat or 0)) is not None
    ]
    for heat, entry in entries:
        if entry.doubt and entry.counts:
            where = f"Heat {heat}, {entry.record.car}"
            words = (
                f"{where}: {_said(entry.record, decimals)} stands although it was asked about: {entry.doubt}"
            )
            told.append((1, entry.at, words))
    by_id = {entry.id: entry for _, entry in entries}
    for heat, entry in entries:
        old = None if entry.supersedes is None else by_id.get(entry.supersedes)
        if old is None:
            continue
        now = "struck" if entry.struck else _said(entry.record, decimals)
        instead = f"{now} instead of {_said(old.record, decimals)}"
        told.append((1, entry.at, f"Heat {heat}, {entry.record.car}: {instead}: {entry.reason}"))
    told.sort(key=lambda each: each[1])
    return tuple((at.strftime("%Y-%m-%d %H:%M"), words) for _, at, words in told)


def _said(record: TrackRun, decimals: int) -> str:
    return f"{record.time_s:.{decimals}f} s" if record.time_s is not None else record.end.value
