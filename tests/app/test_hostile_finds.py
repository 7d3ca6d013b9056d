"""What once made the program stumble, and a few hundred mutants more: words or a report, and nothing else.

Longer runs: `tests/benchmarks/fuzz.py`.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from tests.benchmarks.fuzz import Campaign
from tests.benchmarks.fuzzing.trying import Kind, crash_of, kinds

FINDS = Path(__file__).resolve().parents[1] / "hostile" / "finds"
FILES = sorted(file for file in FINDS.rglob("*") if file.is_file())
MUTANTS = 300


@pytest.fixture(scope="module")
def all_kinds(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Kind]:
    return {kind.name.replace(" ", "-"): kind for kind in kinds(tmp_path_factory.mktemp("mutants"))}


def test_there_are_finds_of_every_sort() -> None:
    assert {file.parent.name for file in FILES} >= {"design", "rulebook", "import-car", "values", "thrust"}


@pytest.mark.parametrize("deep", [False, True])
@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_no_find_makes_it_stumble_again(all_kinds: dict[str, Kind], file: Path, deep: bool) -> None:
    assert crash_of(all_kinds[file.parent.name], file.read_bytes(), deep=deep) is None


def test_a_few_hundred_mutants_make_nothing_stumble(all_kinds: dict[str, Kind]) -> None:
    campaign = Campaign(tuple(all_kinds.values()), seed=20)
    found = [campaign.step() for _ in range(MUTANTS)]
    assert [each for each in found if each is not None] == []
    assert set(campaign.tried) == {kind.name for kind in all_kinds.values()}


def test_the_same_number_is_the_same_mutant(all_kinds: dict[str, Kind]) -> None:
    one, other = (Campaign(tuple(all_kinds.values()), seed=3) for _ in range(2))
    other.next = 40
    for number in range(40, 60):
        assert one.mutant(number) == other.mutant(number)
    assert len({one.mutant(number) for number in range(100)}) > 90


def raising(error: BaseException) -> object:
    def attempt(_: bytes, __: bool) -> None:
        raise error

    return attempt


def test_what_counts_as_a_crash(all_kinds: dict[str, Kind]) -> None:
    design = all_kinds["design"]

    def warned(_: bytes, __: bool) -> None:
        warnings.warn("divide by zero", RuntimeWarning, stacklevel=1)

    for attempt, name in (
        (raising(ZeroDivisionError("x")), "ZeroDivisionError"),
        (raising(RecursionError("x")), "RecursionError"),
        (warned, "RuntimeWarning"),
    ):
        crash = crash_of(replace(design, attempt=attempt), b"", deep=True)  # type: ignore[arg-type]
        assert crash is not None
        assert crash.error == name
    refused = replace(design, attempt=raising(ProblemsError([])))  # type: ignore[arg-type]
    assert crash_of(refused, b"", deep=True) is None


@pytest.mark.parametrize("word", ["nan", "inf mm", "-inf", "(NaN g)"])
def test_a_number_that_is_none_counts_unless_it_was_in_the_input(word: str) -> None:
    from tests.benchmarks.fuzzing.trying import OddOutputError, _no_odd_words

    with pytest.raises(OddOutputError):
        _no_odd_words(f"the body is {word} long", b"name = 1")
    _no_odd_words(f"the body is {word} long", f"name = {word}".encode())
    _no_odd_words("the information on nanometres of infill", b"")
