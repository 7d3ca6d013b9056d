"""Designs that break one rule or a few, and what must hold after any change that is proposed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from pathlib import Path

from bodyshop.car.assembly import Car
from bodyshop.car.body import body_faults
from bodyshop.car.design import read_design
from bodyshop.car.measures import take_all
from bodyshop.foundation.toml import KeyPath, parse_source
from bodyshop.rules.checking import LoadedCar, open_car
from bodyshop.rules.remedies import Edit, Fix, Plan
from bodyshop.rules.remedies.plan import edited
from bodyshop.rules.rulebook import Judgement, Outcome, Rulebook, judge

__all__ = [
    "DESIGNS",
    "KIT",
    "assert_only_numbers_differ",
    "assert_sound",
    "changed",
    "judged",
    "last_edits",
    "marked",
    "opened_with",
    "rule",
    "text_after",
    "value_at",
]

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples"
# Copies of the samples as they were once: what is expected here hangs on their very figures.
DESIGNS = Path(__file__).resolve().parent / "designs"
MET = (Outcome.PASS, Outcome.NEAR)

KIT = """format = 1
name = "Test"
units = "mm"

[reading]
resolution = "0.1 mm"
near = 0

[kit]
blank = "larkfield-block"
wood = "basswood"
axle = "axle-3"
bearing = "straw-4"
front_wheel = "wheel-front-32"
rear_wheel = "wheel-rear-34"
washer = "washer-3"
screw_eye = "screw-eye-small"

"""


def rule(clause: str, measure: str, limits: str, fails: str = "disqualify") -> str:
    """One rule as TOML."""
    return (
        f'[[rule]]\nclause = "{clause}"\nmeasure = "{measure}"\n{limits}\n'
        f'fails = "{fails}"\nreason = "Because."\n\n'
    )


def changed(folder: Path, name: str, *changes: tuple[str, str]) -> Path:
    """A copy of a design with pieces of its text replaced, each of which stands there once."""
    text = (DESIGNS / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {name}"
        text = text.replace(old, new)
    path = folder / f"{name}.toml"
    path.write_bytes(text.encode("utf-8"))
    return path


def opened_with(folder: Path, design: Path, rules: str, kit: str = KIT) -> LoadedCar:
    """A design with a rulebook of its own."""
    book = folder / "book.toml"
    book.write_text(kit + rules, encoding="utf-8")
    return open_car(design, str(book))


def judged(text: str, book: Rulebook) -> Judgement:
    """The verdicts on a design's text, by every step from the text on; it must be a car that can be made."""
    design = read_design(parse_source(text, "again.toml"), book.kit)
    car = Car(design)
    assert not body_faults(car.body)
    return judge(book, take_all(car))


def text_after(opened: LoadedCar, fix: Fix) -> str:
    """The design's text with one fix made."""
    return edited(opened.source, fix.edits).whole


def value_at(text: str, path: KeyPath) -> object:
    """One value of a text, by the standard reader."""
    value: object = tomllib.loads(text.removeprefix("\ufeff"))
    for part in path:
        assert isinstance(value, dict | list)
        value = value[part]  # type: ignore[index]
    return value


def assert_sound(opened: LoadedCar, text: str, mended: Iterable[str]) -> None:
    """By the text alone: these rules pass, and no rule is broken that was not before."""
    before = {verdict.rule.clause: verdict.outcome for verdict in judged_before(opened).verdicts}
    for verdict in judged(text, opened.rulebook).verdicts:
        was = before[verdict.rule.clause]
        if verdict.rule.clause in mended:
            assert verdict.outcome in MET, (verdict.rule.clause, verdict.value)
        elif was not in (Outcome.FAIL, Outcome.CANNOT_JUDGE):
            assert verdict.outcome not in (Outcome.FAIL, Outcome.CANNOT_JUDGE), verdict.rule.clause


def judged_before(opened: LoadedCar) -> Judgement:
    """The verdicts on a design as it was read."""
    return judge(opened.rulebook, take_all(opened.car))


def marked(text: str, edits: Iterable[Edit], *, new: bool) -> str:
    """The text with a # instead of each edited number, which is found by the line and column told for it."""
    lines = text.splitlines(keepends=True)
    shifts: dict[int, int] = {}
    for edit in sorted(edits, key=lambda each: (each.span.line, each.span.column)):
        number = edit.span.line - 1
        line = lines[number]
        start = edit.span.column - 1 + shifts.get(number, 0)
        old = edit.span.end_column - edit.span.column
        length = old
        if new:
            quoted = line[start] in "'\""
            length = line.index(line[start], start + 1) + 1 - start if quoted else len(edit.new_text)
        lines[number] = line[:start] + "#" + line[start + length :]
        shifts[number] = shifts.get(number, 0) + 1 - old
    return "".join(lines)


def last_edits(plan: Plan) -> list[Edit]:
    """Each edited place once, with what is written there in the end."""
    return list({edit.path: edit for fix in plan.fixes for edit in fix.edits}.values())


def assert_only_numbers_differ(plan: Plan) -> None:
    """Character for character the text is the same outside the edited numbers."""
    edits = last_edits(plan)
    after = plan.text.removeprefix("\ufeff")
    assert marked(after, edits, new=True) == marked(plan.source.text, edits, new=False)
    for edit in edits:
        assert value_at(plan.text, edit.path) == edit.value
