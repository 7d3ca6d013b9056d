from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.book.book import Book
from bodyshop.records.book.earlier import known_about
from bodyshop.records.book.model import CarRecord, Event, FrozenPrediction, RunEnd, TrackRun
from bodyshop.records.raceday import RankedBy
from bodyshop.records.raceday.day import DOUBT, RaceDay

BIRDS = ("Kestrel", "Heron", "Wren", "Dipper", "Swift", "Lapwing")
SPEED = {bird: 1.0 + 0.05 * k for k, bird in enumerate(BIRDS)}


@pytest.fixture
def day(tmp_path: Path) -> Iterator[RaceDay]:
    book = Book.create(tmp_path / "class.trials", Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2))
    with book:
        for number, bird in enumerate(BIRDS, 1):
            book.add(CarRecord(bird, f"Bench {number}"))
        yield RaceDay(book)


def _run_all(day: RaceDay) -> None:
    for held in day.state.open_heats:
        for car in day.state.open_lanes(held):
            day.record(held.heat.number, car, RunEnd.FINISHED, SPEED[car])


def _codes(error: pytest.ExceptionInfo[ProblemsError]) -> list[str]:
    return [problem.code for problem in error.value.problems]


def test_a_whole_day(day: RaceDay) -> None:
    assert set(day.enter()) == set(BIRDS)
    assert day.enter() == ()
    heats = day.draw_trials(2, seed=17)
    assert len(heats) == 6
    # What was drawn is what is read back.
    assert [held.heat for held in day.state.heats] == [held.heat for held in heats]
    _run_all(day)
    assert [row.car for row in day.state.standings] == list(BIRDS)
    first = day.draw_knockout()
    assert [held.heat.number for held in first] == [7, 8]
    while True:
        _run_all(day)
        if not day.next_round():
            break
    ladder = day.state.ladder
    assert ladder["Kestrel"] == 1
    assert ladder["Heron"] == 2
    assert sorted(ladder.values()) == [1, 2, 3, 3, 5, 5]
    assert day.state.open_heats == ()


def test_results_are_runs_on_the_track_too_and_both_are_corrected(day: RaceDay) -> None:
    day.enter()
    heat = day.draw_trials(1, seed=1)[0].heat
    car = heat.cars[0]
    day.record(1, car, RunEnd.FINISHED, 1.402)
    with pytest.raises(ProblemsError) as error:
        day.record(1, car, RunEnd.FINISHED, 1.042)
    assert _codes(error) == ["raceday-noted"]
    day.record(1, car, RunEnd.FINISHED, 1.042, reason="misread")
    runs = day.book.records(TrackRun)
    assert [(run.record.time_s, run.record.length_mm, run.record.lane) for run in runs] == [
        (1.042, 20000.0, heat.lane_of(car))
    ]
    assert [entry.record.time_s for entry in day.book.records(TrackRun, history=True)] == [1.402, 1.042]
    ((_, words),) = day.state.decisions
    assert words == f"Heat 1, {car}: 1.042 s instead of 1.402 s: misread"


def test_a_lane_names_its_car(day: RaceDay) -> None:
    day.enter()
    heat = day.draw_trials(1, seed=1)[0].heat
    day.record(1, "lane 2", RunEnd.STOPPED)
    day.record(1, (heat.lanes[0] or "").upper(), RunEnd.FINISHED, 1.1)
    assert day.state.lane_results[1, heat.lanes[1] or ""].end is RunEnd.STOPPED


def test_a_rerun_voids_and_takes_the_place(day: RaceDay) -> None:
    day.enter()
    day.draw_trials(1, seed=4)
    _run_all(day)
    held = day.rerun(2, "the gate did not close")
    assert held.heat.number == 4
    assert held.heat.cars == day.state.heat(2).heat.cars
    slow = {car: SPEED[car] + 1.0 for car in held.heat.cars}
    for car in held.heat.cars:
        day.record(4, car, RunEnd.FINISHED, slow[car], confirmed=True)
    scores = {row.car: row.score_s for row in day.state.standings}
    assert {car: scores[car] for car in slow} == slow
    assert any("run again as heat 4" in words for _, words in day.state.decisions)


def test_a_heat_is_not_run_again_twice(day: RaceDay) -> None:
    day.enter()
    day.draw_trials(1, seed=4)
    _run_all(day)
    day.rerun(2, "the gate did not close")
    with pytest.raises(ProblemsError) as twice:
        day.rerun(2, "once more by mistake")
    assert _codes(twice) == ["raceday-rerun"]
    assert "heat 4" in twice.value.problems[0].message
    assert len(day.state.heats) == 4
    # The repeat itself may go wrong as well.
    assert day.rerun(4, "the line broke").again == 4


def test_a_rerun_of_one_lane_decides_a_pairing(day: RaceDay) -> None:
    day.enter(["Kestrel", "Heron"])
    day.draw_knockout(seed=3)
    day.record(1, "Kestrel", RunEnd.FINISHED, 1.0)
    day.record(1, "Heron", RunEnd.FINISHED, 1.1)
    assert day.state.ladder == {"Kestrel": 1, "Heron": 2}
    day.rerun(1, "a hand in front of the gate", cars=["Heron"])
    assert day.state.ladder == {}
    day.record(2, "Heron", RunEnd.FINISHED, 0.95)
    assert day.state.ladder == {"Heron": 1, "Kestrel": 2}


def test_a_tie_is_run_again_and_the_day_goes_on(day: RaceDay) -> None:
    day.enter(["Kestrel", "Heron"])
    day.draw_knockout(seed=3)
    for car in ("Kestrel", "Heron"):
        day.record(1, car, RunEnd.FINISHED, 1.05)
    (tie,) = day.next_round()
    assert tie.heat.tie
    assert tie.heat.lanes == tuple(reversed(day.state.heat(1).heat.lanes))
    day.record(2, "Kestrel", RunEnd.FINISHED, 1.06)
    day.record(2, "Heron", RunEnd.FINISHED, 1.04)
    assert day.next_round() == ()
    assert day.state.ladder == {"Heron": 1, "Kestrel": 2}


def test_a_car_that_is_out_races_no_more(day: RaceDay) -> None:
    day.enter()
    day.draw_trials(2, seed=2)
    day.rule_out("kestrel", "wood round the bore cracked")
    assert "Kestrel" not in day.state.racing
    _run_all(day)
    assert day.state.open_heats == ()
    last = day.state.standings[-1]
    assert (last.car, last.place, last.out) == ("Kestrel", None, "wood round the bore cracked")
    day.draw_knockout()
    assert all("Kestrel" not in held.heat.cars for held in day.state.heats if held.heat.number > 6)
    day.readmit("Kestrel", "another car was meant")
    assert "Kestrel" in day.state.racing


def test_late_cars_are_drawn_after_the_others(day: RaceDay) -> None:
    day.enter(["Kestrel", "Heron", "Wren"])
    day.draw_trials(1, seed=2, counts=RankedBy.MEAN)
    day.enter()
    late = day.draw_trials(1, seed=3)
    assert {car for held in late for car in held.heat.cars} == {"Dipper", "Swift", "Lapwing"}
    assert [held.heat.number for held in late] == [3, 4]
    assert day.state.counts is RankedBy.MEAN


@pytest.mark.parametrize(
    ("action", "code"),
    [
        (lambda day: day.draw_trials(1, seed=1), "raceday-draw"),
        (lambda day: day.draw_trials(0, seed=1), "raceday-rounds"),
        (lambda day: (day.enter(), day.draw_trials(1, seed=1, lanes=9)), "raceday-lanes"),
        (lambda day: (day.enter(), day.draw_trials(1, 1), day.draw_trials(1, 1)), "raceday-draw"),
        (lambda day: day.record(1, "Kestrel", RunEnd.STOPPED), "raceday-heat"),
        (
            lambda day: (day.enter(), day.draw_trials(1, 1), day.record(1, "Kestle", RunEnd.STOPPED)),
            "raceday-lane",
        ),
        (
            lambda day: (day.enter(), day.draw_trials(1, 1), day.record(1, "1", RunEnd.FINISHED, 0.1)),
            "raceday-time",
        ),
        (
            lambda day: (day.enter(), day.draw_trials(1, 1), day.record(1, "1", RunEnd.FINISHED)),
            "raceday-time",
        ),
        (lambda day: day.rule_out("Kestrel", "late"), "raceday-entry"),
        (lambda day: (day.enter(), day.rule_out("Kestrel", " ")), "raceday-reason"),
        (lambda day: day.rule_out("Kestle", "late"), "book-car"),
        (lambda day: (day.enter(), day.draw_knockout()), "raceday-draw"),
        (lambda day: (day.enter(), day.draw_trials(1, 1), day.draw_knockout()), "raceday-open"),
        (lambda day: (day.enter(["Wren"]), day.draw_knockout(seed=1)), "raceday-draw"),
        (lambda day: (day.enter(), day.draw_knockout(seed=1), day.next_round()), "raceday-open"),
        (lambda day: day.next_round(), "raceday-draw"),
        (lambda day: (day.enter(), day.draw_knockout(seed=1), day.draw_knockout(seed=1)), "raceday-draw"),
        (lambda day: (day.enter(), day.draw_knockout(seed=1, legs=0)), "raceday-legs"),
        (lambda day: (day.enter(), day.draw_trials(1, 1), day.rerun(1, "")), "raceday-reason"),
    ],
)
def test_what_cannot_be_done_is_refused_and_leaves_the_book_as_it_was(day: RaceDay, action, code) -> None:
    with pytest.raises(ProblemsError) as error:
        action(day)
    assert _codes(error) == [code]
    assert day.book.count(TrackRun) == 0


def test_two_programs_cannot_note_one_lane_twice(day: RaceDay) -> None:
    day.enter()
    car = day.draw_trials(1, seed=1)[0].heat.cars[0]
    with Book.open(day.book.path) as other:
        RaceDay(other).record(1, car, RunEnd.FINISHED, 1.2)
    with pytest.raises(ProblemsError) as error:
        day.record(1, car, RunEnd.FINISHED, 1.3)
    assert _codes(error) == ["raceday-noted"]


def _asked(day: RaceDay, number: int, car: str, time_s: float) -> str:
    """What is asked about a time; empty where it is noted in silence."""
    try:
        day.record(number, car, RunEnd.FINISHED, time_s)
    except ProblemsError as error:
        return " ".join(problem.message for problem in error.problems if problem.code == DOUBT)
    return ""


@pytest.fixture(params=[20000.0, None], ids=["track", "no track"])
def trials(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[RaceDay]:
    """Two rounds drawn, the first of them run in 1.4 s or so; with the track's length noted, and without."""
    event = Event("Quarry Lane Sprint", track_mm=request.param, lanes=2)
    with Book.create(tmp_path / "class.trials", event) as book:
        for number, bird in enumerate(BIRDS, 1):
            book.add(CarRecord(bird, f"Bench {number}"))
        day = RaceDay(book)
        day.enter()
        day.draw_trials(2, seed=17)
        for held in day.state.heats[:3]:
            for k, car in enumerate(held.heat.cars):
                day.record(held.heat.number, car, RunEnd.FINISHED, 1.38 + 0.02 * k)
        yield day


@pytest.mark.parametrize("time_s", [0.45, 13.9, 19.1])
def test_a_time_is_held_against_the_cars_own(trials: RaceDay, time_s: float) -> None:
    car = trials.state.heat(4).heat.cars[0]
    words = _asked(trials, 4, car, time_s)
    assert f"{time_s:g} s is far from the car's own time: 1." in words
    assert trials.state.open_lanes(trials.state.heat(4)) == trials.state.heat(4).heat.cars
    assert _asked(trials, 4, car, 1.45) == ""


def test_a_first_time_is_held_against_the_class(tmp_path: Path) -> None:
    with Book.create(tmp_path / "class.trials", Event("Quarry Lane Sprint", lanes=2)) as book:
        for bird in BIRDS:
            book.add(CarRecord(bird))
        day = RaceDay(book)
        day.enter()
        heats = day.draw_trials(1, seed=17)
        cars = [(held.heat.number, car) for held in heats for car in held.heat.cars]
        # Two runs do not make a class.
        assert _asked(day, *cars[0], 1.4) == ""
        assert _asked(day, *cars[1], 5.0) == ""
        day.record(*cars[1], RunEnd.FINISHED, 1.42, reason="misread")
        assert _asked(day, *cars[2], 1.41) == ""
        for odd in (0.45, 13.9):
            assert "far from the times of the class: 1.400 to 1.420 s in 3 runs" in _asked(day, *cars[3], odd)
        # A slow car is no misreading, and its second run is held against its first.
        assert _asked(day, *cars[3], 2.3) == ""


def test_a_time_is_held_against_the_prediction(day: RaceDay) -> None:
    day.book.add(FrozenPrediction("Wren", 1.4, 1.3, 1.6, inputs='{"length_m": 20.0}'))
    day.book.add(FrozenPrediction("Heron", 1.4, 1.3, 1.6, inputs='{"length_m": 18.0}'))
    day.enter(["Wren", "Heron"])
    day.draw_trials(1, seed=1)
    for odd in (1.19, 1.81):
        assert "far from the prediction: 1.400 s (1.300 to 1.600)" in _asked(day, 1, "Wren", odd)
    assert _asked(day, 1, "Wren", 1.79) == ""
    assert _asked(day, 1, "Heron", 1.19) == ""  # its prediction was for another length


def test_a_time_that_is_confirmed_is_stored_with_its_doubt(trials: RaceDay) -> None:
    car = trials.state.heat(4).heat.cars[0]
    words = _asked(trials, 4, car, 13.9)
    trials.record(4, car, RunEnd.FINISHED, 13.9, confirmed=True)
    assert words.endswith("far from the car's own time: 1.400 s")
    assert "far from the car's own time: 1.400 s." in trials.state.doubt(4, car)
    for run in trials.book.records(TrackRun, car=car)[1:]:
        assert run.doubt == trials.state.doubt(4, car)
    assert any("stands although it was asked about" in told for _, told in trials.state.decisions)
    # It is corrected, and was no witness against itself; nothing is asked of the right one.
    trials.record(4, car, RunEnd.FINISHED, 1.39, reason="a decimal point")
    assert trials.state.doubt(4, car) == ""
    assert not any("stands although" in told for _, told in trials.state.decisions)


@pytest.mark.parametrize(
    ("rounds", "words"),
    [
        (2, "Heats still to be run: 1, 2, 3, 4, 5, 6."),
        (3, "Heats still to be run: 1, 2, 3, 4, 5, 6, 7, 8 and 1 more."),
        (4, "Heats still to be run: 1, 2, 3, 4, 5, 6, 7, 8 and 4 more."),
    ],
)
def test_of_many_heats_to_be_run_the_first_eight_are_named(day: RaceDay, rounds: int, words: str) -> None:
    day.enter()
    day.allow("inspected by hand")
    day.draw_trials(rounds, seed=17)
    assert day.state.pending == (words,)


def test_exactly_eight_heats_to_be_run_are_all_named(day: RaceDay) -> None:
    day.enter()
    day.allow("inspected by hand")
    day.draw_trials(3, seed=17)
    for car in day.state.open_heats[0].heat.cars:
        day.record(1, car, RunEnd.FINISHED, SPEED[car])
    assert day.state.pending == ("Heats still to be run: 2, 3, 4, 5, 6, 7, 8, 9.",)


def test_a_run_over_a_known_length_says_nothing_about_a_track_of_unknown_length(tmp_path: Path) -> None:
    with Book.create(tmp_path / "class.trials", Event("Quarry Lane Sprint", lanes=2)) as book:
        for bird in BIRDS[:2]:
            book.add(CarRecord(bird))
        book.add(TrackRun(BIRDS[0], 20000.0, 1.06))
        day = RaceDay(book)
        day.enter()
        day.draw_trials(1, seed=17)
        run = TrackRun(BIRDS[0], 20000.0, 1.07)
        for bird in BIRDS[:2]:
            day.record(1, bird, RunEnd.FINISHED, SPEED[bird])
        (result,) = [each for each in book.records(TrackRun, car=BIRDS[0]) if each.record.heat]
        assert known_about(book, result.record).own_times == (SPEED[BIRDS[0]],)
        assert known_about(book, run).own_times == (1.06,), "the run, not the heat"
