"""The trial book's pages: the same book as on the command line, by the server's calls and by the browser."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pypdfium2
import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select

from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    FrozenPrediction,
    InspectedValue,
    MassReading,
    RunEnd,
    TrackRun,
    TunnelReading,
)
from bodyshop.records.raceday.day import RaceDay
from tests.app.benching import SAMPLES, Page, Served, serve

Call = Callable[..., tuple[int, Any]]
FILE = "quarry-lane-sprint.trials"


@pytest.fixture(scope="module")
def hall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("hall")
    for name in ("kestrel", "wren", "heron"):
        shutil.copy(SAMPLES / f"{name}.toml", folder)
    (folder / "broken.toml").write_text("format = 1\n", encoding="utf-8")
    served = serve(folder)
    yield served
    served.close()


@pytest.fixture(scope="module")
def call(hall: Served) -> Call:
    def ask(path: str, given: dict[str, Any] | None = None) -> tuple[int, Any]:
        body = None if given is None else json.dumps(given).encode()
        status, data = hall.ask(path, method="GET" if given is None else "POST", body=body)
        return status, json.loads(data)

    return ask


@pytest.fixture(scope="module")
def do(call: Call) -> Call:
    """Deeds on the class's book, which is begun with its cars."""
    status, made = call("/books", {"name": "Quarry Lane Sprint", "track": "20", "lanes": "2"})
    assert (status, made) == (200, {"file": FILE})

    def action(name: str, **given: Any) -> tuple[int, Any]:
        return call(f"/book/do?file={FILE}", {"deed": name, **given})

    status, done = action("add_designs")
    assert status == 200
    assert "broken.toml" in done["done"]
    return action


def _book(hall: Served) -> Book:
    return Book.open(hall.folder / FILE)


def test_designs_of_the_folder_become_cars_once(hall: Served, call: Call, do: Call) -> None:
    assert "No new car" in do("add_designs")[1]["done"]
    _, data = call(f"/book/data?file={FILE}&part=cars")
    assert sorted(car["name"] for car in data["cars"]) == ["Heron", "Kestrel", "Wren"]
    with _book(hall) as book:
        assert book.car("Wren").record.design_text == (SAMPLES / "wren.toml").read_text(encoding="utf-8")


def test_a_reading_is_kept_with_its_unit_and_one_that_cannot_be_is_asked_about(
    hall: Served, do: Call
) -> None:
    fields = {"speed_m_s": "20", "drag_n": "24", "unit": "gf"}
    assert do("add", kind="drag", car="Kestrel", fields=fields)[0] == 200
    with _book(hall) as book:
        (entry,) = book.records(TunnelReading, car="Kestrel")
    # One gram-force is 9.80665e-3 N: the standard acceleration of free fall (CGPM 1901; from memory).
    assert entry.record.drag_n == pytest.approx(24 * 9.80665e-3)
    heavy = {"stage": "complete", "mass_g": "9000"}
    status, answer = do("add", kind="mass", car="Kestrel", fields=heavy)
    assert status == 200
    assert "9000 g" in answer["asks"][0]
    with _book(hall) as book:
        assert book.count(MassReading, car="Kestrel") == 0
    assert "id" in do("add", kind="mass", car="Kestrel", fields=heavy, confirmed=True)[1]
    with _book(hall) as book:
        (kept,) = book.records(MassReading, car="Kestrel")
    assert "9000 g" in kept.doubt
    assert do("strike", kind="mass", id=kept.id, because="a slip of the finger")[0] == 200
    with _book(hall) as book:
        assert book.count(MassReading, car="Kestrel") == 0
        assert len(book.records(MassReading, car="Kestrel", history=True)) == 2


@pytest.mark.parametrize(
    ("given", "keys"),
    [
        ({"kind": "mass", "car": "Kestrel", "fields": {}}, {"stage", "mass_g"}),
        ({"kind": "mass", "car": "Kestrel", "fields": {"stage": "complete", "mass_g": "heavy"}}, {"mass_g"}),
        ({"kind": "drag", "car": "Kestrel", "fields": {"speed_m_s": "20", "drag_n": "1 mm"}}, {"drag_n"}),
        ({"kind": "event", "car": "Kestrel", "fields": {"name": "Another"}}, set()),
        ({"kind": "mass", "car": "Kestle", "fields": {"stage": "complete", "mass_g": "60"}}, set()),
        ({"kind": "mass", "car": "Kestrel", "fields": {"stage": "complete", "mass_g": "nan"}}, {"mass_g"}),
    ],
)
def test_a_reading_that_cannot_be_read_is_refused_with_its_field(do: Call, given, keys) -> None:
    status, answer = do("add", **given)
    assert status == 422
    assert set(answer["keys"]) >= keys
    assert answer["refused"]


@pytest.mark.parametrize(
    ("path", "given"),
    [
        ("/book/data?file=../secret.trials&part=cars", None),
        ("/book/data?file=nowhere.trials&part=cars", None),
        (f"/book/data?file={FILE}&part=everything", None),
        (f"/book/do?file={FILE}", {"deed": "note", "heat": "x", "car": "1", "result": "1.0"}),
        (f"/book/do?file={FILE}", {"deed": "strike", "kind": "mass", "id": "1; drop", "because": "x"}),
        ("/books", {"name": "", "track": "20", "lanes": "2"}),
        ("/books", {"name": "Another", "track": "far", "lanes": "2"}),
        ("/books", {"name": "Another", "track": "20", "lanes": "many"}),
    ],
)
def test_what_makes_no_sense_is_refused(do: Call, call: Call, path, given) -> None:
    status, answer = call(path, given)
    assert status == 422
    assert answer["refused"]


def test_a_book_is_not_begun_over_another(do: Call, call: Call) -> None:
    assert call("/books", {"name": "Quarry Lane Sprint", "track": "20", "lanes": "2"})[0] == 409


def test_the_car_as_built_is_judged_asked_about_kept_and_printed(hall: Served, do: Call, call: Call) -> None:
    _, data = call(f"/book/data?file={FILE}&part=inspection&car=Wren")
    length = next(row for row in data["rows"] if row["title"] == "total length")
    eyes = next(row for row in data["rows"] if row["measured_as"] == "answer")
    found = {length["clause"]: "260.4", eyes["clause"]: "yes"}
    _, judged = do("inspect", car="Wren", found=found, step="0.5 mm")
    row = next(row for row in judged["rows"] if row["clause"] == length["clause"])
    assert (row["verdict"], row["change"]) == ("pass", "as drawn")
    assert judged["before"] == []
    slip = {**found, length["clause"]: "200"}
    assert "200 measured" in do("inspect", car="Wren", found=slip, keep=True)[1]["asks"][0]
    assert do("inspect", car="Wren", found=found, step="0.5 mm", keep=True)[0] == 200
    with _book(hall) as book:
        (value,) = book.records(InspectedValue)
        assert (value.record.value, value.record.resolution) == (260.4, 0.5)
    status, paper = hall.ask(f"/book/inspection.pdf?file={FILE}&car=Wren")
    assert status == 200
    text = " ".join(each.get_textpage().get_text_range() for each in pypdfium2.PdfDocument(paper))
    assert "260.4" in text
    assert hall.ask(f"/book/inspection.pdf?file={FILE}&car=Heron")[0] == 404
    for wrong in ({"B99": "1"}, {length["clause"]: "long"}, {eyes["clause"]: "perhaps"}):
        assert do("inspect", car="Wren", found=wrong)[0] == 422
    assert do("inspect", car="Wren", found={}, keep=True)[0] == 422


def test_predictions_have_intervals_and_are_frozen(hall: Served, do: Call) -> None:
    status, told = do("foretell", car="Wren", length="20", temperature="21")
    assert status == 200
    assert all(float(each["low"]) < float(each["value"]) < float(each["high"]) for each in told["figures"])
    assert sum(cause["share"] for cause in told["causes"]) == pytest.approx(1.0, abs=0.05)
    assert any("eye protection" in words for words in told["cautions"])
    assert do("foretell", car="Wren", temperature="warm")[0] == 422
    assert do("freeze")[0] == 200
    with _book(hall) as book:
        assert book.count(FrozenPrediction) == 3


def test_race_day_on_the_page_is_race_day_in_the_book(hall: Served, do: Call, call: Call) -> None:
    assert do("enter")[0] == 200
    assert do("draw", rounds="1", counts="best")[0] == 200
    _, data = call(f"/book/data?file={FILE}&part=race")
    heat = data["heats"][0]
    lane = next(each for each in heat["lanes"] if each["car"])
    assert do("note", heat=heat["number"], car=lane["car"], result="1,802")[0] == 200
    assert do("note", heat=heat["number"], car=lane["car"], result="1.820")[0] == 422
    assert do("note", heat=heat["number"], car=lane["car"], result="1.820", because="misread")[0] == 200
    with _book(hall) as book:
        assert [run.record.time_s for run in book.records(TrackRun, car=lane["car"])] == [1.82]
        day = RaceDay(book)
        for held in day.state.open_heats:
            for car in day.state.open_lanes(held):
                day.record(held.heat.number, car, RunEnd.FINISHED, 1.9)
    # The command line's times are on the page at once.
    _, data = call(f"/book/data?file={FILE}&part=race")
    assert data["open"] == []
    status, paper = hall.ask(f"/book/papers/final.pdf?file={FILE}")
    assert status == 200
    text = " ".join(each.get_textpage().get_text_range() for each in pypdfium2.PdfDocument(paper))
    assert lane["car"] in text
    assert "misread" in text
    assert hall.ask(f"/book/papers/secrets.pdf?file={FILE}")[0] == 404


def test_a_book_begun_on_the_page_knows_its_timing(hall: Served, call: Call) -> None:
    given = {"name": "Stop-watch day", "track": "20", "lanes": "2", "timing": "0.01"}
    status, made = call("/books", given)
    assert status == 200
    with Book.open(hall.folder / made["file"]) as book:
        assert book.event.record.timing_s == 0.01
    assert call("/books", {**given, "name": "Another", "timing": "0"})[0] == 422


def test_in_the_browser(hall: Served, do: Call, browser: webdriver.Chrome) -> None:
    page = Page(browser, hall)
    browser.get(hall.address)
    browser.get(f"{hall.base}/book?file={FILE}#trials")
    page.until(lambda: page.by_id("record"))
    Select(page.by_id("car")).select_by_visible_text("Heron")
    page.until(lambda: Select(page.by_id("car")).first_selected_option.text == "Heron")
    Select(page.by_id("field-stage")).select_by_visible_text("complete")
    page.by_id("field-mass_g").send_keys("8000")
    page.click("keep")
    page.until(lambda: page.by_id("keep-anyway"))
    page.by_id("field-mass_g").clear()
    page.by_id("field-mass_g").send_keys("71.4")
    page.click("keep")
    page.until(lambda: "71.4" in page.text_of("section"))
    with _book(hall) as book:
        assert [entry.record.mass_g for entry in book.records(MassReading, car="Heron")] == [71.4]
    for part, words in (("cars", "71.4"), ("prediction", "Frozen predictions"), ("race", "Standings")):
        _turn_to(page, part, words)
    assert page.complaints() == []


def test_a_time_that_can_hardly_be_is_asked_about_on_the_page(
    hall: Served, do: Call, call: Call, browser: webdriver.Chrome
) -> None:
    do("enter")
    do("draw", rounds="1", counts="best")
    heat = call(f"/book/data?file={FILE}&part=race")[1]["heats"][0]
    car = next(lane["car"] for lane in heat["lanes"] if lane["car"])
    assert do("rerun", heat=heat["number"], because="false start")[0] == 200
    number = str(call(f"/book/data?file={FILE}&part=race")[1]["heats"][-1]["number"])
    status, answer = do("note", heat=number, car=car, result="13.9")
    assert (status, "done" in answer) == (200, False)
    assert "m/s" in " ".join(answer["asks"])

    page = Page(browser, hall)
    browser.get(hall.address)
    browser.get(f"{hall.base}/book?file={FILE}#race")
    field = f'input[data-heat="{number}"][data-car="{car}"]'
    page.until(lambda: browser.find_elements(By.CSS_SELECTOR, field))
    browser.find_element(By.CSS_SELECTOR, field).send_keys("13.9\n")
    page.until(lambda: page.by_id("note-anyway"))
    assert "13.9: can this be?" in browser.find_element(By.CSS_SELECTOR, ".heat .asks").text
    # What was typed is still there, and nothing is in the book.
    assert browser.find_element(By.CSS_SELECTOR, field).get_attribute("value") == "13.9"
    with _book(hall) as book:
        assert not any(run.record.time_s == 13.9 for run in book.records(TrackRun))
    page.click("note-anyway")
    page.until(lambda: not browser.find_elements(By.CSS_SELECTOR, ".heat .asks"))
    with _book(hall) as book:
        (run,) = [run for run in book.records(TrackRun, car=car) if run.record.time_s == 13.9]
        assert "m/s" in run.doubt
    assert page.complaints() == []


def test_an_official_decides_on_the_page(
    hall: Served, do: Call, call: Call, browser: webdriver.Chrome
) -> None:
    do("enter")
    page = Page(browser, hall)
    browser.get(hall.address)
    browser.get(f"{hall.base}/book?file={FILE}#race")
    page.until(lambda: browser.find_elements(By.ID, "undecided"))
    assert "not inspected" in page.text_of("undecided")
    waiting = [each["car"] for each in _admissions(call) if not each["decided"]]
    page.click("allow-all")
    page.until(lambda: page.by_id("why-text").is_displayed())
    page.by_id("why-text").send_keys("inspected on paper\n")
    page.until(lambda: not browser.find_elements(By.ID, "undecided"))
    found = {each["car"]: each for each in _admissions(call)}
    assert all(found[car]["allowed"] == "inspected on paper" for car in waiting)
    assert do("allow", cars=["Heron"], because="")[0] == 422
    assert page.complaints() == []


def _admissions(call: Call) -> Any:
    return call(f"/book/data?file={FILE}&part=race")[1]["admissions"]


def _turn_to(page: Page, part: str, words: str) -> None:
    page.browser.find_element(By.CSS_SELECTOR, f'nav a[href="#{part}"]').click()
    page.until(lambda: words in page.text_of("section"))
