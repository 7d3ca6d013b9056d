"""How a command is declared: a function with its arguments, or several by a verb."""

from __future__ import annotations

import argparse
import io

import pytest

from bodyshop.app.cli.actions import Verbs, action, verb
from bodyshop.app.cli.arguments import flag, operand, option, whole, within
from bodyshop.app.cli.commands import COMMANDS
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser, UsageError


def run(does, *words: str) -> tuple[Exit, str]:
    out = io.StringIO()
    console = Console(out, io.StringIO())
    parser = Parser("try", "", 80)
    does.configure(parser)
    options = parser.read(words)
    assert options is not None
    code = does.run(options, console)
    return code, out.getvalue()


def saying(word: str):
    def work(options: argparse.Namespace, console: Console) -> None:
        console.write(f"{word} {vars(options)}")

    return work


def test_what_is_not_said_is_empty_for_a_text_and_none_for_a_value() -> None:
    does = action(
        option("--name", "NAME", "a name"),
        option("--count", "N", "a count", whole("count", 1, 9)),
        flag("--all", "all"),
        operand("rest", "REST", "the rest", nargs="?"),
    )(saying("said"))
    code, out = run(does)
    assert code is Exit.PASSES
    assert out == "said {'help': False, 'name': '', 'count': None, 'all': False, 'rest': ''}"
    assert "'count': 4, 'all': True, 'rest': 'x'" in run(does, "x", "--count", "4", "--all")[1]


def test_an_argument_that_takes_something_to_load_is_made_only_when_its_command_runs() -> None:
    made: list[str] = []

    def late():
        made.append("late")
        return flag("--late", "late")

    does = action(late)(saying("said"))
    assert made == []
    assert "'late': True" in run(does, "--late")[1]
    assert made == ["late"]


def test_only_the_verb_that_is_named_runs() -> None:
    verbs = Verbs(
        verb("up", "go up", "Go up.", flag("--far", "far"))(saying("up")),
        verb("down", "go down", "Go down.")(lambda _, __: Exit.FAILS),
    )
    assert run(verbs, "up", "--far")[1].startswith("up ")
    assert run(verbs, "down") == (Exit.FAILS, "")
    with pytest.raises(UsageError, match="did you mean down"):
        run(verbs, "dwon")


@pytest.mark.parametrize("text", ["0", "10", "-3", "2.5", "two", "", "9" * 30])
def test_a_whole_number_is_only_one_between_its_limits(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="is not a count; say 1 to 9"):
        whole("count", 1, 9)(text)
    assert whole("count", 1, 9)("9") == 9


@pytest.mark.parametrize("text", ["nan", "-inf", "1e9", "-0.1", "0.5cm", ""])
def test_a_number_is_only_one_between_its_limits_with_or_without_its_unit(text: str) -> None:
    reads = within("area", 0.0, 1.0, "0 to 1 mm", "mm")
    with pytest.raises(argparse.ArgumentTypeError, match="is not an area; say 0 to 1 mm"):
        reads(text)
    assert reads("0.5mm") == reads(" 0.5 ") == 0.5


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_found_where_the_table_says(name: str) -> None:
    does = COMMANDS[name].load()
    parser = Parser(name, "", 80)
    does.configure(parser)
    assert parser.format_help().startswith(f"usage: bodyshop {name}")
