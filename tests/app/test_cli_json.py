"""Every command that has `--json`: one head, read strictly by its record and by the schema made from it."""

from __future__ import annotations

import contextlib
import copy
import importlib
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest

from bodyshop import __version__
from bodyshop.app.cli import main
from bodyshop.output.json.document import FORMATS, Document, document_of, json_text, schema_of
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import FrozenPrediction, TrackRun
from tests.app.running import run_here
from tests.documents import valid
from tests.records.books import measure, new_book

COMMANDS = {
    "check": "check lapwing",
    "measure": "measure kestrel",
    "class": "class samples",
    "race-freeze": "race freeze",
    "inspect": "inspect Kestrel B1=306.2@0.1 I1=yes",
    "trial-add": "trial add mass Kestrel 121.4g complete",
    "trial-book": "trial list",
    "trial-check": "trial check",
    "trial-list": "trial list drag",
    "trial-show": "trial show Kestrel",
    "trial-meaning": "trial meaning Kestrel",
    "race-predict": "race predict kestrel",
    "race-change": "race change kestrel --wood balsa --set edges.round=4",
    "race-drag": "race drag heron",
    "race-compare": "race compare",
    "race-fit": "race fit --dry",
    "raceday": "raceday standings",
}
"""A command for each format; what is frozen is raced before the next one."""


def printed(words: str) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        main([*words.split(), "--json"])
    return out.getvalue()


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, dict[str, Any]]]:
    """What each of the commands printed, by its format; `valid` has read all of it."""
    folder = tmp_path_factory.mktemp("json")
    with new_book(folder) as book:
        measure(book, "Kestrel")
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for name, words in COMMANDS.items():
            found[name] = valid(printed(words))
            if name == "race-drag":
                for step in ("enter", "draw --rounds 1 --seed 7", "allow --because seen"):
                    main(["raceday", *step.split()])
            if name == "race-freeze":
                with Book.open(folder / "class.trials") as book:
                    for entry in book.records(FrozenPrediction):
                        time = entry.record.time_s + 0.02
                        book.add(TrackRun(entry.record.car, 20_000.0, time_s=time), at=entry.at)
        yield found


def test_every_document_begins_with_the_same_head(documents: dict[str, dict[str, Any]]) -> None:
    assert set(documents) == set(FORMATS)
    for name, document in documents.items():
        assert list(document)[:3] == ["format", "program", "version"]
        assert document["format"] == name
        assert (document["program"], document["version"]) == (f"bodyshop {__version__}", 1)


def test_every_format_is_declared_once() -> None:
    for module in FORMATS.values():
        importlib.import_module(f"bodyshop.output.json.{module}")
    declared = [str(kind.__struct_config__.tag) for kind in Document.__subclasses__()]
    assert sorted(declared) == sorted(FORMATS)


FILLED = (
    *("check.designs", "measure.measures", "class.cars", "class.rules_broken", "inspect.rows"),
    *("trial-book.cars", "trial-list.entries", "trial-show.repeats", "trial-meaning.findings"),
    *("race-change.levers", "race-change.what_if", "race-change.woods", "race-drag.parts"),
    *("race-freeze.predictions", "race-compare.cars", "race-compare.summary", "race-fit.times"),
    *("raceday.heats", "raceday.admissions", "raceday.standings", "raceday.decisions"),
)


@pytest.mark.parametrize("place", FILLED)
def test_what_is_read_is_not_empty(documents: dict[str, dict[str, Any]], place: str) -> None:
    name, key = place.split(".")
    assert documents[name][key]


def objects(value: Any) -> Iterator[dict[str, Any]]:
    """A document and every object in it, but for tables whose keys are names."""
    if isinstance(value, dict):
        yield value
        for key, each in value.items():
            if key not in ("values", "counts", "records"):
                yield from objects(each)
    elif isinstance(value, list):
        for each in value[:1]:
            yield from objects(each)


@pytest.mark.parametrize("name", FORMATS)
def test_a_key_too_many_or_too_few_is_refused_wherever_it_is(
    documents: dict[str, dict[str, Any]], name: str
) -> None:
    kind = document_of(name)
    schema = jsonschema.Draft202012Validator(schema_of(kind))
    spoilt = copy.deepcopy(documents[name])
    for each in objects(spoilt):
        kept = dict(each)
        for key, value in kept.items():
            del each[key]
            assert not schema.is_valid(spoilt), (key, kept)
            if key != "format":  # which record it is has been said by whoever reads it as one
                with pytest.raises(msgspec.ValidationError):
                    msgspec.convert(spoilt, kind)
            each[key] = value
        each["extra"] = 1
        assert not schema.is_valid(spoilt), kept
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(spoilt, kind)
        del each["extra"]
    assert schema.is_valid(spoilt)


@pytest.mark.parametrize("name", ["format", "version"])
def test_another_head_is_refused(documents: dict[str, dict[str, Any]], name: str) -> None:
    for format_name, document in documents.items():
        other = {**document, name: {"format": "other", "version": 2}[name]}
        kind = document_of(format_name)
        assert not jsonschema.Draft202012Validator(schema_of(kind)).is_valid(other)
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(other, kind)


@pytest.mark.parametrize("name", FORMATS)
def test_the_schema_of_every_format_is_printed(capsys: pytest.CaptureFixture[str], name: str) -> None:
    ran = run_here(capsys, "schema", name)
    assert ran.code == 0
    schema = json.loads(ran.out)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema == schema_of(document_of(name))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert name in schema["title"]
    for made in (schema, *schema["$defs"].values()):
        assert made["description"]


def test_half_a_letter_in_a_name_is_made_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # A file name that is no UTF-8 reaches Python as half a letter (PEP 383); RFC 8259, 8.2 wants none.
    from bodyshop.foundation.problems import Problem
    from bodyshop.output.json.check import check_data, unread_data

    document = check_data([unread_data("\udcffé.toml", [Problem("odd", "😀")])], 2)
    text = json_text(document)
    assert "\\ufffd\\u00e9.toml" in text
    assert "\\ud83d\\ude00" in text
    assert valid(text)["designs"][0]["problems"][0]["message"] == "😀"
