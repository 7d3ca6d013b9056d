"""What holds of several broken rules at once stands in every report on one car, in the same words."""

from __future__ import annotations

import datetime as dt
import html
import io
import json
import re
from pathlib import Path

import pypdf
import pytest

from bodyshop.app.cli import main
from bodyshop.drawing.sheet.lettering import NO_BREAK_SPACE, showable
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.output.bundle import report_files
from bodyshop.output.html.annotated_report import teaching_html
from bodyshop.output.json.check import check_data, checked_data
from bodyshop.output.papers.annotated_report import teaching_pdf
from bodyshop.output.words.hints import Hints, hint_blocks, hints_of
from bodyshop.rules.checking import Checked, check_car, open_car
from tests.documents import valid

ON = dt.date(2031, 5, 4)


@pytest.fixture(scope="module")
def lapwing() -> Checked:
    return check_car(open_car(samples_folder() / "lapwing.toml"))


@pytest.fixture(scope="module")
def hints(lapwing: Checked) -> Hints:
    found = hints_of(lapwing)
    assert found.together
    assert found.best
    return found


def sentences(hints: Hints) -> list[str]:
    return [words for block in hint_blocks(hints) for words in (block.heading, *block.sentences)]


def bare(text: str) -> str:
    return re.sub(r"\s+", "", showable(text).replace(NO_BREAK_SPACE, ""))


def test_the_page_and_the_paper_tell_them(lapwing: Checked, hints: Hints) -> None:
    page = bare(html.unescape(re.sub(r"<[^>]+>", "", teaching_html(lapwing, ON, hints))))
    pages = pypdf.PdfReader(io.BytesIO(teaching_pdf(lapwing, ON, hints=hints))).pages
    paper = bare("".join(each.extract_text() for each in pages))
    for told in (page, paper):
        assert [words for words in sentences(hints) if bare(words) not in told] == []
        assert bare("This works against C4, C6: see below for the order to follow.") in told
        assert "Raisethebore" not in told
    without = bare(re.sub(r"<[^>]+>", "", teaching_html(lapwing, ON)))
    assert "Together:" not in without


def test_the_text_and_the_json_beside_the_papers_tell_them(lapwing: Checked, hints: Hints) -> None:
    files = report_files(lapwing, 1, hints)
    text = bare(files["lapwing-report.txt"].decode())
    assert [words for words in sentences(hints) if bare(words) not in text] == []
    (told,) = json.loads(files["lapwing-report.json"])["designs"]
    assert [each["clauses"] for each in told["hints"]["together"]] == [
        list(e.clauses) for e in hints.together
    ]
    assert told["hints"]["best"]["mends"] == list(hints.mends)
    assert len(told["hints"]["best"]["mends"]) > 1


@pytest.mark.parametrize("looked", [True, False])
def test_the_json_keeps_to_its_schema(lapwing: Checked, hints: Hints, looked: bool) -> None:
    document = valid(check_data([checked_data(lapwing, hints if looked else None)], 1))
    assert (document["designs"][0]["hints"] is not None) == looked


def test_only_a_car_that_fails_has_the_search_run(monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    from bodyshop.output.words import hints as hinting

    asked: list[Checked] = []

    def counted(checked: Checked) -> Hints:
        asked.append(checked)
        return Hints(best="this", mends=("A", "B"))

    monkeypatch.setattr(hinting, "hints_of", counted)
    folder: Path = samples_folder()
    main(["check", str(folder / "wren.toml"), "--json"])
    assert json.loads(capsys.readouterr().out)["designs"][0]["hints"] == {"together": [], "best": None}
    assert asked == []
    main(["check", str(folder / "lapwing.toml"), "--json"])
    assert json.loads(capsys.readouterr().out)["designs"][0]["hints"]["best"]["mends"] == ["A", "B"]
    assert len(asked) == 1
    main(["check", str(folder / "lapwing.toml"), str(folder / "wren.toml"), "--json"])
    assert [each["hints"] for each in json.loads(capsys.readouterr().out)["designs"]] == [None, None]
    assert len(asked) == 1
