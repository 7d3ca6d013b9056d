"""The report as one web page: nothing beside it is needed, nothing in it runs, and it prints."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from functools import lru_cache
from html import escape
from pathlib import Path
from typing import Final

from bodyshop.drawing.sheet.items import Group as Moved
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.replay import bounds
from bodyshop.drawing.writers.meta import DocMeta, plain
from bodyshop.foundation.text.small_words import number_words
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.car_views import legend_items
from bodyshop.output.figures.content import Check, ReportContent, RuleGroup, RuleLine, content_of
from bodyshop.output.figures.labels import measured_words, numbered
from bodyshop.output.figures.mass_bar import draw_mass_bars, mass_bars, mass_sentence
from bodyshop.output.figures.views import CAPTIONS, Figure, Views, draw_views, scale_sentence
from bodyshop.output.words.hints import HintBlock, Hints
from bodyshop.output.words.verdict import GROUP_HEADINGS
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import Outcome

__all__ = ["figure_svg", "teaching_html"]

_WIDTH_MM: Final = 186.0
_MASS_MM: Final = 92.0
_LEGEND_MM: Final = 100.0
_HEADS: Final = ("No.", "Clause", "Rule", "Measured", "The rule says", "Margin", "Verdict")
_MARKS: Final = {Outcome.FAIL: "fail", Outcome.NEAR: "near"}
# Nothing may be fetched and nothing may run, whatever a design or a rulebook holds.
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def teaching_html(checked: Checked, on: date, hints: Hints | None = None) -> str:
    """The report as an HTML document; the same text for the same car and date."""
    content = content_of(checked, on, hints)
    views = draw_views(checked, _WIDTH_MM)
    return "\n".join(_document(checked, content, views)) + "\n"


def figure_svg(figure: Figure) -> str:
    """One view as an SVG element, in a sheet whose origin is the corner of the figure's frame."""
    frame = figure.frame
    items = (Moved(Affine.move(-frame.x, -frame.y), figure.items),)
    return _svg(Sheet(frame.width, frame.height, items), _figure_words(figure))


# ---------------------------------------------------------------- pieces


def _document(checked: Checked, content: ReportContent, views: Views) -> Iterator[str]:
    title = _text(f"{content.name}: report on the drawing")
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield '<head>\n<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield '<meta name="generator" content="bodyshop">'
    yield f'<meta name="description" content="{_text(content.headline)}">'
    yield f"<title>{title}</title>"
    failing = ' class="failing"' if content.fails else ""
    yield f"<style>\n{_css()}</style>\n</head>\n<body>\n<main{failing}>"
    yield from _head(content)
    yield from _drawings(checked, content, views)
    for group in content.urgent:
        yield from _group(group, views.drawn)
    yield from (_joint(block) for block in content.joint)
    for group in content.others:
        yield from _group(group, views.drawn)
    yield from _checks(content)
    yield from _rules_met(content)
    yield '<aside class="caution" aria-label="Caution">'
    yield from (f"<p>{_text(words)}</p>" for words in content.cautions)
    yield "</aside>"
    marks = f"design code {_text(content.fingerprint)}, {_text(content.date)}"
    yield f"<footer><p>{_name(content.file)}, {marks}</p></footer>"
    yield "</main>\n</body>\n</html>"


def _head(content: ReportContent) -> Iterator[str]:
    yield f"<header>\n<h1>{_name(content.name)}</h1>"
    bench = f"{_name(content.bench)}, checked" if content.bench else "Checked"
    yield f"<p>{bench} against {_name(content.rulebook)}</p>"
    if content.event and content.event != content.rulebook:
        yield f"<p>Event: {_name(content.event)}</p>"
    marks = (
        ("Design code", content.fingerprint),
        ("Rulebook", content.rulebook_mark),
        ("Date", content.date),
    )
    yield '<dl class="marks">'
    yield from (f"<div><dt>{label}</dt><dd>{_text(words)}</dd></div>" for label, words in marks)
    yield "</dl>"
    yield f'<section class="verdict{" fails" if content.fails else ""}" aria-label="Verdict">'
    yield f'<p class="said">{_text(content.headline)}</p>'
    yield from (f"<p>{_text(note)}</p>" for note in content.notes)
    yield "</section>\n</header>"


def _drawings(checked: Checked, content: ReportContent, views: Views) -> Iterator[str]:
    yield f"<section>\n<h2>{'Where on the car' if views.callouts else 'The car'}</h2>"
    yield f'<p class="hint">{_text(scale_sentence(views.scale))}</p>'
    legend, height = legend_items(views.callouts, numbered(checked.judgement), _LEGEND_MM)
    sheet = Sheet(_LEGEND_MM, height, (Moved(Affine.move(0.0, height), tuple(legend)),))
    yield f'<div class="legend">{_svg(sheet, "What the lines and marks mean.")}</div>'
    for figure in (views.side, views.top):
        yield _figure(CAPTIONS[figure.aspect], figure_svg(figure))
    yield '<div class="pair">'
    yield _figure(CAPTIONS[views.tail.aspect], figure_svg(views.tail))
    bars = mass_bars(checked)
    drawn = draw_mass_bars(bars, _MASS_MM)
    told = " ".join(mass_sentence(bar) for bar in bars)
    limits = ", ".join(words for bar in bars for _, words in bar.limits)
    around = bounds(drawn.items) or Rect(0.0, 0.0, 1.0, 1.0)
    sheet = Sheet(_MASS_MM, around.height + 2.0, (Moved(Affine.move(0.0, 1.0 - around.y), drawn.items),))
    yield "<div>" + _figure("Mass", _svg(sheet, f"{told} The rulebook says: {limits}." if limits else told))
    yield from (f"<p>{_text(note)}</p>" for note in content.mass_notes)
    yield "</div>\n</div>\n</section>"


def _figure(caption: str, svg: str) -> str:
    return f'<figure>\n<figcaption>{_text(caption)}</figcaption>\n<div class="sheet">{svg}</div>\n</figure>'


def _figure_words(figure: Figure) -> str:
    """What someone who cannot see the drawing is told of it."""
    words = f"{CAPTIONS[figure.aspect]}: the car in its block, with what is hidden in the wood."
    told = [*(each.callout for each in figure.seated), *(each.callout for each in figure.inline)]
    called = [
        f"number {c.number}, {c.verdict.rule.title}{f', {m}' if (m := measured_words(c.verdict)) else ''}"
        for c in sorted(told, key=lambda c: c.number)
    ]
    return f"{words} Called out: {'; '.join(called)}." if called else words


def _group(group: RuleGroup, drawn: frozenset[int]) -> Iterator[str]:
    yield f"<section>\n<h2>{_text(group.heading)}</h2>\n<table>\n<thead>\n<tr>"
    yield "".join(f'<th scope="col">{head}</th>' for head in _HEADS)
    yield "</tr>\n</thead>"
    for rule in group.lines:
        yield from _rule(rule, drawn)
    yield "</table>\n</section>"


def _rule(rule: RuleLine, drawn: frozenset[int]) -> Iterator[str]:
    yield '<tbody class="rule">\n<tr>'
    mark = _MARKS.get(rule.outcome, "other")
    number = "" if rule.number is None else f'<span class="number {mark}">{rule.number}</span>'
    yield f"<td>{number}</td><td>{_text(rule.clause)}</td>"
    yield f'<th scope="row">{_name(rule.title)}</th>'
    for head, words in zip(_HEADS[3:6], (rule.measured, rule.limit, rule.margin), strict=True):
        yield f'<td data-name="{head}">{_text(words)}</td>' if words else "<td></td>"
    yield f'<td class="word">{_text(rule.told)}</td>\n</tr>'
    told = (("Where", rule.where), ("Why", rule.why), ("Do", rule.change))
    kept = [(label, words if words[-1] in ".!?" else f"{words}.") for label, words in told if words]
    if kept:
        yield '<tr><td></td><td colspan="6"><dl>'
        for label, words in kept:
            where = ' class="where"' if label == "Where" and rule.number in drawn else ""
            yield f"<dt{where}>{label}</dt><dd{where}>{_name(words)}</dd>"
        yield "</dl></td></tr>"
    yield "</tbody>"


def _joint(block: HintBlock) -> str:
    """What holds of several rules at once."""
    told = "".join(f"<li>{_name(words)}</li>" for words in block.sentences)
    return f'<section>\n<h2>{_text(block.heading)}</h2>\n<ul class="joint">{told}</ul>\n</section>'


def _checks(content: ReportContent) -> Iterator[str]:
    if content.checks:
        yield f'<section>\n<h2>{GROUP_HEADINGS[Outcome.BY_EYE]}</h2>\n<ul class="checks">'
        yield from (_check(check) for check in content.checks)
        yield "</ul>\n</section>"


def _check(check: Check) -> str:
    how = f'<br class="how"><span class="how">{_name(check.how)}</span>' if check.how else ""
    return f"<li><strong>{_text(check.clause)} (by {check.by}) {_name(check.what)}</strong>{how}</li>"


def _rules_met(content: ReportContent) -> Iterator[str]:
    if not content.kept:
        return
    count = number_words(len(content.kept), "rule")
    count += ", advice included" if content.advised else ""
    yield f"<section>\n<h2>{GROUP_HEADINGS[Outcome.PASS]}: {count}</h2>"
    yield '<ul class="kept">'
    for rule in content.kept:
        value = (
            f"{rule.measured} ({rule.limit})"
            if rule.measured and rule.limit
            else rule.measured or rule.margin
        )
        yield (
            f'<li><span class="clause">{_text(rule.clause)}</span> '
            f'<span class="title">{_name(rule.title)}</span> '
            f'<span class="value">{_text(value)}</span></li>'
        )
    yield "</ul>\n</section>"


# ---------------------------------------------------------------- text and drawings


def _text(words: str) -> str:
    """Words as HTML: nothing in them is markup, nothing in them steers."""
    return escape(plain(words), quote=True)


def _name(words: str) -> str:
    """Words from a file, which may run from right to left, kept from turning the line round them."""
    return f"<bdi>{_text(words)}</bdi>"


def _svg(sheet: Sheet, words: str) -> str:
    """A sheet as an element of the page, with the words for those who do not see it."""
    from bodyshop.drawing.writers.svg import write_svg

    drawn = write_svg(sheet, DocMeta(title="drawing")).strip()
    drawn = re.sub(r"^<\?xml[^>]*\?>\s*", "", drawn)
    # The writer's own title and description speak of printing at full size.
    drawn = re.sub(r"<title>.*?</title>|<desc>.*?</desc>", "", drawn, flags=re.DOTALL)
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{_text(words)}" ', 1)


@lru_cache(maxsize=1)
def _css() -> str:
    return Path(__file__).with_name("annotated_report.css").read_text(encoding="utf-8")
