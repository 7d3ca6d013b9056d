"""Each thing that lint looks for in a rulebook, one function each, and all of them in all its divisions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from bodyshop.car.measures.catalogue import Measure, QuantityKind
from bodyshop.foundation.problems import Problem, Severity, Span
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook.inheritance import InheritedBook, RawRule, lay
from bodyshop.rules.rulebook.lint.claims import (
    SLACK,
    Claim,
    DerivedBound,
    PossibleRange,
    Reach,
    Relation,
    SourcedClaim,
    carried,
    first_conflict,
    kit_relations,
    needed,
    possible,
    relations,
    stated_by_kit,
    stated_by_rules,
    stretch_relations,
    usual_side,
)
from bodyshop.rules.rulebook.load import read_layers, sift
from bodyshop.rules.rulebook.model import Rule, Rulebook, RulebookPlace
from bodyshop.rules.rulebook.table_reader import PlacedValue
from bodyshop.rules.rulebook.words import amount_text, limits_text

__all__ = [
    "LintResult",
    "conflicts",
    "lint_rulebook",
    "look_over",
    "never_fail",
    "reach_of",
    "said_twice",
    "wrong_side",
]


_MOST_CONFLICTS = 20


def reach_of(catalogue: Mapping[str, Measure]) -> Reach:
    """What each measure can be at all."""

    def reach(name: str) -> tuple[float, float]:
        measure = catalogue.get(name)
        return possible(name, QuantityKind.LENGTH if measure is None else measure.kind)

    return reach


# ---------------------------------------------------------------- limits that pull against each other


def conflicts(book: Rulebook, catalogue: Mapping[str, Measure]) -> Iterator[Problem]:
    """Limits that no car can keep together, and limits that no car from the kit can.

    A limit that the book itself states is told of sooner than one that it inherits, a later one sooner
    than an earlier one.
    """
    rules = sorted(stated_by_rules(book), key=lambda each: each.stands_in(book.source))
    told: set[str] = set()
    plain = (*relations(), *stretch_relations(book))
    for group in _clashes(rules, plain, reach_of(catalogue)):
        told.add(group[-1].claim.key)
        yield _conflict(group, plain, len(plain), catalogue, book.unit)
    sound = tuple(stated for stated in rules if stated.claim.key not in told)
    more = (*plain, *kit_relations(book))
    for group in _clashes((*stated_by_kit(book), *sound), more, reach_of(catalogue)):
        yield _conflict(group, more, len(plain), catalogue, book.unit)


def _clashes(
    stated: Sequence[SourcedClaim], related: Sequence[Relation], reach: Reach
) -> Iterator[tuple[SourcedClaim, ...]]:
    """Sets that clash, each with the rule it is told at last; that rule is then left out of the search."""
    left = list(stated)
    for _ in range(_MOST_CONFLICTS):
        clash = first_conflict([each.claim for each in left], related, reach)
        group = [each for each in left if each.claim in clash]
        if not group or all(each.rule is None for each in group):
            return
        blamed = _blamed(group, related, reach)
        yield (*(each for each in group if each is not blamed), blamed)
        left.remove(blamed)


def _blamed(group: Sequence[SourcedClaim], related: Sequence[Relation], reach: Reach) -> SourcedClaim:
    """The last rule whose limit the others plainly exceed; else the last one."""
    rules = [each for each in group if each.rule is not None]
    for each in reversed(rules):
        if _against(group, each, related, reach) is not None:
            return each
    return rules[-1]


def _against(
    group: Sequence[SourcedClaim], one: SourcedClaim, related: Sequence[Relation], reach: Reach
) -> tuple[bool, DerivedBound] | None:
    """Which end of `one` the others exceed (True: its lower), and where they put the measure."""
    found, empty = carried([each.claim for each in group if each is not one], related, reach)
    interval = found.get(one.claim.measure)
    if empty or interval is None:
        return None
    if interval.low.value > one.claim.high + SLACK:
        return False, interval.low
    if interval.high.value < one.claim.low - SLACK:
        return True, interval.high
    return None


def _conflict(
    group: Sequence[SourcedClaim],
    related: Sequence[Relation],
    plain: int,
    catalogue: Mapping[str, Measure],
    unit: LengthUnit,
) -> Problem:
    """What to tell of a clash. Of `related` the first `plain` hold for every car, the others for the kit."""
    *others, one = group
    names = _listed([each.words for each in others])
    found = _against(group, one, related, reach_of(catalogue))
    low, bound = found if found is not None else (False, DerivedBound(0.0))
    from_kit = any(each.rule is None for each in others) or any(n >= plain for n in bound.by)
    message = f"{'no car from the kit' if from_kit else 'no car'} can keep this"
    if names:
        message += f": with {names}"
    if found is not None:
        past = one.rule.past if one.rule is not None else 0.0
        amount = amount_text(round(bound.value - past, 9), one.kind, unit)
        message += "," if names else ":"
        message += f" {_subject(one, catalogue)} comes to {'at most' if low else 'at least'} {amount}"
    spot = one.spot(low=low)
    whys = [why for why in dict.fromkeys(related[number].why for number in sorted(bound.by)) if why]
    doubtful = from_kit or any(each.advised for each in group)
    return _at(
        spot,
        "lint-conflict",
        message,
        expected=f"room for {', and for '.join(whys[:2])}"
        if whys
        else "limits that leave room for each other",
        severity=Severity.WARNING if doubtful else Severity.ERROR,
        related=_asides(others, spot),
    )


def _subject(one: SourcedClaim, catalogue: Mapping[str, Measure]) -> str:
    """The thing that a claim bounds, as a noun."""
    own = one.rule is not None and not one.rule.several
    title = one.rule.title if one.rule is not None and own else catalogue[one.claim.measure].title
    return f"the number of {title}" if one.kind is QuantityKind.COUNT else title


# ---------------------------------------------------------------- rules that say nothing


def never_fail(book: Rulebook, catalogue: Mapping[str, Measure]) -> Iterator[Problem]:
    """Rules that no car can break, or none that has not been put out by others already.

    A clause that says the same as an earlier one is left to `said_twice`.
    """
    reach = reach_of(catalogue)
    related = (*relations(), *stretch_relations(book))
    twice = {rule.clause for rule, _ in _repeated(book)}
    # A rule over several measures may well be idle for one of them.
    rules = [
        each
        for each in stated_by_rules(book)
        if each.rule is not None and each.rule.clause not in twice and not each.rule.several
    ]
    hard = [each for each in rules if each.ends_it]
    for one in reversed(rules):
        spot = one.spot(low=one.rule is not None and "min" in one.rule.spots)
        low, high = reach(one.claim.measure)
        if one.claim.low <= low and high <= one.claim.high:
            asked = one.words.partition(" (")[2].removesuffix(")")
            within = "within " if " to " in asked else ""
            message = f"this can never fail: {_subject(one, catalogue)} is always {within}{asked}"
            yield _at(spot, "lint-never-fails", message, expected="a limit that a car can miss")
            hard = [each for each in hard if each is not one]
            continue
        given = [each.claim for each in hard if each is not one]
        implied = _implied(one, reach, related)
        if not implied(given):
            continue
        kept = needed(given, implied)
        others = [each for each in hard if each.claim in kept]
        names = _listed([each.words for each in others], "or")
        yield _at(
            spot,
            "lint-never-fails",
            f"this can never fail alone: a car that breaks it breaks {names} too"
            if names
            else "this can never fail: no car can break it",
            expected="a closer limit, or no rule here",
            related=_asides(others, spot),
        )
        hard = [each for each in hard if each is not one]


def _implied(
    one: SourcedClaim, reach: Reach, related: Sequence[Relation]
) -> Callable[[Sequence[Claim]], bool]:
    """Whether claims put the measure within the limits of `one` by themselves."""

    def within(claims: Sequence[Claim]) -> bool:
        found, empty = carried(claims, related, reach)
        interval: PossibleRange | None = found.get(one.claim.measure)
        if empty or interval is None:
            return False
        # A rule of single values asks for more than its outermost ones.
        single = one.rule is not None and one.rule.limits is not None and len(one.rule.limits.one_of) > 1
        inside = interval.low.value >= one.claim.low - SLACK and interval.high.value <= one.claim.high + SLACK
        return inside and not single

    return within


def said_twice(book: Rulebook) -> Iterator[Problem]:
    """Clauses that bound the same thing in the same way, under two labels."""
    for rule, first in _repeated(book):
        spot = rule.spots.get("measure") or rule.spots.get("item") or rule.spot
        says = limits_text(rule.limits, rule.kind, rule.shown_unit) or "the same words"
        yield _at(
            spot,
            "lint-said-twice",
            f"clause {first.clause} says this already: {says}",
            expected="one of the two clauses",
            related=first.spot.beside(f"clause {first.clause}", spot.source),
        )


def _repeated(book: Rulebook) -> Iterator[tuple[Rule, Rule]]:
    """Each rule that says what an earlier one says, and the first that does."""
    seen: dict[object, Rule] = {}
    for rule in book.rules:
        what = rule.measures or rule.item.casefold()
        costs = (rule.consequences, rule.points, rule.per, rule.ballast, rule.most_points, rule.award)
        first = seen.setdefault((what, rule.limits, rule.past, costs), rule)
        if first is not rule:
            yield rule, first


def wrong_side(book: Rulebook) -> Iterator[Problem]:
    """Limits on the side that is of no use: minima printed for maxima, or the other way round."""
    for measure in book.measures:
        rules = [rule for rule in book.rules if measure in rule.measures and rule.limits is not None]
        usual = usual_side(measure)
        lows = [rule for rule in rules if rule.limits is not None and rule.limits.low is not None]
        highs = [rule for rule in rules if rule.limits is not None and rule.limits.high is not None]
        if any(rule.limits is not None and rule.limits.one_of for rule in rules):
            continue
        if usual == "min" and highs and not lows:
            yield _wrong(highs[0], "max", "min", "too little of it is what does harm")
        elif usual == "max" and lows and not highs:
            yield _wrong(lows[0], "min", "max", "too much of it is what does harm")


def _wrong(rule: Rule, given: str, usual: str, why: str) -> Problem:
    return _at(
        rule.spots.get(given, rule.spot),
        "lint-wrong-side",
        f"{rule.title} has a {given} and no {usual}, but {why}",
        expected=f"{usual}; the sheet may have it printed the wrong way round",
        at_key=True,
    )


# ---------------------------------------------------------------- places


def _at(
    spot: RulebookPlace | None,
    code: str,
    message: str,
    *,
    expected: str,
    severity: Severity = Severity.WARNING,
    related: tuple[tuple[str, Span], ...] = (),
    at_key: bool = False,
) -> Problem:
    if spot is None:
        return Problem(code, message, expected=expected, severity=severity, related=related)
    return spot.source.problem(
        spot.path, code, message, expected=expected, severity=severity, related=related, at_key=at_key
    )


def _asides(others: Sequence[SourcedClaim], main: RulebookPlace | None) -> tuple[tuple[str, Span], ...]:
    """The places of the other clauses, as far as they are in the same file."""
    if main is None:
        return ()
    spots = [(each.words, each.rule.spot) for each in others if each.rule is not None]
    return tuple(aside for words, spot in spots for aside in spot.beside(words, main.source))


def _listed(names: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; of many the first four, of none nothing."""
    if len(names) > 5:
        names = [*names[:4], f"{len(names) - 4} more"]
    return listed(names, last)


@dataclass(frozen=True, slots=True)
class LintResult:
    """What is wrong or doubtful, in reading order, and the warnings that their clauses accept."""

    findings: tuple[Problem, ...]
    accepted: tuple[Problem, ...]


def lint_rulebook(path: Path | str, catalogue: Mapping[str, Measure] | None = None) -> tuple[Problem, ...]:
    """The findings of `look_over`."""
    return look_over(path, catalogue).findings


def look_over(path: Path | str, catalogue: Mapping[str, Measure] | None = None) -> LintResult:
    """Everything that is wrong or doubtful in a rulebook.

    Errors are what keeps it from being read or from being kept by any car; all else is a warning.
    `catalogue` holds the measures that rules can name: all there are, when it is left out. Raises
    `ProblemsError` when there is no reading the file at all.
    """
    if catalogue is None:
        from bodyshop.car.measures import catalogue as every_measure

        catalogue = every_measure()
    found: list[Problem] = []
    layers = lay(Path(path), found)
    for division in ("", *layers.divisions):
        # Rules that could not be read are told, and left out of what follows.
        book = read_layers(layers, catalogue, division, found)
        found += [*conflicts(book, catalogue), *never_fail(book, catalogue)]
        found += [*said_twice(book), *wrong_side(book)]
    found += _changes_nothing(layers)
    found += _unused_divisions(layers)
    sifted = sift(layers, found)
    idle = [_accepts_nothing(cell) for cell in sifted.idle if cell.source is layers.source]
    left = tuple(sorted(dict.fromkeys((*sifted.left, *idle)), key=Problem.sort_key))
    return LintResult(left, tuple(sorted(dict.fromkeys(sifted.accepted), key=Problem.sort_key)))


def _accepts_nothing(cell: PlacedValue) -> Problem:
    """A reason that stands for no doubt: the one it was for has gone."""
    return cell.problem(
        "lint-accept",
        "there is no doubt here to accept",
        at_key=True,
        expected="accept only where lint warns of the clause",
        severity=Severity.WARNING,
    )


def _changes_nothing(layers: InheritedBook) -> Iterable[Problem]:
    """Changes that put back what stands in the clause already."""
    now: dict[str, RawRule] = {rule.clause: rule for rule in layers.rules if rule.clause}
    for change in layers.changes:
        rule = now.get(change.clause)
        if rule is None or change.dropped:
            continue
        same = [
            cell
            for key, cell in change.cells.items()
            if key in rule.cells and (rule.cells[key].value, rule.cells[key].unit) == (cell.value, cell.unit)
        ]
        if same and len(same) == len(change.cells):
            yield same[0].problem(
                "lint-changes-nothing",
                f"clause {change.clause} says this already",
                expected="another value, or no change",
                severity=Severity.WARNING,
            )
        if not change.divisions:
            now[change.clause] = change.applied(rule)


def _unused_divisions(layers: InheritedBook) -> Iterable[Problem]:
    """Divisions that no rule and no change is for."""
    named = {name for rule in layers.rules for name in rule.divisions}
    named |= {name for change in layers.changes for name in change.divisions}
    for name, cell in layers.divisions.items():
        if name not in named:
            yield cell.problem(
                "lint-division",
                f'division "{name}" differs from the book in nothing',
                expected="a rule or a change for it",
                severity=Severity.WARNING,
            )
