"""A rulebook that writes masses in ounces is answered in ounces: limits, readings, amounts and steps.

Outside source: the ounce avoirdupois is 28.349523125 g, exact by the international yard and pound agreement
of 1959.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from pathlib import Path

import pypdf

from bodyshop.app.cli import main
from bodyshop.car.measures import catalogue
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.output.figures.content import content_of
from bodyshop.output.figures.mass_bar import mass_bars, mass_sentence
from bodyshop.output.papers.buildsheet import build_sheet_pdf
from bodyshop.output.papers.forecast import change_pdf
from bodyshop.output.papers.inspection_form import inspection_pdf
from bodyshop.output.terminal.forecast import change_page, predict_page
from bodyshop.output.terminal.tables import measure_table
from bodyshop.output.terminal.verdict import terminal_report
from bodyshop.output.words.classroom import mass_words
from bodyshop.records.classroom.check_file import Checker
from bodyshop.records.classroom.discovery import CarRow, CheckOptions, ClassFile
from bodyshop.records.findings.forecast import advise, make_forecast
from bodyshop.records.findings.request import ForecastRequest
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_car
from bodyshop.rules.rulebook import read_rulebook, remedy

BOOK = """
format = 1
name = "Ounce Lane"
units = "in"

[reading]
resolution = "1/64 in"
mass_resolution = "0.05 oz"

[[rule]]
clause = "M1"
section = "Mass"
measure = "car.mass"
min = "6 oz"
max = "9 oz"
fails = "disqualify"
reason = "Cars from {min} to {max} are fair to each other."
"""


def test_masses_are_told_in_ounces(tmp_path: Path) -> None:
    file = tmp_path / "ounce-lane.toml"
    file.write_text(BOOK, encoding="utf-8")
    checked = check_car(open_car(samples_folder() / "dipper.toml", str(file)))
    (verdict,) = checked.judgement.verdicts
    text = " ".join(terminal_report(checked, width=100).split())
    assert "the rule says 6 to 9 oz" in text
    assert "Cars from 6 oz to 9 oz are fair" in text
    assert verdict.value is not None
    assert verdict.read is not None
    told = re.search(r"Measured ([0-9.]+) oz \(between ([0-9.]+) oz and ([0-9.]+) oz\)", text)
    assert told is not None
    ounce = 28.349523125
    assert abs(float(told[1]) - verdict.value / ounce) <= 0.025 + 1e-9
    assert float(told[2]) < float(told[1]) < float(told[3])
    change = remedy(verdict, catalogue()["car.mass"], checked.opened.design)
    assert change is not None
    # All of the range has to be inside, or as much of it as both limits leave room for.
    short = 6 + min(2 * verdict.spread / ounce, 1.5) - verdict.value / ounce
    assert 0 <= change.amount / ounce - short <= 0.01 + 1e-9
    assert f"at least {round(change.amount / ounce, 2):g} oz" in text


def test_a_book_in_grams_stays_in_grams(tmp_path: Path) -> None:
    file = tmp_path / "gram-lane.toml"
    text = BOOK.replace('"6 oz"', "170").replace('"9 oz"', '"255 g"').replace('"0.05 oz"', '"0.1 g"')
    file.write_text(text, encoding="utf-8")
    book = read_rulebook(file)
    assert book.rules[0].mass_unit.symbol == "g"
    checked = check_car(open_car(samples_folder() / "dipper.toml", str(file)))
    report = " ".join(terminal_report(checked, width=100).split())
    assert "the rule says 170 to 255 g" in report
    assert " oz" not in report


GRAMS = re.compile(r"[0-9] ?g\b")


def in_ounces(folder: Path) -> Checked:
    file = folder / "ounce-lane.toml"
    file.write_text(BOOK, encoding="utf-8")
    return check_car(open_car(samples_folder() / "dipper.toml", str(file)))


def test_no_mass_is_told_in_grams_by_a_book_in_ounces(tmp_path: Path) -> None:
    checked = in_ounces(tmp_path)
    content = content_of(checked, dt.date(2031, 5, 4))
    told = [
        terminal_report(checked, full=True),
        measure_table(checked),
        *content.mass_notes,
        *(line.measured for group in content.groups for line in group.lines),
        *(mass_sentence(bar) for bar in mass_bars(checked)),
        *(words for bar in mass_bars(checked) for _, words in bar.limits),
    ]
    assert not [text for text in told if GRAMS.search(text)]
    assert sum(" oz" in text for text in told) >= 5


def test_a_class_judged_in_ounces_is_weighed_in_ounces(tmp_path: Path) -> None:
    in_ounces(tmp_path)
    design = tmp_path / "dipper.toml"
    design.write_text((samples_folder() / "dipper.toml").read_text(encoding="utf-8"), encoding="utf-8")
    row, _ = Checker(CheckOptions(rulebook=str(tmp_path / "ounce-lane.toml"))).row(
        ClassFile(str(design), "dipper.toml")
    )
    assert isinstance(row, CarRow)
    told = re.fullmatch(r"([0-9.]+) oz \(([0-9.]+) to ([0-9.]+)\)", mass_words(row))
    assert told is not None
    assert abs(float(told[1]) * 28.349523125 - row.mass_g) <= 0.005 * 28.349523125 + 1e-9


def words_of(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u00a0", " ").split())


def test_a_forecast_by_a_book_in_ounces_weighs_in_ounces(tmp_path: Path) -> None:
    checked = in_ounces(tmp_path)
    forecast = make_forecast(checked, ForecastRequest(samples=64))
    shelf = RulebookCache(str(tmp_path / "ounce-lane.toml"), "")
    advice = advise(forecast, shelf, (), ("balsa",))
    (own,) = (each for each in advice.woods if each.own)
    told = re.findall(r"([0-9.]+)\W?oz \(([0-9.]+) to ([0-9.]+)\)", change_page(advice, width=100))
    assert len(told) == len(advice.woods) == 2
    assert any(abs(float(value) - own.mass.value / 28.349523125) < 0.06 for value, _, _ in told)
    paper = words_of(change_pdf(advice, sheet_sizes()["letter"]))
    assert len(re.findall(r"[0-9.]+\W?oz \(", paper)) == 2
    figures = predict_page(forecast, width=100)
    section = figures[figures.index("What the prediction uses") :]
    assert re.search(r"mass of the car +[0-9.]+\W?oz \(", section)
    assert not re.search(r"[0-9]\W?g \(", figures + paper)


def test_the_build_sheet_and_the_form_ask_for_ounces(tmp_path: Path) -> None:
    checked = in_ounces(tmp_path)
    sheet = words_of(build_sheet_pdf(checked, sheet_sizes()["letter"]))
    assert "measured, oz" in sheet
    assert "difference, oz" in sheet
    assert re.search(r"complete without cartridge [0-9.]+ oz [0-9.]+ oz to [0-9.]+ oz", sheet)
    form = words_of(inspection_pdf(checked.opened.rulebook, sheet_sizes()["letter"], checked=checked))
    assert "mass, oz" in form
    assert "mass, g" not in form


def test_stock_is_listed_in_the_unit_of_the_book(tmp_path: Path, capsys) -> None:
    in_ounces(tmp_path)
    main(["stock", "wheels", "glues", "--rulebook", str(tmp_path / "ounce-lane.toml")])
    ounces = " ".join(capsys.readouterr().out.split())
    main(["stock", "wheels", "glues"])
    grams = " ".join(capsys.readouterr().out.split())
    assert not GRAMS.search(ounces)
    told = [float(each) for each in re.findall(r"([0-9.]+) oz", ounces)]
    plain = [float(each) for each in re.findall(r"([0-9.]+) g\b", grams)]
    assert len(told) == len(plain) > 2
    assert all(
        abs(a * 28.349523125 - b) <= 0.0005 * 28.349523125 + 1e-9 for a, b in zip(told, plain, strict=True)
    )
