"""What README.md and the guide show is what the program does today."""

from __future__ import annotations

import re
import shlex
import tomllib
from pathlib import Path

import pytest

from bodyshop.app.cli.commands import COMMANDS
from bodyshop.app.cli.main import main
from bodyshop.app.cli.parser import Parser, UsageError
from bodyshop.output.guide.pages import TOPICS, guide_html, page_source
from tests.app.running import run_here

FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.fixture
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


def named_blocks(topic: str, kind: str) -> list[str]:
    return blocks(page_source(topic), kind)


def blocks(text: str, kind: str) -> list[str]:
    return [body for found, body in FENCE.findall(text) if found == kind]


def test_the_design_is_the_sample(root: Path) -> None:
    shown = tomllib.loads(named_blocks("design", "toml")[0])
    assert shown == tomllib.loads((root / "samples" / "wren.toml").read_text(encoding="utf-8"))


def test_the_rule_is_one_of_the_shipped_ones(root: Path) -> None:
    (shown,) = tomllib.loads(named_blocks("rulebook", "toml")[0])["rule"]
    book = tomllib.loads((root / "rules" / "quarry-lane.toml").read_text(encoding="utf-8"))
    rule = next(each for each in book["rule"] if each["clause"] == shown["clause"])
    assert shown.pop("checked_by") == "program"
    assert shown.pop("min") == f"{rule.pop('min')} mm"
    assert shown == rule


def test_the_report_is_what_is_printed(root: Path, tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    text = (root / "samples" / "wren.toml").read_text(encoding="utf-8").replace("depth = 52", "depth = 47")
    (tmp_path / "samples").mkdir()
    (tmp_path / "samples" / "wren.toml").write_text(text, encoding="utf-8")
    shown = named_blocks("report", "text")[0]
    assert run_here(capsys, "check", "samples/wren.toml").out.startswith(shown)


def test_the_message_is_what_is_printed(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    text = named_blocks("design", "toml")[0].replace('"basswood"', '"baswood"')
    (tmp_path / "wren.toml").write_text(text, encoding="utf-8")
    assert run_here(capsys, "check", "wren.toml").err == named_blocks("report", "text")[1]


def test_every_command_is_told_with_its_options(capsys) -> None:
    page = page_source("commands")
    table = page[page.index("| command |") : page.index("`bodyshop COMMAND --help`")]
    named = re.findall(r"^\| `bodyshop (\w+)", table, re.MULTILINE)
    assert named == sorted(COMMANDS, key=named.index)
    for row in table.splitlines():
        found = re.match(r"\| `bodyshop (\w+)", row)
        if found is None:
            continue
        capsys.readouterr()
        assert main([found[1], "--help"]) == 0
        for verb in re.findall(r"`([a-z]+)\b", row) if " VERB`" in row else []:
            assert main([found[1], verb, "--help"]) == 0
        help_text = capsys.readouterr().out
        for option in re.findall(r"--[a-z]+", row):
            assert option in help_text or option == "--json"


def test_the_default_rulebook_is_named() -> None:
    from bodyshop.rules.checking import DEFAULT_RULEBOOK

    assert f"held against `{DEFAULT_RULEBOOK}`" in page_source("rulebook")


def test_the_pictures_are_there(root: Path, readme: str) -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", readme)
    assert len(pictures) >= 4
    for picture in pictures:
        start = (root / picture).read_bytes()[:500]
        assert b"<svg " in start or start.startswith(b"\x89PNG")


def test_the_readme_is_short_and_names_every_page(root: Path, readme: str) -> None:
    assert len(readme.splitlines()) <= 200
    for topic in TOPICS:
        assert f"[{topic}](" in readme, topic
    for target in re.findall(r"\]\(([^)]+)\)", readme):
        assert (root / target).is_file(), target


def typed(line: str) -> None:
    """Read a command line as the program does, without doing anything."""
    _, command, *words = shlex.split(line)
    parser = Parser(command, "", 80)
    COMMANDS[command].load().configure(parser)
    assert parser.read(words) is not None


@pytest.mark.parametrize("topic", [*TOPICS, "README"])
def test_every_command_line_can_be_typed(root: Path, readme: str, topic: str) -> None:
    text = readme if topic == "README" else page_source(topic)
    lines = [
        line.split("  #")[0].strip()
        for block in re.findall(r"^ *```sh\n(.*?)^ *```$", text, re.MULTILINE | re.DOTALL)
        for line in block.splitlines()
    ]
    for line in lines:
        if line.startswith("bodyshop "):
            typed(line)


def test_a_line_that_cannot_be_typed_is_noticed() -> None:
    with pytest.raises(UsageError, match="means nothing here"):
        typed("bodyshop check wren.toml --colour red")


@pytest.mark.parametrize("topic", TOPICS)
def test_links_of_the_guide_lead_to_pages(topic: str) -> None:
    targets = re.findall(r"\]\(([a-z-]+)\.md\)", page_source(topic))
    assert set(targets) <= set(TOPICS)


def test_the_guide_is_read_in_the_terminal(capsys) -> None:
    listed = run_here(capsys, "guide").out
    assert all(f"  {topic} " in listed for topic in TOPICS)
    page = run_here(capsys, "guide", "student").out
    assert page.startswith("The first ten minutes of a student")
    assert not re.search(r"\*\*|```|\]\(", page)
    assert max(map(len, page.splitlines())) <= 80
    wrong = run_here(capsys, "guide", "studnt")
    assert wrong.code == 2
    assert "did you mean student?" in wrong.err


HOSTILE = "# A\n\n<script>x</script> [b](race.md)"


def test_what_is_html_in_a_page_stays_text(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bodyshop.output.guide.pages.page_source", lambda _: HOSTILE)
    made = guide_html("race")
    assert "<script>" not in made
    assert 'href="/guide/race"' in made
