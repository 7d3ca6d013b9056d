"""The JSON Schema for editors: legal, and in step with the loader.

Outside check: the `jsonschema` package validates, against draft 2020-12 of json-schema.org.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from bodyshop.car.design.fields import KeyKind, all_fields
from bodyshop.car.design.json_schema import design_schema
from bodyshop.car.design.schema import ROOT
from bodyshop.car.design.starters import starter_text, starters
from bodyshop.foundation.files.shipped import samples_folder

SAMPLES = sorted(samples_folder().glob("*.toml"))
VALIDATOR = jsonschema.Draft202012Validator(design_schema())


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 7


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(design_schema())


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda file: file.stem)
def test_samples_satisfy_it(sample: Path) -> None:
    VALIDATOR.validate(tomllib.loads(sample.read_text(encoding="utf-8")))


@pytest.mark.parametrize("kind", starters())
def test_starters_satisfy_it(kind: str) -> None:
    VALIDATOR.validate(tomllib.loads(starter_text(kind, "Plover")))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format = 1", "format = 2"),
        ("format = 1", ""),
        ('name = "Wren"', 'name = ""'),
        ('wood = "basswood"', 'wood = "basswod"'),
        ("depth = 52", "depth = true"),
        ("depth = 52", "depth = 0"),
        ("depth = 52", "deep = 52"),
        ("[0, 12]", "[0, 12, 3]"),
        ('axle = "front"\nbehind = 8', 'axle = "front"'),
        ('axle = "front"\nbehind = 8', 'axle = "front"\nbehind = 8\nx = 60'),
        ('axle = "front"', 'axle = "middle"'),
    ],
)
def test_it_refuses_what_the_loader_refuses(old: str, new: str) -> None:
    text = (samples_folder() / "wren.toml").read_text(encoding="utf-8")
    assert old in text
    spoilt = tomllib.loads(text.replace(old, new, 1))
    assert list(VALIDATOR.iter_errors(spoilt))


def test_every_field_says_what_it_is_for() -> None:
    for path, field in all_fields(ROOT):
        assert field.doc.endswith("."), path
        assert field.doc[0].isupper(), path
        if not field.required and field.kind is not KeyKind.TEXT and not _is_one_of_several(path):
            assert field.default, f"{'.'.join(path)} does not say what holds without it"


def _is_one_of_several(path: tuple[str, ...]) -> bool:
    """Keys without a value of their own when left out: another key stands in for them."""
    return path[0] in ("blank", "screw_eye") or "points" in path[:-1] or "window" in path[:-1]
