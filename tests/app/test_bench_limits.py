"""The lines that a part can be brought to: on them a rule is just kept, a little beyond it is broken."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from bodyshop.app.bench.drawing import Snap, drag, limit_lines
from bodyshop.car.editing.numbers import Numbers
from bodyshop.car.measures import Reading
from bodyshop.foundation.toml.splice import spliced_source
from bodyshop.rules.checking import Checked
from tests.app.drawn import handles, judged, sample, source_of


def lines(checked: Checked, handle: str) -> list[dict[str, Any]]:
    return [dict(line) for line in limit_lines(checked, handle)]  # type: ignore[arg-type]


def reading(checked: Checked, clause: str) -> float:
    """What the measure of a clause comes to."""
    rule = next(v.rule for v in checked.judgement.verdicts if v.rule.clause == clause)
    found = checked.readings[rule.measure]
    assert isinstance(found, Reading)
    return found.value


def test_the_bores_height_has_a_line_for_each_rule_about_it() -> None:
    kestrel = sample("kestrel")
    found = {(line["clause"], line["value"]): line for line in lines(kestrel, "bore.height")}
    assert {("C4", 31.0), ("C4", 37.0), ("C7", 3.0), ("C13", 3.0)} <= set(found)
    for line in found.values():
        assert (line["view"], line["axis"]) == ("side", 1)
    # Over the track: the track is 9 mm under the underside at the tail, so 37 mm over it is 28 mm up.
    assert found["C4", 37.0]["at"] == pytest.approx(28.0, abs=0.02)


@pytest.mark.parametrize(
    ("handle", "path"),
    [("bore.height", "bore.height"), ("bore.depth", "bore.depth"), ("axles.rear", "axles.rear.height")],
)
def test_on_a_line_its_rule_is_just_kept_and_a_tenth_beyond_it_is_not(handle: str, path: str) -> None:
    kestrel = sample("kestrel")
    held = handles(kestrel)[handle]
    for line in lines(kestrel, handle)[:4]:
        to = list(held.at)
        to[line["axis"]] = line["at"]
        result = drag(source_of(kestrel), kestrel, handle, (to[0], to[1]), Snap(exact=(True, True)))
        assert result.text is not None, result.refusal
        there = judged(result.text)
        assert reading(there, line["clause"]) == pytest.approx(line["value"], abs=0.05)
        broken = {v.rule.clause for v in there.judgement.verdicts if v.over > 0}
        assert line["clause"] not in broken
        # Further the same way.
        key = tuple(path.split("."))
        now, before = Numbers(source_of(there)).mm(key), Numbers(source_of(kestrel)).mm(key)
        assert now is not None
        assert before is not None
        step = Fraction(15, 100) if now > before else -Fraction(15, 100)
        beyond = judged(
            spliced_source(source_of(there), {key: f"{float(Fraction(repr(now)) + step):.2f}"}).whole
        )
        assert line["clause"] in {v.rule.clause for v in beyond.judgement.verdicts if v.over > 0}


def test_in_inches_the_lines_lie_on_marks_of_the_tape() -> None:
    dipper = sample("dipper")
    for line in lines(dipper, "bore.height"):
        assert (line["at"] / 25.4 * 64) % 1 == pytest.approx(0, abs=0.01) or (
            line["at"] / 25.4 * 64
        ) % 1 == pytest.approx(1, abs=0.01)


def test_what_cannot_be_moved_has_no_lines() -> None:
    assert lines(sample("plover"), "bore.height") == []
    assert lines(sample("kestrel"), "no such thing") == []
