"""The report as a web page, read back by the standard library's parsers."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import date
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.figures.content import content_of
from bodyshop.output.html.annotated_report import teaching_html
from bodyshop.rules.checking import Checked, check_car, open_car
from bodyshop.rules.rulebook import Outcome
from tests.output.teaching_cars import checked_text, rewritten

SAMPLES = ["dipper", "heron", "kestrel", "lapwing", "plover", "swift", "wren"]
_ON = date(2031, 5, 14)
# Elements without an end: HTML Living Standard, 13.1.2 (from memory), those that the page uses.
_VOID = {"meta", "br"}


class _Page(HTMLParser):
    """Reads a page and notes what is in it; a tag that is not closed as it was opened is a fault."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.faults: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def _sample(root: Path, name: str) -> Checked:
    return check_car(open_car(root / "samples" / f"{name}.toml"))


@pytest.fixture(scope="module")
def lapwing() -> Checked:
    return _sample(Path(__file__).resolve().parents[2], "lapwing")


@pytest.mark.parametrize("name", SAMPLES)
def test_tags_are_closed_and_nothing_is_fetched_or_run(root: Path, name: str) -> None:
    text = teaching_html(_sample(root, name), _ON)
    page = _Page(text)
    assert page.faults == []
    assert page.open == []
    assert {"script", "link", "img", "iframe", "object", "a", "form"}.isdisjoint(tag for tag, _ in page.tags)
    for tag, attributes in page.tags:
        for key, value in attributes.items():
            assert not key.startswith("on")
            # names of namespaces are not fetched
            assert key.startswith("xmlns") or "://" not in (value or ""), (tag, key)
    assert "@import" not in text
    assert "url(" not in text
    policy = [
        tag["content"] for tag in page.named("meta") if tag.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'"]


def test_it_says_everything(lapwing: Checked) -> None:
    text = _Page(teaching_html(lapwing, _ON)).text
    content = content_of(lapwing, _ON)
    told = [content.name, content.bench, content.rulebook, content.event, content.headline, content.date]
    told += [
        content.fingerprint,
        content.rulebook_mark,
        *content.notes,
        *content.mass_notes,
        *content.cautions,
    ]
    for group in content.groups:
        told.append(group.heading)
        for rule in group.lines:
            told += [
                rule.title,
                rule.measured,
                rule.limit,
                rule.margin,
                rule.told,
                rule.where,
                rule.why,
                rule.change,
            ]
    told += [word for rule in content.kept for word in (rule.clause, rule.title, rule.measured, rule.limit)]
    told += [word for check in content.checks for word in (check.clause, check.what, check.how)]
    assert [each for each in told if " ".join(each.split()) not in text] == []


def test_worst_first_and_numbered_like_the_drawing(lapwing: Checked) -> None:
    groups = content_of(lapwing, _ON).groups
    lines = [line for group in groups for line in group.lines]
    assert [line.number for line in lines] == list(range(1, 20))
    judged = lapwing.judgement.having(Outcome.FAIL, Outcome.CANNOT_JUDGE, Outcome.NEAR, Outcome.ADVICE)
    assert [line.clause for line in lines] == [verdict.rule.clause for verdict in judged]
    assert [group.heading for group in groups] == [
        "Fix these or the car may not race",
        "These cost points",
        "Allowed, but we would change it",
    ]
    text = _Page(teaching_html(lapwing, _ON)).text
    places = [
        text.index(heading)
        for heading in ("may not race", "These cost points", "Allowed, but", "Rules met: ")
    ]
    assert places == sorted(places)


def test_headings_tables_and_drawings_are_told_to_those_who_cannot_see(lapwing: Checked) -> None:
    page = _Page(teaching_html(lapwing, _ON))
    assert len(page.named("h1")) == 1
    assert len(page.named("h2")) >= 5
    assert page.named("html") == [{"lang": "en"}]
    heads = [tag.get("scope") for tag in page.named("th")]
    assert heads.count("col") == 7 * 3
    assert heads.count("row") == 19
    drawings = page.named("svg")
    assert len(drawings) == 5
    for drawing in drawings:
        assert drawing["role"] == "img"
        assert drawing["aria-label"]
    assert "number 5, wheelbase, 99.0 mm" in (drawings[1]["aria-label"] or "")
    assert len(page.named("li")) == len(lapwing.judgement.to_inspect) + len(
        lapwing.judgement.having(Outcome.PASS)
    )


def test_drawings_are_xml_of_their_own(lapwing: Checked) -> None:
    text = teaching_html(lapwing, _ON)
    for drawing in re.findall(r"<svg .*?</svg>", text, flags=re.DOTALL):
        root = ET.fromstring(drawing)  # noqa: S314 - we wrote it ourselves
        box = [float(part) for part in root.attrib["viewBox"].split()]
        assert box[:2] == [0.0, 0.0]
        assert "actual size" not in drawing


def test_greys_only(lapwing: Checked) -> None:
    text = teaching_html(lapwing, _ON)
    for colour in set(re.findall(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b", text)):
        parts = [colour[k : k + len(colour) // 3] for k in range(0, len(colour), len(colour) // 3)]
        assert len(set(parts)) == 1, colour
    assert not re.search(r"rgb\(|hsl\(|:\s*(red|green|blue|orange)\b", text)


def test_the_same_text_for_the_same_car_and_day(root: Path) -> None:
    assert teaching_html(_sample(root, "lapwing"), _ON) == teaching_html(_sample(root, "lapwing"), _ON)


@pytest.mark.parametrize("name", SAMPLES)
def test_no_word_says_that_a_car_is_safe(root: Path, name: str) -> None:
    page = _Page(teaching_html(_sample(root, name), _ON))
    # the browser's own rules, which no reader sees, have a word like it
    seen = (value for tag, each in page.tags if tag != "meta" for value in each.values())
    told = " ".join([page.text, *map(str, seen)])
    assert "safe" not in told.casefold()


@pytest.mark.parametrize(
    "name", ["<script>alert(1)</script>", '"><b onclick=x>&amp;', "سيارة", "Kestrel 🏎️", "a'b&c", "W" * 60]
)
def test_names_are_words_and_never_markup(root: Path, name: str) -> None:
    plain = (root / "samples" / "lapwing.toml").read_text(encoding="utf-8")
    try:
        checked = checked_text(rewritten(plain, name))
    except ProblemsError:
        pytest.skip("the reader of designs refuses such a name")
    text = teaching_html(checked, _ON)
    page = _Page(text)
    assert page.faults == []
    usual = _Page(teaching_html(checked_text(plain), _ON))
    assert [tag for tag, _ in page.tags] == [tag for tag, _ in usual.tags]
    assert [sorted(a) for _, a in page.tags] == [sorted(a) for _, a in usual.tags]
    (heading,) = re.findall(r"<h1>(.*?)</h1>", text)
    assert unescape(heading.removeprefix("<bdi>").removesuffix("</bdi>")) == checked.opened.design.name


def test_words_of_a_rulebook_are_words_too(root: Path, tmp_path: Path) -> None:
    book = (root / "rules" / "quarry-lane.toml").read_text(encoding="utf-8")
    changed = re.sub(r'reason = "[^"]*"', 'reason = "</td><script>x</script> & more"', book)
    (tmp_path / "sly.toml").write_text(changed, encoding="utf-8")
    checked = check_car(open_car(root / "samples" / "lapwing.toml", str(tmp_path / "sly.toml")))
    page = _Page(teaching_html(checked, _ON))
    assert page.faults == []
    assert not page.named("script")
    assert "</td><script>x</script> & more" in page.text


def test_a_mark_has_one_shape_on_the_page_and_in_the_drawing(lapwing: Checked) -> None:
    from bodyshop.drawing.sheet.items import Circle
    from bodyshop.output.figures.labels import mark_items
    from bodyshop.output.html.annotated_report import _MARKS

    ringed = {
        outcome
        for outcome in Outcome
        if any(isinstance(item, Circle) for item in mark_items(1, outcome, (0.0, 0.0)))
    }
    assert set(_MARKS) == ringed
