"""From readings to verdicts: a pure function, without files, words or chance.

A mass or a balance is an estimate. It is taken to lie within two standard deviations of its reading, and
a rule on it has three answers: it passes when all of that range is inside, fails when all of it is outside,
and is too close to tell when the range crosses a limit, whichever side the reading itself is on. In that
third case the verdict says how likely the rule is to be broken; where the reading itself is outside, the car
probably breaks it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bodyshop.car.measures.catalogue import NotKnown, Reading
from bodyshop.foundation.place import Place
from bodyshop.rules.rulebook.certainty import SAME, LimitSide, chance_outside, placed, read_off, windows
from bodyshop.rules.rulebook.consequences import cost_of
from bodyshop.rules.rulebook.model import (
    SIDES_OF_A_WHEEL,
    BreachEffects,
    CheckedBy,
    CountedAs,
    Doubt,
    Limits,
    Rule,
    Rulebook,
    Times,
)

__all__ = [
    "INTERVAL_SD",
    "RANK",
    "CarResult",
    "Judgement",
    "Outcome",
    "LimitSide",
    "Verdict",
    "conclude",
    "judge",
    "read_off",
]

INTERVAL_SD: Final = 2.0
"""Half width of an estimate's interval in standard deviations: about 95 % of a normal spread."""

_HAIR: Final = 1e-9


class Outcome(Enum):
    """What a rule says of a car."""

    PASS = "pass"  # noqa: S105 - not a password
    NEAR = "near"
    """Inside, but by less than the rule's near margin."""
    TOO_CLOSE = "too close to tell"
    """The range in which the value lies crosses a limit: an estimate, or a reading within its
    instrument's step."""
    FAIL = "fail"
    ADVICE = "advice"
    """Outside a limit that is only advised."""
    CANNOT_JUDGE = "cannot judge"
    BY_GAUGE = "by gauge"
    BY_EYE = "by eye"


class CarResult(Enum):
    """What all verdicts come to, as far as the program can judge. Items for an inspector stay open."""

    LEGAL = "legal"
    POINTS_OFF = "legal with points off"
    NEEDS_INSPECTOR = "needs an inspector"
    """A rule with a consequence could not be judged."""
    PROBABLY_BROKEN = "probably breaks a rule"
    """An estimate lies outside a rule with a consequence, but not with its whole range."""
    NOT_LEGAL = "not legal"


@dataclass(frozen=True, slots=True)
class Verdict:
    """One rule's word on a car. Quantities are in the unit of the rule's kind: mm, g, rad, a count.

    `value` is as measured, `read` as read to the resolution. `margin` is the distance of `read` to the
    nearest limit: above zero inside, zero on it, below zero outside; `over` is how far outside.
    `limit` is that nearest limit and `side` the side it lies on. `doubt` says that the range of an
    estimate, or of what an instrument can tell, crosses the limit; `chance` is how likely an estimate then
    is to break the rule, 0 to 1, and None for all else. `why_not` tells why it could not be judged, or with
    a pass that has no value, that the car does without the thing to be measured.

    `points` are taken and `ballast_g` is to be added, for `times` things that the value stands for (the two
    wheels of an axle). Of a rule over several measures this is the word on the worst of them, with what all
    of them cost; `rule.measure` names it, and `parts` holds the word on each. `decided` says how a reading
    was decided that its instrument cannot tell from the limit.
    """

    rule: Rule
    outcome: Outcome
    value: float | None = None
    read: float | None = None
    spread: float = 0.0
    margin: float | None = None
    limit: float | None = None
    side: LimitSide | None = None
    doubt: bool = False
    chance: float | None = None
    points: float = 0.0
    place: Place | None = None
    why_not: str = ""
    ballast_g: float = 0.0
    times: int = 1
    parts: tuple[Verdict, ...] = ()
    decided: Doubt | None = None

    @property
    def over(self) -> float:
        """How far `read` is outside; zero when it is inside or unknown."""
        return max(0.0, -self.margin) if self.margin is not None else 0.0

    @property
    def interval(self) -> tuple[float, float] | None:
        """Where an estimate is taken to lie; both ends are the value when it is no estimate."""
        if self.value is None:
            return None
        half = INTERVAL_SD * self.spread
        return (self.value - half, self.value + half)

    @property
    def probably_broken(self) -> bool:
        """Whether an estimate itself is outside, though not with its whole range. Advice breaks nothing."""
        return (
            self.outcome is Outcome.TOO_CLOSE
            and self.chance is not None
            and self.over > 0.0
            and self.rule.fails is not BreachEffects.ADVICE
        )

    @property
    def rank(self) -> int:
        """Place in the order worst first."""
        return RANK[self.outcome, self.rule.fails if self.outcome is Outcome.FAIL else None]


_WORST_FIRST: Final[tuple[tuple[Outcome, BreachEffects | None], ...]] = (
    (Outcome.FAIL, BreachEffects.DISQUALIFY),
    (Outcome.FAIL, BreachEffects.SHOW_ONLY),
    (Outcome.FAIL, BreachEffects.BALLAST),
    (Outcome.FAIL, BreachEffects.POINTS_PER_UNIT),
    (Outcome.FAIL, BreachEffects.POINTS_ONCE),
    (Outcome.FAIL, BreachEffects.NO_AWARD),
    (Outcome.TOO_CLOSE, None),
    (Outcome.CANNOT_JUDGE, None),
    (Outcome.NEAR, None),
    (Outcome.ADVICE, None),
    (Outcome.BY_GAUGE, None),
    (Outcome.BY_EYE, None),
    (Outcome.PASS, None),
)
RANK: Final[Mapping[tuple[Outcome, BreachEffects | None], int]] = {
    key: i for i, key in enumerate(_WORST_FIRST)
}
"""The order in which verdicts are told: outcome, and for a failure its consequence."""

_NOT_LEGAL: Final = frozenset((BreachEffects.DISQUALIFY, BreachEffects.SHOW_ONLY, BreachEffects.BALLAST))


@dataclass(frozen=True, slots=True)
class Judgement:
    """All verdicts on a car, worst first (like ones in the order of the book), and what they come to.

    `points_off` are the points taken; `score` what is left of the book's full score, where it has one;
    `ballast_g` the mass to add where a rule about least mass allows ballast; `show_only` says that a
    car which is not legal may still be shown.
    """

    rulebook: Rulebook
    verdicts: tuple[Verdict, ...]
    result: CarResult
    points_off: float
    score: float | None
    ballast_g: float
    show_only: bool

    @property
    def passes(self) -> bool:
        """Whether no rule is broken, or probably broken, advice aside."""
        return not (self.failed or self.probably_broken)

    @property
    def failed(self) -> tuple[Verdict, ...]:
        """The rules broken, worst first."""
        return self.having(Outcome.FAIL)

    @property
    def barred(self) -> tuple[str, ...]:
        """The awards that are barred to the car; empty text for an award without a name."""
        lost = [
            verdict.rule.award
            for verdict in self.failed
            if BreachEffects.NO_AWARD in verdict.rule.consequences
        ]
        return tuple(dict.fromkeys(lost))

    @property
    def probably_broken(self) -> tuple[Verdict, ...]:
        """The rules that an estimate itself breaks, though not with its whole range."""
        return tuple(verdict for verdict in self.verdicts if verdict.probably_broken)

    @property
    def too_close(self) -> tuple[Verdict, ...]:
        """The rules with a consequence that are too close to tell."""
        close = self.having(Outcome.TOO_CLOSE)
        return tuple(verdict for verdict in close if verdict.rule.fails is not BreachEffects.ADVICE)

    @property
    def to_mend(self) -> tuple[Verdict, ...]:
        """What has to change: the rules broken and those probably broken, worst first."""
        return (*self.failed, *self.probably_broken)

    @property
    def to_inspect(self) -> tuple[Verdict, ...]:
        """What an inspector checks on the finished car, in the order of the book."""
        return tuple(verdict for verdict in self.in_order if verdict.rule.by_inspector)

    @property
    def in_order(self) -> tuple[Verdict, ...]:
        """The verdicts in the order of the book."""
        place = {rule.clause: number for number, rule in enumerate(self.rulebook.rules)}
        return tuple(sorted(self.verdicts, key=lambda verdict: place[verdict.rule.clause]))

    def having(self, *outcomes: Outcome) -> tuple[Verdict, ...]:
        """The verdicts with one of these outcomes, worst first."""
        return tuple(verdict for verdict in self.verdicts if verdict.outcome in outcomes)


def judge(
    rulebook: Rulebook,
    readings: Mapping[str, Reading | NotKnown],
    steps: Mapping[str, float] | None = None,
) -> Judgement:
    """Judge a car by its readings, which hold at least `rulebook.measures`.

    A finished car's readings come with the `steps` of their instruments: a value within one step of a limit,
    on either side or on the limit itself, is decided as the rule's `doubt` says, a guard band (JCGM 106:2012,
    8.3) that is one step wide. The wheels of an axle may be read one by one, as `front_wheel.diameter.left`
    and `.right`.

    Raises `ValueError` for a reading that is not finite: that is a fault in a measure.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import check_car, open_car
    >>> checked = check_car(open_car(samples_folder() / "kestrel.toml"))
    >>> verdicts = judge(checked.opened.rulebook, checked.readings).verdicts
    >>> {verdict.outcome.value for verdict in verdicts if verdict.rule.measure == "bore.wall_top"}
    {'pass'}
    """
    return conclude(rulebook, [_verdict(rule, readings, steps or {}) for rule in rulebook.rules])


def conclude(rulebook: Rulebook, verdicts: Sequence[Verdict]) -> Judgement:
    """What verdicts on all rules of a book come to, wherever they are from."""
    points = math.fsum(verdict.points for verdict in verdicts)
    score = None if rulebook.score is None else rulebook.score.full - points
    broken = [verdict.rule.fails for verdict in verdicts if verdict.outcome is Outcome.FAIL]
    grave = [fails for fails in broken if fails in _NOT_LEGAL]
    below = rulebook.score is not None and score is not None and score < rulebook.score.least
    lost = [verdict for verdict in verdicts if verdict.outcome is Outcome.FAIL]
    # One weight lifts a car to every least mass; what is added for each unit comes on top of it.
    up_to_limit = [verdict.ballast_g for verdict in lost if not verdict.rule.ballast]
    by_unit = [verdict.ballast_g for verdict in lost if verdict.rule.ballast]
    if grave or below:
        result = CarResult.NOT_LEGAL
    elif any(verdict.probably_broken for verdict in verdicts):
        result = CarResult.PROBABLY_BROKEN
    elif any(
        v.outcome is Outcome.CANNOT_JUDGE and v.rule.fails is not BreachEffects.ADVICE for v in verdicts
    ):
        result = CarResult.NEEDS_INSPECTOR
    else:
        result = CarResult.POINTS_OFF if points > 0.0 else CarResult.LEGAL
    return Judgement(
        rulebook=rulebook,
        verdicts=tuple(sorted(verdicts, key=lambda verdict: verdict.rank)),
        result=result,
        points_off=points,
        score=score,
        ballast_g=max(up_to_limit, default=0.0) + math.fsum(by_unit),
        show_only=bool(grave) and all(fails is BreachEffects.SHOW_ONLY for fails in grave),
    )


def _verdict(rule: Rule, readings: Mapping[str, Reading | NotKnown], steps: Mapping[str, float]) -> Verdict:
    if not rule.measure or rule.limits is None:
        return Verdict(rule, Outcome.BY_GAUGE if rule.checked_by is CheckedBy.GAUGE else Outcome.BY_EYE)
    parts = [
        _part(_about(rule, measure), rule.limits, readings.get(name), steps.get(name, 0.0), times)
        for measure, name, times in _things(rule, readings)
    ]
    if len(parts) == 1:
        return _capped(parts[0])
    worst = min(parts, key=lambda part: (part.rank, math.inf if part.margin is None else part.margin))
    counted = parts if rule.together is CountedAs.EACH else [worst]
    return _capped(
        replace(
            worst,
            points=math.fsum(part.points for part in counted),
            ballast_g=math.fsum(part.ballast_g for part in counted),
            parts=tuple(parts),
        )
    )


def _things(rule: Rule, readings: Mapping[str, Reading | NotKnown]) -> Iterator[tuple[str, str, int]]:
    """What a rule is about: the measure, the name of its reading, and for how many things it stands."""
    for measure in rule.measures:
        wheels = [measure + side for side in SIDES_OF_A_WHEEL]
        if any(name in readings for name in wheels):
            yield from ((measure, name, 1) for name in wheels)
        else:
            yield measure, measure, 2 if rule.times is Times.WHEEL else 1


def _about(rule: Rule, measure: str) -> Rule:
    """The rule as it is for one of its measures."""
    return replace(rule, measure=measure, several=()) if rule.several else rule


def _capped(verdict: Verdict) -> Verdict:
    """No more points than the rule can take."""
    most = verdict.rule.most_points
    return replace(verdict, points=most) if verdict.points > most else verdict


def _part(rule: Rule, limits: Limits, reading: Reading | NotKnown | None, step: float, times: int) -> Verdict:
    """The word on one reading."""
    if reading is None:
        reading = NotKnown("it was not measured")
    if isinstance(reading, NotKnown):
        outcome = Outcome.PASS if reading.absent else Outcome.CANNOT_JUDGE
        return Verdict(rule, outcome, why_not=reading.reason, times=times)
    if not (math.isfinite(reading.value) and math.isfinite(reading.spread) and reading.spread >= 0.0):
        raise ValueError(f"{rule.measure} reads {reading.value} with spread {reading.spread}")
    reading = _past(reading, rule.past)
    read, margin, limit, side = placed(reading.value, limits, rule.resolution)
    doubt = _in_doubt(reading, limits, rule.resolution)
    verdict = Verdict(
        rule,
        Outcome.TOO_CLOSE if doubt else _outcome(rule, margin),
        value=reading.value,
        read=read,
        spread=reading.spread,
        margin=margin,
        limit=limit,
        side=side,
        doubt=doubt,
        chance=chance_outside(reading.value, reading.spread, limits, rule.resolution) if doubt else None,
        place=reading.place,
        times=times,
    )
    return _priced(_guarded(verdict, limits, step))


def _priced(verdict: Verdict) -> Verdict:
    """The verdict with what it costs."""
    if verdict.outcome is not Outcome.FAIL:
        return verdict
    points, ballast = cost_of(verdict.rule, verdict.over, verdict.times)
    return replace(verdict, points=points, ballast_g=ballast)


def _guarded(verdict: Verdict, limits: Limits, step: float) -> Verdict:
    """The verdict on a value that its instrument cannot tell from a limit, as the rule decides it."""
    value = verdict.value
    if step <= 0.0 or limits.is_point or value is None:
        return verdict
    ends = [end for end in (limits.low, limits.high) if end is not None]
    if all(abs(value - end) >= step - _HAIR for end in ends):
        return verdict
    decided = verdict.rule.doubt
    advised = verdict.rule.fails is BreachEffects.ADVICE
    if decided is Doubt.OPEN:
        return replace(verdict, outcome=Outcome.TOO_CLOSE, doubt=True)
    if decided is Doubt.FOR_THE_CAR:
        return replace(verdict, outcome=Outcome.PASS if advised else Outcome.NEAR, decided=decided)
    return replace(verdict, outcome=Outcome.ADVICE if advised else Outcome.FAIL, decided=decided)


def _past(reading: Reading, past: float) -> Reading:
    """The reading counted from a plane set off by `past`; its place keeps the ends that were measured."""
    if past == 0.0:
        return reading
    place = reading.place
    if place is not None:
        place = replace(place, label=f"{place.label}, {past:g} mm of it not counted")
    return replace(reading, value=reading.value - past, place=place)


def _outcome(rule: Rule, margin: float) -> Outcome:
    """What a value comes to that is wholly inside or wholly outside."""
    if rule.fails is BreachEffects.ADVICE:
        return Outcome.PASS if margin >= 0.0 else Outcome.ADVICE
    if margin < 0.0:
        return Outcome.FAIL
    is_point = rule.limits is not None and rule.limits.is_point
    return Outcome.NEAR if margin < rule.near and not is_point else Outcome.PASS


def _in_doubt(reading: Reading, limits: Limits, resolution: float) -> bool:
    """Whether the range of an estimate lies partly inside and partly outside."""
    if reading.spread == 0.0:
        return False
    half = INTERVAL_SD * reading.spread
    low, high = reading.value - half - SAME, reading.value + half + SAME
    inside = windows(limits, resolution)
    touches = any(low <= last and high >= first for first, last in inside)
    return touches and not any(first - 2 * SAME <= low and high <= last + 2 * SAME for first, last in inside)
