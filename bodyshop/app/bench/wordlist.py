"""Words that the editor completes: the keys of each table, what a key can be, and what rules can name."""

from __future__ import annotations

from functools import cache

from bodyshop.app.bench.messages import Data
from bodyshop.car.design.fields import Field, KeyKind, shelf_items
from bodyshop.car.design.schema import ROOT
from bodyshop.car.measures import catalogue
from bodyshop.rules.rulebook import shipped_rulebooks

__all__ = ["wordlist"]


@cache
def wordlist() -> Data:
    """Tables by dotted name with their keys, and the measures of the catalogue for a rulebook's rules."""
    tables: dict[str, Data] = {}
    _gather(ROOT, "", tables)
    measures = [
        {"label": name, "detail": measure.title, "info": measure.sentence}
        for name, measure in catalogue().items()
    ]
    return {"tables": tables, "measures": measures}


def _gather(fields: tuple[Field, ...], above: str, tables: dict[str, Data]) -> None:
    tables[above] = {field.key: _field(field) for field in fields}
    for field in fields:
        if field.fields:
            _gather(field.fields, f"{above}.{field.key}".removeprefix("."), tables)


def _field(field: Field) -> Data:
    return {
        "kind": field.kind.name.lower(),
        "doc": field.doc,
        "default": field.default,
        "values": _values(field),
        "shelf": "" if field.shelf is None else field.shelf.value,
    }


def _values(field: Field) -> list[Data]:
    """What may stand behind the equals sign, ready to be put in."""
    if field.kind is KeyKind.FLAG:
        return [{"label": "true", "detail": ""}, {"label": "false", "detail": ""}]
    told: list[Data] = []
    if field.shelf is not None:
        told += [
            {"label": f'"{name}"', "detail": str(getattr(item, "label", ""))}
            for name, item in shelf_items(field.shelf).items()
        ]
    told += [{"label": f'"{word}"', "detail": ""} for word in field.words]
    if field.kind is KeyKind.UNIT:
        told += [{"label": f'"{word}"', "detail": ""} for word in ("mm", "cm", "in")]
    if field.may_be_none:
        told.append({"label": '"none"', "detail": "left out"})
    if field.key == "rulebook":
        told += [{"label": f'"{name}"', "detail": ""} for name in shipped_rulebooks()]
    return told
