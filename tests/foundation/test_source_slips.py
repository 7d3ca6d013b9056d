"""Texts that are not TOML: one clear problem each, at the right spot, in words for the slip it is."""

import tomllib

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import parse_source

QUOTED = "toml-unquoted"

# (text, code, pieces of the sentence, line, column, the part pointed at up to the end of its line)
SLIPS = [
    ("x = 12 mm", QUOTED, ("needs quotes", 'expected "12 mm"'), 1, 5, "12 mm"),
    ("x = 12mm", QUOTED, ('"12mm"',), 1, 5, "12mm"),
    ("a=1\n\tx = 12 mm # é", QUOTED, ('"12 mm"',), 2, 6, "12 mm"),
    ("x = 3 mm\r\ny = 2\r\n", QUOTED, ('"3 mm"',), 1, 5, "3 mm"),
    ("x = 1 5/8 in", QUOTED, ('"1 5/8 in"',), 1, 5, "1 5/8 in"),
    ("x = 1 5/8", QUOTED, ('"1 5/8"',), 1, 5, "1 5/8"),
    ('x = 2"', QUOTED, ("expected '2\"'",), 1, 5, '2"'),
    ('x = 2-3/4"', QUOTED, ("'2-3/4\"'",), 1, 5, '2-3/4"'),
    ("x = 30 deg", QUOTED, ('"30 deg"',), 1, 5, "30 deg"),
    ("x = 52 g", QUOTED, ('"52 g"',), 1, 5, "52 g"),
    ("x = 160 kg/m3", QUOTED, ('"160 kg/m3"',), 1, 5, "160 kg/m3"),
    ("x = 5'", QUOTED, ("feet", "inches"), 1, 5, "5'"),
    ('x = "5" mm', QUOTED, ("outside the quotes", '"5 mm"'), 1, 5, '"5" mm'),
    ("x = wall * 2", QUOTED, ("arithmetic", '"wall * 2"'), 1, 5, "wall * 2"),
    ("x = (wall + 2) / 3", QUOTED, ("arithmetic",), 1, 5, "(wall + 2) / 3"),
    ("x = 5 - 2", QUOTED, ("arithmetic",), 1, 5, "5 - 2"),
    ("x = max(2, 3)", QUOTED, ("arithmetic",), 1, 5, "max(2, 3)"),
    ("units = mm", QUOTED, ("text needs quotes", '"mm"'), 1, 9, "mm"),
    ("name = Blue tit", QUOTED, ('"Blue tit"',), 1, 8, "Blue tit"),
    ("x = [1, 2 mm]", QUOTED, ('"2 mm"',), 1, 9, "2 mm"),
    ("x = [a, b]", QUOTED, ('"a"',), 1, 6, "a"),
    ("w = { d = 5, t = 2 mm }", QUOTED, ('"2 mm"',), 1, 18, "2 mm"),
    ("x = .5", "toml-point", ("both sides", "expected 0.5"), 1, 5, ".5"),
    ("x = -5.", "toml-point", ("expected -5.0",), 1, 5, "-5."),
    ("x = [.5, 2]", "toml-point", ("expected 0.5",), 1, 6, ".5"),
    ("x = 2,5", "toml-comma", ("comma", "2.5"), 1, 5, "2,5"),
    ("x = 2,5 mm", "toml-comma", ("comma", '"2.5 mm"'), 1, 5, "2,5 mm"),
    ("x = 007", "toml-zero", ("needless", "expected 7"), 1, 5, "007"),
    ("x = True", "toml-truth", ("expected true",), 1, 5, "True"),
    ("x = yes", "toml-truth", ("expected true",), 1, 5, "yes"),
    ("x =", "toml-no-value", ("no value",), 1, 4, ""),
    ("x = # later", "toml-no-value", ("no value",), 1, 5, "#"),
    ("x = @", "toml-value", ("@ does not begin a value",), 1, 5, "@"),
    ("x = 2024-02-30", "toml-date", ("does not exist",), 1, 5, "2"),
    ('name = "Wren\nx = 1', "toml-quotes", ("opened here and not closed on this line",), 1, 8, '"Wren'),
    ("name = 'Wren", "toml-quotes", ("opened here and not closed",), 1, 8, "'Wren"),
    ('name = Wren"', "toml-quotes", ("before this text is missing", '"Wren"'), 1, 8, 'Wren"'),
    ("name = “Wren”", "toml-quotes", ("“ is a curly quote mark",), 1, 8, "“"),
    ('name = "Wren”', "toml-quotes", ("” is a curly quote mark",), 1, 13, "”"),
    ("x = 'it's'", "toml-quotes", ("ends the quoted text",), 1, 9, "s"),
    ('x = ["a, "b"]', "toml-quotes", ("do not go in pairs",), 1, 1, 'x = ["a, "b"]'),
    ('x = """a\nb', "toml-quotes", ("never closed",), 1, 5, '"""'),
    ("x = '''a\nb", "toml-quotes", ("never closed",), 1, 5, "'''"),
    ('x = "2-3/4""', "toml-inch-mark", ("inch mark ends", '"2-3/4 in"'), 1, 11, '""'),
    (r'x = "C:\Users"', "toml-backslash", ("backslash", "single quotes"), 1, 10, None),
    (r'x = "\q"', "toml-backslash", ("backslash",), 1, None, None),
    ("x = [1, 2", "toml-bracket", ("the list opened here is not closed",), 1, 5, "["),
    ("x = [\n1,\n2\ny = 3", "toml-bracket", ("the list opened here is not closed",), 1, 5, "["),
    ("x = [\n  1,\n\n[bore]\nd = 3", "toml-bracket", ("not closed",), 1, 5, "["),
    ("x = [\n  [0, 0],\n  [10, 5\n]\ny = 3", "toml-bracket", ("not closed",), 3, 3, "["),
    ("x = 1]", "toml-bracket", ("a ] too many",), 1, 6, "]"),
    ("x = [1, 2]]", "toml-bracket", ("a ] too many",), 1, 11, "]"),
    ("x = [1, 2}", "toml-bracket", ("} cannot close a list", "expected ]"), 1, 10, "}"),
    ("x = [1, 2)", "toml-bracket", (") cannot close a list",), 1, 10, ")"),
    ("w = { a = 1 ]", "toml-bracket", ("] cannot close what { opens",), 1, 13, "]"),
    ("w = { a = 1,\n b = 2 }", "toml-bracket", ("on the same line",), 1, 5, "{"),
    ("w = { a = 1", "toml-bracket", ("on the same line",), 1, 5, "{"),
    ("[bore\nd = 2", "toml-bracket", ("name of a table is not closed",), 1, 1, "[bore"),
    ("[[eye]\nd = 2", "toml-bracket", ("not closed", "expected ]]"), 1, 1, "[[eye]"),
    ("[bore]]", "toml-bracket", ("a ] too many",), 1, 7, "]"),
    ("]", "toml-bracket", ("a ] too many",), 1, 1, "]"),
    ("x = [[0, 0], [1 2]]", "toml-comma", ("a comma is missing before this value",), 1, 17, "2"),
    ("x = [\n [0, 0]\n [1, 1]]", "toml-comma", ("a comma is missing",), 3, 2, "["),
    ("x = [1,,2]", "toml-comma", ("a comma too many",), 1, 8, ","),
    ("w = { a = 1, }", "toml-comma", ("a comma too many before }",), 1, 12, ","),
    ("w = { a = 1 b = 2 }", "toml-comma", ("a comma is missing",), 1, 13, "b"),
    ('name "Wren"', "toml-equals", ("no =", "name = value"), 1, 1, 'name "Wren"'),
    ('name: "Wren"', "toml-equals", ("not by :",), 1, 5, ":"),
    ("x == 5", "toml-equals", ("one = is enough",), 1, 4, "="),
    ("w = { a 1 }", "toml-equals", ("no =",), 1, 9, "1"),
    ("a = 1\n\n   this is text", "toml-equals", ("no =",), 3, 4, "this is text"),
    ("body length = 5", "toml-name", ("a space in it", "body_length"), 1, 1, "body length"),
    ("größe = 5", "toml-name", ("letters that need quotes", '"größe"'), 1, 1, "größe"),
    ("a.größe = 5", "toml-name", ('"größe"',), 1, 3, "größe"),
    ("é = 1", "toml-name", ('"é"',), 1, 1, "é"),
    ("[a b]", "toml-name", ("a space in it",), 1, 1, "[a b]"),
    ("[]", "toml-name", ("no name",), 1, 1, "[]"),
    ("= 5", "toml-no-name", ("no name stands before =",), 1, 1, "="),
    ("// remark", "toml-comment", ("begins with #",), 1, 1, "// remark"),
    ("x = 5 // remark", "toml-comment", ("begins with #",), 1, 7, "/"),
    ("x = 5;", "toml-extra", ("no ; is needed",), 1, 6, ";"),
    ("x = 5,", "toml-extra", ("no , is needed",), 1, 6, ","),
    ("x = 5, y = 6", "toml-extra", ("a line of its own",), 1, 6, ", y = 6"),
    ("x = 5 y = 6", "toml-extra", ("a line of its own",), 1, 7, "y = 6"),
    ("x = 1 2", "toml-extra", ("left over", "one value on a line"), 1, 7, "2"),
    ('x = "é" y', "toml-extra", ("left over",), 1, 9, "y"),
    ("x = 1\ry = 2\r", "toml-line-end", ("usual line ends",), 1, 6, None),
    ('x = "a\x01"', "toml-character", (r"\x01 may not stand here",), 1, 7, None),
    ("x = 1\ny = 2\nx = 3", "toml-repeated", ('"x" is given twice',), 3, 1, "x"),
    ("[a]\nb = 1\n[c]\n[a]", "toml-repeated", ('table "a" is given twice',), 4, 2, "a"),
    ("a = 1\na.b = 2", "toml-repeated", ('"a.b"',), 2, 3, "b"),
    ("w = { c = 1, c = 2 }", "toml-repeated", ('"w.c"',), 1, 14, "c"),
    ("x = 1\nx = 2", "toml-repeated", ('"x"',), 2, 1, "x"),
]


def the_problem(text: str) -> Problem:
    with pytest.raises(ProblemsError) as caught:
        parse_source(text, "wren.toml")
    (problem,) = caught.value.problems
    return problem


@pytest.mark.parametrize(
    ("text", "code", "pieces", "line", "column", "part"), SLIPS, ids=[row[0][:24] for row in SLIPS]
)
def test_slips(
    text: str, code: str, pieces: tuple[str, ...], line: int, column: int | None, part: str | None
) -> None:
    problem = the_problem(text)
    assert problem.code == code
    assert [piece for piece in pieces if piece not in problem.sentence] == []
    assert problem.file == "wren.toml"
    assert problem.sentence.isprintable()
    span = problem.span
    assert span is not None
    assert span.line == line
    assert column is None or span.column == column
    if part is not None and span.end_line == line:
        assert text.split("\n")[line - 1][span.column - 1 : span.end_column - 1] == part


@pytest.mark.parametrize("row", SLIPS, ids=[row[0][:24] for row in SLIPS])
def test_slips_further_down_a_file(
    row: tuple[str, str, tuple[str, ...], int, int | None, str | None],
) -> None:
    text, code, _, line, column, _ = row
    above = '# Straße\nkept = ["é", { "#" = "]" }]\n'
    problem = the_problem(above + text)
    assert problem.code == code
    assert problem.span is not None
    assert problem.span.line == line + 2
    assert column is None or problem.span.column == column


def test_the_other_place_is_told() -> None:
    repeated = the_problem("x = 1\ny = 2\nx = 3")
    assert [(said, span.line, span.column) for said, span in repeated.related] == [("first given here", 1, 1)]
    unclosed = the_problem("x = [\n1,\n2\ny = 3")
    assert [(said, span.line) for said, span in unclosed.related] == [("noticed here", 4)]
    comma = the_problem("x = [\n [0, 0]\n [1, 1]]")
    assert [(said, span.line, span.column) for said, span in comma.related] == [
        ("the list is opened here", 1, 5)
    ]


def test_unknown_slips_keep_the_words_of_the_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(text: str) -> dict[str, object]:
        raise tomli.TOMLDecodeError("Something new", text, 8)

    monkeypatch.setattr(tomli, "loads", refuse)
    problem = the_problem("a = 1\nbcd = 2\n")
    assert problem.code == "toml-syntax"
    assert problem.sentence == "this is not TOML: something new"
    assert problem.where == "wren.toml:2:3"


WRECKS = st.lists(
    st.sampled_from(
        [
            "x",
            " = ",
            "1",
            "12 mm",
            '"',
            "'",
            '"""',
            "[",
            "]",
            "[[",
            "{",
            "}",
            ",",
            ".",
            "\n",
            "\r\n",
            "#",
            "é",
            "“",
        ]
    ),
    max_size=16,
).map("".join)


@given(WRECKS)
def test_any_wreck_is_one_problem(text: str) -> None:
    assert_read_or_one_problem(text)


@given(st.text(max_size=40))
def test_any_text_is_read_or_one_problem(text: str) -> None:
    assert_read_or_one_problem(text)


def assert_read_or_one_problem(text: str) -> None:
    problems: tuple[Problem, ...] | None = None
    try:
        source = parse_source(text, "f")
        assert source.values == tomllib.loads(text.removeprefix("\ufeff"))
    except ProblemsError as error:
        problems = error.problems
    if problems is not None:
        (problem,) = problems
        assert problem.message
        assert problem.sentence.isprintable()
        assert len(problem.sentence) < 400
        if problem.span is not None:
            assert 1 <= problem.span.line <= text.count("\n") + 1
