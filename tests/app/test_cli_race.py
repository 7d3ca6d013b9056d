from __future__ import annotations

import json
import re
from pathlib import Path

import pypdfium2
import pytest

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.output.guide.pages import page_source
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, Event, MassReading, WeighingStage
from tests.app.running import ROOT, run_apart, run_here
from tests.documents import valid

KESTREL = str(ROOT / "samples" / "kestrel.toml")
SAMPLES = sorted(path.stem for path in (ROOT / "samples").glob("*.toml"))
THRUST = "time_s,force_n\n0,0\n0.01,14\n0.1,9\n0.2,4\n0.35,0\n"


def predicted(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    ran = run_here(capsys, "race", "predict", *words, "--json")
    assert ran.code == 0, ran.err
    document: dict[str, object] = valid(ran.out)["prediction"]
    return document


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_has_a_prediction_that_fits_the_schema(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert predicted(capsys, str(ROOT / "samples" / f"{name}.toml"))["samples"]


def figures(value: object) -> list[dict[str, object]]:
    """Every object in a document that has a value."""
    if isinstance(value, dict):
        own = [value] if "value" in value else []
        return own + [found for part in value.values() for found in figures(part)]
    return [found for part in value for found in figures(part)] if isinstance(value, list) else []


def test_no_figure_is_a_bare_number(capsys: pytest.CaptureFixture[str]) -> None:
    document = predicted(capsys, KESTREL)
    found = figures(document)
    assert len(found) > 20
    for each in found:
        ends = each["interval"]
        assert isinstance(ends, list)
        assert ends[0] <= each["value"] <= ends[1]
        assert each["confidence"] == 0.95
        assert each["unit"]


def test_the_page_tells_the_same_as_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    document = predicted(capsys, KESTREL)
    page = run_here(capsys, "race", "predict", KESTREL).out
    low, high = document["time"]["interval"]  # type: ignore[index]
    assert f"{document['time']['value']:.2f} s ({low:.2f} to {high:.2f})" in page  # type: ignore[index]
    for heading in (
        "What to expect",
        "What the prediction uses",
        "Why the range is wide",
        "How it is worked out",
    ):
        assert heading in page
    assert max(map(len, page.splitlines())) <= 80


def test_the_cautions_of_the_race_are_on_the_page_in_the_json_and_on_paper(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    cautions = [
        each.text.split(":")[0].split(".")[0] for each in cautions_for(Operation.CARTRIDGE, Operation.RACE)
    ]
    words = " ".join(" ".join(cautions_for(Operation.RACE)[k].text for k in range(3)).split())
    for word in ("eye protection", "end of each lane", "end of the track"):
        assert word in words
    ran = run_here(capsys, "race", "change", KESTREL, "--pdf", str(tmp_path / "a.pdf"))
    page = " ".join(ran.out.split())
    with pypdfium2.PdfDocument(tmp_path / "a.pdf") as document:
        sheets = [" ".join(sheet.get_textpage().get_text_range().split()) for sheet in document]
    told = " ".join(predicted(capsys, KESTREL)["cautions"])  # type: ignore[arg-type]
    for text in (page, told, *sheets):
        for caution in cautions:
            assert caution in text


def test_nothing_it_says_calls_a_car_or_a_run_safe(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (
        ("predict", KESTREL),
        ("change", KESTREL, "--wood", "balsa"),
        ("predict", KESTREL, "--json"),
    ):
        ran = run_here(capsys, "race", *words)
        assert "safe" not in (ran.out + ran.err).casefold()


def test_what_was_measured_narrows_the_time(capsys: pytest.CaptureFixture[str]) -> None:
    def width(*words: str) -> float:
        low, high = predicted(capsys, KESTREL, *words)["time"]["interval"]  # type: ignore[index]
        return float(high - low)

    plain = width()
    weighed = width("--mass", "121.4±0.2")
    fitted = width("--mass", "121.4+-0.2", "--impulse", "1.66+/-0.05", "--hole", "1.8±0.1")
    assert weighed < 0.9 * plain
    assert fitted < 0.6 * weighed


def test_a_given_impulse_is_the_impulse(capsys: pytest.CaptureFixture[str]) -> None:
    found = predicted(capsys, KESTREL, "--impulse", "1.55", "--cartridge-temperature", "24")
    assert found["impulse"]["value"] == pytest.approx(1.55)  # type: ignore[index]


def test_lane_and_gates_are_taken_in_metres_and_feet(capsys: pytest.CaptureFixture[str]) -> None:
    found = predicted(capsys, KESTREL, "--lane-length", "45ft", "--gates", "2,5,10 m")
    assert found["lane"]["length_m"] == pytest.approx(13.716)  # type: ignore[index]
    assert [gate["at_m"] for gate in found["gates"]] == [2.0, 5.0, 10.0]  # type: ignore[attr-defined]


def test_the_lane_is_the_rulebooks_where_nothing_else_is_said(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = (ROOT / "rules" / "quarry-lane.toml").read_text(encoding="utf-8")
    assert "track_length = 20000" in text
    assert "by the rules of Quarry Lane Sprint" in predicted(capsys, KESTREL)["lane"]["source"]  # type: ignore[index]
    for name, line, length in (("short", "track_length = 15000", 15.0), ("silent", "", 20.0)):
        book = tmp_path / f"{name}.toml"
        book.write_text(text.replace("track_length = 20000", line), encoding="utf-8")
        found = predicted(capsys, KESTREL, "--rulebook", str(book))
        assert found["lane"]["length_m"] == length  # type: ignore[index]


def test_a_measured_thrust_takes_the_place_of_the_computed_one(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    curve = tmp_path / "stand.csv"
    curve.write_text(THRUST, encoding="utf-8")
    found = predicted(capsys, KESTREL, "--thrust", str(curve))
    impulse = 0.07 + 0.09 * 11.5 + 0.1 * 6.5 + 0.15 * 2
    assert found["impulse"]["value"] == pytest.approx(impulse, rel=1e-4)  # type: ignore[index]
    assert "stand.csv" in str(found["thrust"])
    ids = {name for cause in found["causes"] for name in cause["figures"]}  # type: ignore[attr-defined]
    assert not ids & {"hole", "volume", "cartridge-temperature"}


def test_a_cut_off_curve_is_doubted_aloud(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    curve = tmp_path / "stand.csv"
    curve.write_text(THRUST.replace("0.35,0\n", ""), encoding="utf-8")
    ran = run_here(capsys, "race", "predict", KESTREL, "--thrust", str(curve))
    assert ran.code == 0
    assert "still pushes" in ran.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--mass", "-3"), "mass of the car is -3 g"),
        (("--mass", "heavy"), "is not a figure"),
        (("--mass", "60±-1"), "less than nothing"),
        (("--mass", "60±59"), "the half-width of the mass of the car is 59 g"),
        (("--impulse", "1.7±1.7"), "the half-width of the impulse"),
        (("--mass", "nan"), "is not a"),
        (("--drag", "0"), "drag area is 0 cm²"),
        (("--rolling", "2"), "rolling friction is 2"),
        (("--hole", "40"), "puncture is 40 mm"),
        (("--charge", "4"), "outside the table of cartridges"),
        (("--impulse", "0"), "the impulse is 0 N s"),
        (("--cartridge-temperature", "-60"), "no liquid below"),
        (("--cartridge-temperature", "35"), "no liquid above"),
        (("--lane-length", "0"), "the lane is 0 m"),
        (("--lane-length", "20000"), "the lane is 20000 m"),
        (("--lane-length", "far"), "is not a length"),
        (("--gates", "5,25"), "a gate is 25 m"),
        (("--temperature", "400"), "temperature is 400"),
        (("--pressure", "2"), "pressure is 2"),
        (("--humidity", "140"), "humidity is 140"),
        (("--car", "Wren"), "--book"),
        (("--thrust", "none.csv"), "there is no such file"),
        (("--book", "none.book"), "no such book"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(
    words: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = run_here(capsys, "race", "predict", KESTREL, *words)
    assert ran.code == 2
    assert not ran.out
    assert told in " ".join(ran.err.split())


def test_a_measured_curve_holds_temperature_and_puncture_already(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    curve = tmp_path / "stand.csv"
    curve.write_text(THRUST, encoding="utf-8")
    ran = run_here(capsys, "race", "predict", KESTREL, "--thrust", str(curve), "--hole", "2")
    assert ran.code == 2
    assert "cannot be given together with a measured thrust" in " ".join(ran.err.split())


def test_a_car_that_stops_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    words = (KESTREL, "--rolling", "0.45", "--lane-length", "60")
    ran = run_here(capsys, "race", "predict", *words)
    assert ran.code == 0
    assert "it stops before the line, after" in ran.out.splitlines()[0]
    document = predicted(capsys, *words)
    assert document["time"]["value"] is None  # type: ignore[index]
    change = run_here(capsys, "race", "change", *words, "--json")
    assert change.code == 0, change.err
    valid(change.out)


def test_a_book_takes_the_place_of_estimates(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "sprint.book"
    event = Event(name="Quarry Lane Sprint", track_mm=18000.0, gates_mm=(6000.0,))
    with Book.create(file, event) as book, book.writing() as writer:
        writer.add(CarRecord(name="Kestrel"))
        for mass in (118.2, 118.4):
            writer.add(MassReading(car="Kestrel", stage=WeighingStage.COMPLETE, mass_g=mass))
    found = predicted(capsys, KESTREL, "--book", str(file))
    inputs = {each["id"]: each for each in found["inputs"]}  # type: ignore[attr-defined]
    assert inputs["mass"]["value"] == pytest.approx(118.3)
    assert inputs["mass"]["basis"] == "measured"
    assert found["lane"]["length_m"] == 18.0  # type: ignore[index]
    assert [gate["at_m"] for gate in found["gates"]] == [6.0]  # type: ignore[attr-defined]
    assert found["book"] == "sprint.book"
    page = run_here(capsys, "race", "predict", KESTREL, "--book", str(file)).out
    assert "sprint.book" in page
    other = run_here(capsys, "race", "predict", str(ROOT / "samples" / "wren.toml"), "--book", str(file))
    assert other.code == 2
    assert "Kestrel" in other.err
    # what a person gives comes before the book
    given = predicted(capsys, KESTREL, "--book", str(file), "--mass", "100", "--lane-length", "20")
    inputs = {each["id"]: each for each in given["inputs"]}  # type: ignore[attr-defined]
    assert inputs["mass"]["value"] == 100.0
    assert given["lane"]["length_m"] == 20.0  # type: ignore[index]


def test_change_ranks_levers_and_tries_numbers_and_woods(capsys: pytest.CaptureFixture[str]) -> None:
    words = (
        "--set",
        "bore.height=27",
        "--set",
        "blank.wood=balsa",
        "--wood",
        "balsa",
        "--wood",
        "black-walnut",
    )
    ran = run_here(capsys, "race", "change", KESTREL, *words, "--json")
    assert ran.code == 0, ran.err
    document = valid(ran.out)
    sizes = [abs(each["difference"]["value"]) for each in document["levers"]]
    assert sizes == sorted(sizes, reverse=True)
    assert {each["id"] for each in document["levers"]} >= {"gram", "drag", "rolling", "degree"}
    assert document["what_if"]["difference"]["value"] < -0.3
    assert document["what_if"]["share_faster"] > 0.99
    assert [each["wood"] for each in document["woods"]] == ["balsa", "basswood", "black-walnut"]
    assert [each["own"] for each in document["woods"]] == [False, True, False]
    times = [each["time"]["value"] for each in document["woods"]]
    assert times == sorted(times)
    page = run_here(capsys, "race", "change", KESTREL, *words).out
    assert "Nothing is written" in page
    assert max(map(len, page.splitlines())) <= 80


def test_a_change_that_breaks_a_rule_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run_here(capsys, "race", "change", KESTREL, "--set", "bore.depth=40")
    assert "does not pass: C2" in " ".join(ran.out.split())


def test_a_change_of_nothing_is_no_difference(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run_here(capsys, "race", "change", KESTREL, "--set", "name=Merlin")
    assert "No difference that a timer would show." in ran.out


def test_a_measured_mass_is_carried_over_to_the_changed_car(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run_here(capsys, "race", "change", KESTREL, "--mass", "118", "--set", "edges.round=4", "--json")
    found = json.loads(ran.out)["what_if"]["difference"]["value"]
    plain = run_here(capsys, "race", "change", KESTREL, "--set", "edges.round=4", "--json")
    assert found == pytest.approx(json.loads(plain.out)["what_if"]["difference"]["value"], rel=0.15)
    assert found < 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--set", "bore.heigth=3"), "did you mean height?"),
        (("--set", "bore.height"), "not a key and a value"),
        (("--set", "bore.height=tall"), "bore.height"),
        (("--wood", "balsaa"), "did you mean balsa?"),
        (("--pdf", "missing/a.pdf"), "no folder"),
    ],
)
def test_what_cannot_be_tried_is_told(
    words: tuple[str, ...], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    ran = run_here(capsys, "race", "change", KESTREL, *words)
    assert ran.code == 2
    assert told in " ".join(ran.err.split())


def test_the_sheet_is_one_page_with_its_words_inside(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file, drawing = tmp_path / "change.pdf", tmp_path / "change.svg"
    words = ("--wood", "balsa", "--set", "bore.height=27", "--pdf", str(file), "--svg", str(drawing))
    ran = run_here(capsys, "race", "change", KESTREL, *words)
    assert ran.code == 0, ran.err
    with pypdfium2.PdfDocument(file) as document:
        pages = [page.get_textpage().get_text_range() for page in document]
    assert len(pages) == 1
    for lever in ("1 g off the body", "10 % less drag area", "10 % less rolling friction"):
        assert lever in pages[0]
    assert "<svg" in drawing.read_text(encoding="utf-8")
    before = file.read_bytes(), drawing.read_bytes()
    assert run_here(capsys, "race", "change", KESTREL, *words).code == 0
    assert (file.read_bytes(), drawing.read_bytes()) == before


def test_a_file_of_somebody_else_is_not_written_over(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "mine.pdf"
    file.write_bytes(b"my own notes")
    ran = run_here(capsys, "race", "change", KESTREL, "--pdf", str(file))
    assert ran.code == 2
    assert file.read_bytes() == b"my own notes"


def test_the_readme_shows_what_is_printed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    monkeypatch.chdir(ROOT)
    part = page_source("race")
    shown = part[part.index("```text\n") + 8 :]
    printed = run_here(capsys, "race", "predict", "samples/kestrel.toml").out
    assert printed.startswith(shown[: shown.index("```")])
    helps = "".join(run_here(capsys, "race", verb, "--help").out for verb in ("predict", "change"))
    for option in re.findall(r"--[a-z]+(?:-[a-z]+)*", part):
        assert option in helps, option


def test_help_is_that_of_the_verb(capsys: pytest.CaptureFixture[str]) -> None:
    assert "--wood" in run_here(capsys, "race", "change", "--help").out
    assert "--wood" not in run_here(capsys, "race", "--help").out
    assert "did you mean predict?" in run_here(capsys, "race", "predit", KESTREL).err
    assert run_here(capsys, "race").code == 2


def test_predict_in_its_own_process_needs_no_cool_prop(tmp_path: Path) -> None:
    ran = run_apart("race", "predict", KESTREL, folder=tmp_path)
    assert ran.returncode == 0, ran.stderr
    assert b"Kestrel over 20 m" in ran.stdout
