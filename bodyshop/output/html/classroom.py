"""A class as one page for a browser: nothing is loaded from elsewhere, and it prints in black and white.

The page is the same for the same class on any day. Its script only sorts; without it the table is sorted by
verdict, worst first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from pathlib import Path
from typing import Final

from bodyshop import __version__
from bodyshop.foundation.text.small_words import number_words
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.words.classroom import (
    alike_words,
    books_words,
    clean,
    get_words,
    headline,
    line_note,
    mass_words,
    plan_notes,
    plan_unit,
    problem_words,
    verdict_words,
)
from bodyshop.output.words.closing import CLOSING
from bodyshop.records.classroom.discovery import CarRow, Thumbnail, UnreadRow
from bodyshop.records.classroom.summary import ClassReport

__all__ = ["GENERATOR", "class_page"]

GENERATOR: Final = '<meta name="generator" content="bodyshop'
"""How a page of ours is told from anybody else's file."""

_HERE: Final = Path(__file__).resolve().parent
_SCALE: Final = 0.24
"""Pixels on the screen for half a millimetre of car: about 1:2."""

_BAR: Final = 180
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"


def class_page(report: ClassReport) -> str:
    """The page, in UTF-8 when written."""
    return "".join(_page(report))


def _page(report: ClassReport) -> Iterator[str]:
    title = _text(f"Class report: {report.folder}")
    style, script = ((_HERE / name).read_text(encoding="utf-8") for name in ("classroom.css", "classroom.js"))
    yield (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'{GENERATOR} {__version__}">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        f"<title>{title}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
    )
    yield f"<header>\n<h1>{_text(headline(report))}</h1>\n"
    yield f"<p>{_text(books_words(report))}</p>\n" if report.books else ""
    sections = [
        ("cars", "Cars", _cars(report) if report.cars else ""),
        ("unread", "Could not be read", _unread(report)),
        ("rules", "Rules broken most", _rules(report)),
        ("alike", "Designs with the same shape (check for copying)", _alike(report)),
        ("stock", "Parts to have in stock", _stock(report)),
    ]
    links = [f'<a href="#{name}">{heading}</a>' for name, heading, text in sections if text]
    yield f"<nav>{''.join(links)}</nav>\n</header>\n<main>\n"
    for name, heading, text in sections:
        if text:
            yield f'<section id="{name}">\n<h2>{heading}</h2>\n{text}</section>\n'
    yield f"</main>\n<footer><p>{_text(CLOSING)}</p></footer>\n"
    yield f"<script>\n{script}</script>\n</body>\n</html>\n"


def _text(text: str) -> str:
    return escape(clean(text))


def _own(text: str) -> str:
    """A name that somebody gave, which may run from right to left without turning its neighbours round."""
    return f"<bdi>{_text(text)}</bdi>"


# ---------------------------------------------------------------- the cars


def _cars(report: ClassReport) -> str:
    titles = {(book.key, clause.clause): clause.title for book in report.books for clause in book.clauses}
    rows = "".join(_car(car, titles, place) for place, car in enumerate(report.cars))
    return (
        '<div class="scroll">\n<table class="sorted">\n'
        "<caption>Worst first. All drawings are to one scale. The mass is without a cartridge; in brackets, "
        "its 95 % range. The design code is printed on the templates of the car.</caption>\n"
        '<thead><tr><th scope="col">Side and top</th><th scope="col" data-by="text">Car</th>'
        '<th scope="col" data-by="text">Bench</th><th scope="col" data-by="number">Verdict</th>'
        '<th scope="col" data-by="number" class="number">Mass</th>'
        '<th scope="col" data-by="text">Design code</th>'
        f"</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n"
    )


def _car(car: CarRow, titles: dict[tuple[str, str], str], place: int) -> str:
    drawing = "" if car.thumbnail is None else _drawing(car.thumbnail, car.name)
    slips = (
        f'<div class="soft">{number_words(len(car.warnings), "slip")} in the file: check it alone</div>'
        if car.warnings
        else ""
    )
    return (
        f'<tr><td class="drawing">{drawing}</td>'
        f'<td class="name" data-key="{_text(car.name)}">{_own(car.name)}'
        f'<div class="file">{_own(car.file)}</div></td>'
        f'<td class="bench">{_own(car.bench)}</td>'
        f'<td class="verdict" data-key="{place}"><strong>{_text(verdict_words(car))}</strong>'
        f"{_clauses(car, titles)}{slips}</td>"
        f'<td class="number" data-key="{car.mass_g:.3f}">{_text(mass_words(car))}</td>'
        f'<td class="mark">{_text(car.fingerprint)}</td></tr>\n'
    )


def _clauses(car: CarRow, titles: dict[tuple[str, str], str]) -> str:
    items = [
        f"<li>{label}<b>{_text(clause)}</b> {_text(titles.get((car.book, clause), ''))}</li>"
        for label, clauses in (
            ("", car.failed),
            ("too close to tell: ", car.too_close),
            ("close: ", car.near),
            ("not judged: ", car.unjudged),
        )
        for clause in clauses
    ]
    return f'<ul class="clauses">{"".join(items)}</ul>' if items else ""


def _drawing(small: Thumbnail, name: str) -> str:
    x, y, width, height = small.box
    wheels = "".join(f'<circle class="wheel" cx="{u}" cy="{v}" r="{r}"/>' for u, v, r in small.wheels)
    return (
        f'<svg role="img" aria-label="side and top view of {_text(name)}" viewBox="{x} {y} {width} {height}" '
        f'width="{width * _SCALE:.0f}" height="{height * _SCALE:.0f}" stroke-width="3">'
        f'<path class="body" d="{small.side}"/>{wheels}'
        f'<path class="tread" d="{small.treads}"/><path class="body" d="{small.top}"/></svg>'
    )


# ---------------------------------------------------------------- the rest


def _unread(report: ClassReport) -> str:
    parts = []
    if report.unread or report.closed:
        items = [_unread_item(row) for row in report.unread]
        items += [f"<li>{_text(problem_words(problem))}</li>" for problem in report.closed]
        parts.append(f'<ul class="plain">\n{_lines(items)}</ul>\n')
    if report.skipped:
        names = ", ".join(_own(row.file) for row in report.skipped)
        parts.append(f'<p class="soft">Left out, because they are rulebooks: {names}.</p>\n')
    return "".join(parts)


def _unread_item(row: UnreadRow) -> str:
    told = "".join(f'<div class="soft">{_text(problem_words(problem))}</div>' for problem in row.problems)
    left = row.count - len(row.problems)
    more = f'<div class="soft">and {number_words(left, "more problem")}</div>' if left else ""
    return f"<li>{_own(row.file)}: {number_words(row.count, 'problem')}{told}{more}</li>"


def _rules(report: ClassReport) -> str:
    if not report.broken:
        return ""
    several = len(report.books) > 1
    rows = [
        f"<tr><td><b>{_text(each.clause)}</b></td><td>{_text(each.title)}"
        + (f'<div class="soft">{_text(each.book.name)}</div>' if several else "")
        + f'</td><td class="number">{each.cars} of {each.of}</td><td>{_bar(each.share)}</td></tr>'
        for each in report.broken
    ]
    return (
        '<table class="narrow">\n<thead><tr><th scope="col">Clause</th><th scope="col">Rule</th>'
        '<th scope="col" class="number">Cars</th><th scope="col">Share</th></tr></thead>\n'
        f"<tbody>\n{_lines(rows)}</tbody>\n</table>\n"
    )


def _bar(share: float) -> str:
    return (
        f'<svg role="img" aria-label="{share:.0%}" width="{_BAR + 2}" height="14">'
        f'<rect class="frame" x="0.5" y="0.5" width="{_BAR + 1}" height="13"/>'
        f'<rect class="share" x="1" y="1" width="{max(1.0, share * _BAR):.1f}" height="12"/></svg>'
    )


def _alike(report: ClassReport) -> str:
    items = [
        f"<li>{', '.join(_own(car.file) for car in alike.cars)}: {alike_words(alike)}</li>"
        for alike in report.alike
    ]
    return f'<ul class="plain">\n{_lines(items)}</ul>\n' if items else ""


def _stock(report: ClassReport) -> str:
    plan, unit = report.plan, plan_unit(report)
    if not plan.lines:
        return ""
    rows = "".join(_stock_rows(report, unit))
    notes = "".join(f'<p class="soft">{_text(note)}</p>\n' for note in plan_notes(report, unit))
    return (
        f'<table class="narrow">\n<caption>For {number_words(plan.cars, "car")}.</caption>\n'
        '<thead><tr><th scope="col">Shelf</th><th scope="col">What</th>'
        '<th scope="col" class="number">Need</th><th scope="col" class="number">Get</th></tr></thead>\n'
        f"<tbody>\n{rows}</tbody>\n</table>\n{notes}"
    )


def _stock_rows(report: ClassReport, unit: LengthUnit) -> Iterator[str]:
    before = None
    for line in report.plan.lines:
        name = line.supply.value.capitalize() if line.supply is not before else ""
        before = line.supply
        note = line_note(line, unit)
        more = f'<div class="soft">{_text(note)}</div>' if note else ""
        yield (
            f"<tr><td>{name}</td><td>{_text(line.label)}{more}</td>"
            f'<td class="number">{line.need}</td><td class="number">{_text(get_words(line))}</td></tr>\n'
        )


def _lines(items: Iterable[str]) -> str:
    return "".join(f"{item}\n" for item in items)
