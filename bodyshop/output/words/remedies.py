"""Changes and conflicts as sentences for the person at the bench."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

from bodyshop.car.measures import catalogue
from bodyshop.foundation.text.small_words import listed
from bodyshop.foundation.toml import KeyPath, dotted
from bodyshop.foundation.toml.rows import read_named_tables
from bodyshop.output.words.verdict import WEIGH_BLOCK
from bodyshop.rules.remedies.model import Conflict, Edit, Fix, Obstacle, Plan, SideEffect
from bodyshop.rules.rulebook import LimitSide, Outcome, Rule, Verdict, amount_text, value_text

__all__ = [
    "ACTION_TABLES",
    "ActionWords",
    "conflict_sentences",
    "action_key",
    "actions",
    "edit_words",
    "fix_sentence",
    "headline",
    "name_of",
    "outcomes",
    "side_sentences",
]

_FILE: Final = Path(__file__).with_name("actions.toml")
_ARROW: Final = "→"
_WORTH_TELLING_MM: Final = 0.15
_TOLD: Final = 3
_ESTIMATE: Final = (
    "this is an estimate, and its whole range has to be inside the limit. For a narrower range, "
    f"{WEIGH_BLOCK}"
)


def headline(plan: Plan, name: str) -> str:
    """What the plan comes to."""
    changes = "1 change" if len(plan.fixes) == 1 else f"{len(plan.fixes)} changes"
    if plan.clause:
        return f"{name}: {_for_one(plan, changes)}."
    broken, left = len(plan.before.to_mend), len(plan.after.to_mend)
    if not broken:
        return f"{name} breaks no rule: there is nothing to change."
    every = {1: "the broken rule", 2: "both broken rules"}.get(broken, f"all {broken} broken rules")
    if not plan.fixes:
        return f"{name}: no change fixes {_any(every)}."
    return f"{name}: {changes} would fix {f'{broken - left} of {broken} broken rules' if left else every}."


def _any(every: str) -> str:
    return every.replace("all ", "any of the ").replace("both ", "either of the ")


def _for_one(plan: Plan, changes: str) -> str:
    if plan.conflicts:
        return f"no change fixes {plan.clause}"
    if plan.fixes:
        return f"{changes} would fix {plan.clause}"
    verdict = next(v for v in plan.before.verdicts if v.rule.clause == plan.clause)
    if verdict.value is None:
        return f"{plan.clause} does not depend on a number of the drawing"
    return f"{plan.clause} is met: there is nothing to change"


def fix_sentence(fix: Fix) -> str:
    """`line 34: bore.height 25 → 25.7 lifts the cartridge hole so that 3.0 mm of wood stays under it`."""
    sentence = f"{edit_words(fix.edits)} {_action(fix.edits)}"
    if fix.makes_room:
        return f"{sentence}, which makes room for the next change"
    sentence += f" so that {_outcome(fix.rule, fix.after)}"
    if fix.moved_mm - fix.least_mm > _WORTH_TELLING_MM:
        sentence += f" ({fix.least_text} is just enough)"
    return sentence


def side_sentences(fix: Fix) -> tuple[str, ...]:
    """What else a change does: other rules it fixes, what gets worse, new warnings."""
    told: list[str] = []
    also = [clause for clause in fix.cleared if clause != fix.rule.clause]
    if also:
        told.append(f"this also fixes {listed(also)}" if fix.mends else f"this fixes {listed(also)}")
    told.extend(_worse(effect) for effect in fix.price)
    told.extend(fix.warnings)
    if fix.cut:
        told.append("time ran out before every number was tried: a smaller change may exist")
    return tuple(told)


def conflict_sentences(conflict: Conflict) -> tuple[str, ...]:
    """Why a rule stays broken: what pulls against it, then the changes that would mend it but may not be."""
    if conflict.cut and not conflict.obstacles:
        return ("time ran out before a change was found",)
    blocked = [obstacle for obstacle in conflict.obstacles if obstacle.breaks or obstacle.faults]
    estimate = (_ESTIMATE,) if conflict.verdict.spread > 0.0 else ()
    if not blocked:
        return ("no single number moves it far enough", *estimate)
    told = [*estimate]
    if conflict.against:
        told.append(f"no single change fixes it: it would break {listed(conflict.against)}")
    else:
        told.append("no single change fixes it")
    told.extend(_blocked(obstacle) for obstacle in blocked[:_TOLD])
    if conflict.cut:
        told.append("time ran out before every number was tried")
    return tuple(told)


def edit_words(edits: Sequence[Edit]) -> str:
    """`line 34: bore.height 25 → 25.7`; the lines of all places where one number stands in several."""
    first = edits[0]
    lines = sorted({edit.span.line for edit in edits})
    change = f"{first.old_text} {_ARROW} {first.new_text}"
    if len(edits) == 1:
        return f"line {lines[0]}: {name_of(first.path)} {change}"
    where = f"line {lines[0]}" if len(lines) == 1 else f"lines {listed([str(line) for line in lines])}"
    what = _coordinate(first.path)
    return f"{where}: {what} {change}, in all {len(edits)} places,"


def name_of(path: KeyPath) -> str:
    """The name of a number for a person, list items counted from 1: `profile point 4, height`."""
    if path[0] not in ("profile", "plan", "screw_eye"):
        return dotted(path)
    words: list[str] = [str(path[0])]
    rest = [part for part in path[1:] if part != "to"]
    i = 0
    while i < len(rest):
        part = rest[i]
        following = rest[i + 1] if i + 1 < len(rest) else None
        if part in ("points", "window") and isinstance(following, int):
            words.append(f"{'point' if part == 'points' else 'window'} {following + 1}")
            i += 2
        elif part == "handles" and isinstance(following, int):
            words.append(f"handle {following + 1}")
            i += 2
        elif isinstance(part, int):
            words.append(str(part + 1) if path[0] == "screw_eye" and i == 0 else _axis_word(path, part))
            i += 1
        else:
            words.append(str(part))
            i += 1
    head = f"{words[0]} {words[1]}" if len(words) > 1 else words[0]
    return ", ".join((head, *words[2:]))


@dataclass(frozen=True, slots=True)
class ActionWords:
    """What it does to the car when a number grows or shrinks, or goes nearer to 0 or farther from it."""

    more: str = ""
    less: str = ""
    nearer: str = ""
    farther: str = ""


ACTION_TABLES: Final[Mapping[str, type]] = {"deeds": ActionWords, "outcomes": str}
"""What stands in the table of actions."""


def actions() -> Mapping[str, ActionWords]:
    """What it does to the car when a number changes, by key without numbers."""
    return _tables()["deeds"]


def outcomes() -> Mapping[str, str]:
    """What a measured value means for the car, by measure."""
    return _tables()["outcomes"]


@cache
def _tables() -> Mapping[str, Mapping[str, Any]]:
    return read_named_tables(_FILE, ACTION_TABLES)


def action_key(path: KeyPath, *, shared: bool = False) -> str:
    """The key of a number in the table of deeds; empty when it is not there."""
    parts = [part for part in path if part != "to"]
    named = [str(part) for part in parts if isinstance(part, str)]
    if isinstance(parts[-1], int) and parts[-2] != "screw_eye":
        named.append(_axis_word(path, parts[-1]))
    if shared:
        named = ["shared", named[-1]]
    # The full name first, then the parts of it that mean the same wherever they stand.
    for name in (
        ".".join(named),
        ".".join(named[1:]),
        ".".join(named[-2:]),
        ".".join(named[-3:-1]),
        named[0],
    ):
        if name in actions():
            return name
    return ""


def _axis_word(path: KeyPath, index: int) -> str:
    return "x" if index == 0 else "height" if path[0] == "profile" else "y"


def _coordinate(path: KeyPath) -> str:
    last = path[-1]
    return _axis_word(path, last) if isinstance(last, int) else str(last)


def _action(edits: Sequence[Edit]) -> str:
    edit = edits[0]
    action = actions().get(action_key(edit.path, shared=len(edits) > 1))
    if action is None:
        return "changes the car"
    if action.nearer:
        return action.nearer if abs(edit.new) < abs(edit.old) else action.farther
    return action.more if edit.rises else action.less


def _outcome(rule: Rule, verdict: Verdict) -> str:
    text = _value(rule, verdict)
    told = outcomes().get(rule.measure)
    if told is not None:
        return told.replace("{value}", text)
    measure = catalogue().get(rule.measure)
    return f"the {measure.title if measure is not None else rule.measure} is {text}"


def _value(rule: Rule, verdict: Verdict) -> str:
    if verdict.read is None:
        return "not known"
    text = value_text(rule, verdict.read)
    text = text[1:] if text.startswith("-") and not set(text) & set("123456789") else text
    interval = verdict.interval
    if verdict.spread > 0.0 and interval is not None:
        low, high = (value_text(rule, max(end, 0.0)) for end in interval)
        return f"{text} ({low} to {high})"
    return text


def _worse(effect: SideEffect) -> str:
    rule = effect.rule
    label = f"{rule.clause} ({rule.title})"
    if effect.after.outcome is Outcome.TOO_CLOSE:
        return f"this makes {label} too close to tell: {_value(rule, effect.after)}"
    if effect.before.over > 0.0 and rule.kind is not None:
        before, after = (
            amount_text(round(v.over, 3), rule.kind, rule.shown_unit) for v in (effect.before, effect.after)
        )
        way = "over" if effect.after.side is LimitSide.OVER else "under"
        return f"this makes {label} worse: {after} {way} instead of {before}"
    return f"this breaks {label}: {_value(rule, effect.after)}"


def _blocked(obstacle: Obstacle) -> str:
    change = edit_words(obstacle.edits).rstrip(",")
    if obstacle.breaks:
        return f"{change} would fix it, but breaks {listed(obstacle.breaks)}"
    return f"{change} is not possible: {obstacle.faults[0]}"
