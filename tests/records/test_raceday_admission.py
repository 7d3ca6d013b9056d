"""Who may race, and what is final: no car wins unnoticed that has not passed inspection or still races."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.json.raceday import day_data
from bodyshop.output.papers.raceday.files import day_files
from bodyshop.output.terminal.raceday import ladder_text, standings_text, undecided_lines
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, Entrant, Event, Inspection, RunEnd, TrackRun
from bodyshop.records.raceday.day import RaceDay
from tests.documents import valid

BIRDS = ("Kestrel", "Heron", "Wren", "Dipper")
PASSED = {"result": "legal", "passes": True, "legal": True}
FAILED = {"result": "not legal: B3 is broken", "passes": False, "legal": False}
UNFINISHED = {"result": "3 rules are still open", "passes": False, "legal": True, "open_points": 3}
POINTS = {"result": "5 points off for B3", "passes": False, "legal": True, "points_off": 5.0}


def inspect(book: Book, car: str, found: dict) -> None:
    book.add(Inspection(car, "quarry-lane", **found))


@pytest.fixture
def day(tmp_path: Path) -> Iterator[RaceDay]:
    event = Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2)
    with Book.create(tmp_path / "class.trials", event) as book:
        for bird, found in zip(BIRDS, (FAILED, PASSED, POINTS, None), strict=True):
            book.add(CarRecord(bird))
            if found is not None:
                inspect(book, bird, found)
        day = RaceDay(book)
        day.enter()
        yield day


def run_all(day: RaceDay) -> None:
    """Kestrel, which failed, is the fastest."""
    for held in day.state.open_heats:
        for car in day.state.open_lanes(held):
            day.record(held.heat.number, car, RunEnd.FINISHED, 1.4 + 0.02 * BIRDS.index(car))


def paper(day: RaceDay, name: str) -> str:
    files, _ = day_files(day.book, day.state, sheet_sizes()["a4"], date="2031-05-14")
    pages = pypdfium2.PdfDocument(files[name])
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)


def certificate(day: RaceDay, car: str) -> str:
    files, _ = day_files(day.book, day.state, sheet_sizes()["a4"])
    texts = [
        page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(files["certificates.pdf"])
    ]
    (found,) = [" ".join(text.split()) for text in texts if car in text]
    return found


def test_only_cars_that_passed_need_no_decision(day: RaceDay) -> None:
    assert list(day.state.undecided) == ["Kestrel", "Dipper"]
    assert list(day.state.undecided_words) == [
        "Kestrel: failed inspection 1 (not legal: B3 is broken).",
        "Not inspected: Dipper.",
    ]
    # The newest inspection counts, in the order of the book.
    inspect(day.book, "Kestrel", UNFINISHED)
    assert day.state.undecided_words[0] == "Kestrel: inspection 4 is not finished (3 checks open)."
    inspect(day.book, "Kestrel", PASSED)
    assert list(day.state.undecided) == ["Dipper"]
    inspect(day.book, "Heron", FAILED)
    assert list(day.state.undecided) == ["Heron", "Dipper"]


def test_an_inspection_of_an_older_book_is_read_by_its_result(day: RaceDay) -> None:
    inspect(day.book, "Heron", {**FAILED, "legal": None})
    inspect(day.book, "Dipper", {**PASSED, "legal": None})
    assert list(day.state.undecided) == ["Kestrel", "Heron"]


def test_what_has_not_passed_is_named_at_every_step_and_has_no_place_for_good(day: RaceDay) -> None:
    assert "failed inspection 1" in " ".join(undecided_lines(day.state, 70))
    day.draw_trials(1, seed=3)
    assert "Kestrel: failed inspection 1" in paper(day, "heats.pdf")
    run_all(day)
    text = standings_text(day.state, 80)
    assert "(1st)      Kestrel" in text
    assert "2nd        Heron" in text
    assert "(4th)      Dipper" in text
    assert "Kestrel: failed inspection 1" in text
    rows = valid(day_data(day.state))["standings"]
    assert [(row["car"], row["decided"]) for row in rows][:2] == [("Kestrel", False), ("Heron", True)]
    final = paper(day, "final.pdf")
    assert "PROVISIONAL" in final
    assert "not decided Kestrel" in final
    assert "1st Kestrel" not in final
    assert "place not decided" in certificate(day, "Kestrel")
    assert "provisional: 2nd place" in certificate(day, "Heron")
    # Eliminations too.
    day.draw_knockout()
    run_all(day)
    day.next_round()
    run_all(day)
    assert day.state.ladder["Kestrel"] == 1
    assert "(1st)      Kestrel" in ladder_text(day.state, 80)
    assert "not decided Kestrel" in paper(day, "final.pdf")


def test_an_official_decides_and_the_book_says_who_was_allowed_and_why(day: RaceDay) -> None:
    day.draw_trials(1, seed=3)
    run_all(day)
    assert day.allow("weighed again by hand", ["kestrel"]) == ("Kestrel",)
    assert list(day.state.undecided) == ["Dipper"]
    assert day.allow("new pupil, looked at on the line") == ("Dipper",)
    assert list(day.state.undecided) == []
    assert list(day.state.pending) == []
    entrant = next(each.record for each in day.book.records(Entrant) if each.record.car == "Kestrel")
    assert (entrant.allowed, entrant.allowed_over) == ("weighed again by hand", 1)
    final = paper(day, "final.pdf")
    assert "PROVISIONAL" not in final
    assert "1st Kestrel" in final
    why = "failed inspection 1 (not legal: B3 is broken); allowed: weighed again by hand"
    assert f"Allowed to race car why Kestrel {why} Heron passed inspection 2" in final
    assert "Dipper not inspected; allowed: new pupil, looked at on the line" in final
    assert "Kestrel may race: failed inspection 1" in final  # among the rulings, with its moment
    assert "1st place" in certificate(day, "Kestrel")
    assert "provisional" not in certificate(day, "Kestrel")


def test_a_decision_holds_only_until_the_next_inspection(day: RaceDay) -> None:
    day.allow("weighed again by hand")
    assert list(day.state.undecided) == []
    inspect(day.book, "Kestrel", FAILED)
    assert list(day.state.undecided) == ["Kestrel"]
    inspect(day.book, "Dipper", UNFINISHED)  # allowed when it was not inspected at all
    assert list(day.state.undecided) == ["Kestrel", "Dipper"]
    day.rule_out("Kestrel", "the wall is too thin")
    assert list(day.state.undecided) == ["Dipper"]
    assert day.state.out == {"Kestrel": "the wall is too thin"}


@pytest.mark.parametrize(
    ("reason", "cars", "code"),
    [
        (" ", [], "raceday-reason"),
        ("so", ["Heron"], "raceday-entry"),
        ("so", ["Swift"], "raceday-entry"),
        ("so", ["Kestle"], "book-car"),
    ],
)
def test_what_cannot_be_allowed(day: RaceDay, reason: str, cars: list[str], code: str) -> None:
    day.book.add(CarRecord("Swift"))
    before = day.book.stamp()
    with pytest.raises(ProblemsError) as error:
        day.allow(reason, cars)
    assert [problem.code for problem in error.value.problems] == [code]
    assert day.book.stamp() == before


# ---------------------------------------------------------------- before the last heat


def test_before_the_last_heat_all_is_provisional_and_a_car_that_races_has_no_place(day: RaceDay) -> None:
    day.allow("inspected by hand")
    assert list(day.state.pending) == ["No heat is drawn yet."]
    day.draw_trials(1, seed=3)
    first, last = day.state.heats
    for k, car in enumerate(first.heat.cars):
        day.record(first.heat.number, car, RunEnd.FINISHED, 1.4 + 0.01 * k)
    (waiting,) = day.state.pending
    assert waiting == f"Heat still to be run: {last.heat.number}."
    assert day.state.still_racing == set(last.heat.cars)
    final = paper(day, "final.pdf")
    assert "PROVISIONAL: not the final result" in final
    assert "provisional sheet" in final
    for car in last.heat.cars:
        assert f"racing {car}" in final
        assert "provisional: still racing" in certificate(day, car)
    assert "provisional: 1st place" in certificate(day, first.heat.cars[0])
    # Over: nothing of it is left.
    run_all(day)
    assert list(day.state.pending) == []
    assert "PROVISIONAL" not in paper(day, "final.pdf")
    assert "final sheet" in paper(day, "final.pdf")
    assert "provisional" not in certificate(day, last.heat.cars[0])


def test_in_eliminations_only_those_that_are_out_of_them_have_a_place(day: RaceDay) -> None:
    day.allow("inspected by hand")
    day.draw_trials(1, seed=3)
    run_all(day)
    day.draw_knockout()
    run_all(day)
    # The semi-finals are run, the final is not drawn.
    assert list(day.state.pending) == ["The eliminations are not over: draw the next round."]
    assert day.state.still_racing == {"Kestrel", "Heron"}
    assert "provisional: still racing" in certificate(day, "Kestrel")
    assert "provisional: joint 3rd place" in certificate(day, "Wren")
    assert "joint 3rd Dipper" in paper(day, "final.pdf")
    day.next_round()
    run_all(day)
    assert list(day.state.pending) == []
    assert "Joint 3rd place" in certificate(day, "Wren")
    assert "1st place" in certificate(day, "Kestrel")


# ---------------------------------------------------------------- the timing of the event


@pytest.mark.parametrize(
    ("timing_s", "times", "places"),
    [
        # A gate tells thousandths apart, a stop-watch does not: readings of one step are equal.
        (0.001, (1.402, 1.403), [1, 2]),
        (None, (1.402, 1.403), [1, 2]),
        (0.01, (1.40, 1.40), [1, 1]),
        (0.01, (1.40, 1.41), [1, 2]),
        (0.1, (1.4, 1.5), [1, 2]),
        # Typed finer than the timing shows, and confirmed: no finer for that.
        (0.01, (1.402, 1.404), [1, 1]),
        (0.1, (1.41, 1.44), [1, 1]),
        (0.1, (1.44, 1.46), [1, 2]),
    ],
)
def test_the_events_timing_decides_what_is_equal(
    tmp_path: Path, timing_s: float | None, times: tuple[float, float], places: list[int]
) -> None:
    event = Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2, timing_s=timing_s)
    with Book.create(tmp_path / "class.trials", event) as book:
        for bird in BIRDS[:2]:
            book.add(CarRecord(bird))
        day = RaceDay(book)
        day.enter()
        day.draw_trials(1, seed=1)
        for car, time in zip(BIRDS, times, strict=False):
            day.record(1, car, RunEnd.FINISHED, time, confirmed=True)
        assert [row.place for row in day.state.standings] == places
        step = 0.001 if timing_s is None else timing_s
        assert {run.record.resolution_s for run in book.records(TrackRun)} == {step}
        # The same in eliminations, over two legs.
        day.draw_knockout(legs=2)
        for held in day.state.open_heats:
            for car, time in zip(BIRDS, times, strict=False):
                day.record(held.heat.number, car, RunEnd.FINISHED, time, confirmed=True)
        tied = bool(day.state.knockout[-1][0].tied)
        assert tied is (places == [1, 1])
        decimals = {0.1: 1, 0.01: 2}.get(step, 3)
        assert f" {times[0]:.{decimals}f}\n" in standings_text(day.state, 80)


def test_a_time_finer_than_the_timing_is_asked_about(tmp_path: Path) -> None:
    event = Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2, timing_s=0.01)
    with Book.create(tmp_path / "class.trials", event) as book:
        book.add(CarRecord("Kestrel"))
        book.add(CarRecord("Wren"))
        day = RaceDay(book)
        day.enter()
        day.draw_trials(1, seed=1)
        with pytest.raises(ProblemsError) as error:
            day.record(1, "Kestrel", RunEnd.FINISHED, 1.402)
        assert "finer than the event's timing" in error.value.problems[0].message
        for time in (1.4, 1.41, 1.07, 2.29):
            day.record(1, "Wren", RunEnd.FINISHED, time, reason="again")
        assert [each.record.time_s for each in book.records(TrackRun)] == [2.29]


def test_runs_entered_beside_race_day_are_timed_as_the_event_is(tmp_path: Path) -> None:
    from bodyshop.app.bench.trialbook.records import add_record
    from bodyshop.records.book.csv_in import import_csv
    from bodyshop.records.book.entering import record_from_words, with_defaults
    from bodyshop.records.findings.classruns import timing_sd

    event = Event("Quarry Lane Sprint", track_mm=20000.0, lanes=2, timing_s=0.01)
    with Book.create(tmp_path / "class.trials", event) as book:
        book.add(CarRecord("Kestrel"))
        typed = record_from_words(TrackRun, ["1.42"], defaults=with_defaults(book, TrackRun, "kestrel"))
        book.add(typed)
        add_record(book, "run", "Kestrel", {"length_mm": "20000", "time_s": "1.43"}, confirmed=False)
        sheet = b"car,length_mm,time_s\nKestrel,20000,1.44\n"
        assert import_csv(book, [(TrackRun, sheet, "run.csv")]).added == {"run": 1}
        assert import_csv(book, [(TrackRun, sheet, "run.csv")]).added == {}
        gate = b"car,length_mm,time_s,resolution_s\nKestrel,20000,1.447,0.001\n"
        import_csv(book, [(TrackRun, gate, "run.csv")])
        steps = [(run.record.time_s, run.record.resolution_s) for run in book.records(TrackRun)]
        assert sorted(steps) == [(1.42, 0.01), (1.43, 0.01), (1.44, 0.01), (1.447, 0.001)]
        # What a fit takes for the timing's spread: a step's is step / sqrt(12) (JCGM 100:2008, F.2.2.1).
        assert timing_sd(book.records(TrackRun)[0].record) > 0.01 / 12**0.5
