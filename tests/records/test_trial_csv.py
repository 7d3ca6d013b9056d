"""Tables out and in: nothing is lost on the way round, and a wrong table puts nothing in."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.csv_text import guarded, unguarded
from bodyshop.records.book.book import Book
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.csv_in import create_from_csv, import_csv, kind_of_file
from bodyshop.records.book.csv_table import (
    csv_columns,
    export_tables,
    read_cell,
    read_table,
    template_csv,
    write_cell,
)
from bodyshop.records.book.model import (
    KINDS,
    CarRecord,
    MassReading,
    Record,
    TrackRun,
    WeighingStage,
)
from tests.records.trial_books import full_book, small_book

TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
LINES = st.text(
    st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\n\r\t,;\"'=+-@"), max_size=30
)


def tables_of(files: dict[str, bytes]) -> list[tuple[type[Record], bytes, str]]:
    found = []
    for name, data in files.items():
        kind = kind_of_file(name)
        assert kind is not None
        found.append((kind, data, name))
    return found


def problems_in(
    book: Book, kind: type[Record], text: str | bytes, name: str = "t.csv"
) -> tuple[Problem, ...]:
    data = text.encode("utf-8") if isinstance(text, str) else text
    with pytest.raises(ProblemsError) as caught:
        import_csv(book, [(kind, data, name)])
    return caught.value.problems


def test_every_table_goes_round_without_loss(tmp_path: Path) -> None:
    with full_book(tmp_path / "a.trials") as book:
        files = export_tables(book)
        wanted = [book.records(kind, history=True) for kind in KINDS.values()]
    assert set(files) == {f"{name.replace('_', '-')}.csv" for name in KINDS}
    done = create_from_csv(tmp_path / "b.trials", tables_of(files))
    assert done.known == {}
    with Book.open(tmp_path / "b.trials") as book:
        assert [book.records(kind, history=True) for kind in KINDS.values()] == wanted
        assert export_tables(book) == files
        again = import_csv(book, tables_of(files))
        assert again.added == {}
        assert sum(again.known.values()) == sum(len(entries) for entries in wanted)


def test_another_reader_finds_the_same_cells(tmp_path: Path) -> None:
    """The standard library's reader, RFC 4180."""
    with full_book(tmp_path / "a.trials") as book:
        for name, data in export_tables(book).items():
            kind = kind_of_file(name)
            assert kind is not None
            text = data.decode("utf-8-sig")
            rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
            assert rows[0] == list(csv_columns(kind))
            ours = read_table(data, name, rows[0])
            assert [[cell.text for cell in row] for row in ours.rows] == rows[1:]


def test_headings_carry_units_and_every_column_is_explained() -> None:
    for kind in KINDS.values():
        assert all(about.endswith(".") for about in csv_columns(kind).values())
        heading = template_csv(kind).decode("utf-8-sig").strip().split(",")
        assert heading == list(csv_columns(kind))
    assert {"mass_g", "resolution_g"} <= set(csv_columns(MassReading))
    assert {"length_mm", "time_s", "cartridge_before_g", "cartridge_c"} <= set(csv_columns(TrackRun))


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@x", "＝1", "'=1", "''", "'", "'tis", "\t=1", "=cmd|' /C'!A1"]
)
def test_no_text_is_a_formula_and_every_text_comes_back(text: str) -> None:
    cell = guarded(text)
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))
    assert unguarded(cell) == text


@given(LINES)
def test_any_text_comes_back(text: str) -> None:
    column = next(each for each in columns_of(CarRecord) if each.name == "design_text")
    assert read_cell(column, write_cell(column, text)) == text


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e300, max_value=1e300))
def test_any_number_comes_back(number: float) -> None:
    column = next(each for each in columns_of(MassReading) if each.name == "mass_g")
    assert read_cell(column, write_cell(column, number)) == number


@settings(max_examples=60)
@given(
    st.lists(st.tuples(LINES, LINES), min_size=1, max_size=4),
    st.sampled_from(",;\t"),
    st.sampled_from(["\n", "\r\n"]),
)
def test_cells_are_cut_as_the_standard_reader_cuts_them(
    rows: list[tuple[str, str]], mark: str, end: str
) -> None:
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=mark, lineterminator=end, quoting=csv.QUOTE_ALL)
    writer.writerow(("note", "by"))
    writer.writerows(rows)
    table = read_table(text.getvalue().encode("utf-8"), "t.csv", ("note", "by"))
    kept = [row for row in rows if any(cell.strip() for cell in row)]
    assert [tuple(cell.text for cell in row) for row in table.rows] == kept
    for row in table.rows:
        for cell in row:
            line = text.getvalue().replace("\r\n", "\n").replace("\r", "\n").split("\n")[cell.line - 1]
            assert line[cell.column - 1] == '"'


@pytest.mark.parametrize(
    "data",
    [
        b"car,stage,mass_g\nKestrel,blank,341.2\n",
        b'car;stage;mass_g\r\nKestrel;Blank;"341,2"\r\n',
        b"\xef\xbb\xbfcar\tstage\tmass_g\rKestrel\tblank\t341,2 g",
        b"sep=;\ncar;stage;mass_g\nKestrel;blank;0,3412 kg\n",
        b"Mass_G , car,note,stage\n341.2,kestrel,,blank\n\n,,,\n",
        "car,stage,mass_g\nKestrel,blank,341.2\n".encode("utf-16"),
    ],
)
def test_tables_are_read_as_spreadsheets_write_them(tmp_path: Path, data: bytes) -> None:
    with small_book(tmp_path / "a.trials") as book:
        assert import_csv(book, [(MassReading, data, "mass.csv")]).added == {"mass": 1}
        (entry,) = book.records(MassReading)
        assert entry.record == MassReading("Kestrel", WeighingStage.BLANK, 341.2)


def test_every_wrong_cell_is_told_with_its_place_and_nothing_goes_in(tmp_path: Path) -> None:
    table = (
        "car,stage,mass_g,by\n"
        "Kestrel,blank,341.2,ok\n"
        "Kestrel,blnk,heavy,x\n"
        'Wren,"sawn",12 mm,"two\nlines"\n'
        "Kestrle,sawn,120,\n"
        "Wren,sawn,-3,\n"
        "Wren,sawn\n"
        "Wren,sawn,99,,,more\n"
    )
    with small_book(tmp_path / "a.trials") as book:
        told = problems_in(book, MassReading, table)
        places = [(each.span.line, each.span.column, each.code) for each in told if each.span is not None]
        assert places == [
            (3, 9, "csv-cell"),
            (3, 14, "csv-cell"),
            (4, 13, "csv-cell"),
            (6, 1, "book-car"),
            (7, 11, "csv-cell"),
            (8, 6, "csv-cell"),
            (9, 15, "csv-row"),
        ]
        assert told[0].nearest == "blank"
        assert told[3].nearest == "Kestrel"
        assert book.count(MassReading) == 0


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ("", "csv-empty"),
        ("car,stage\nKestrel,blank\n", "csv-column"),
        ("car,stage,mass_g,mas_g\nKestrel,blank,1,1\n", "csv-column"),
        ("car,stage,mass_g,car\n", "csv-column"),
        ('car,stage,mass_g\n"Kestrel,blank,300\n', "csv-quote"),
        (b"car,stage,mass_g\nKestr\xe9l,blank,300\n", "file-encoding"),
        (b"PK\x03\x04\x00\x00", "file-binary"),
        ("id,car,stage,mass_g\n0,Kestrel,blank,300\n", "csv-cell"),
        ("car,stage,mass_g,supersedes\nKestrel,blank,300,1\n", "csv-reason"),
        ("car,stage,mass_g,struck\nKestrel,blank,300,yes\n", "csv-struck"),
        ("car,stage,mass_g,supersedes,reason\nKestrel,blank,300,7,why\n", "book-record"),
        ("car,stage,mass_g,at\nKestrel,blank,300,yesterday\n", "csv-cell"),
        ("car,stage,mass_g\nKestrel,blank,9000\n", "trial-doubt"),
        ('car,stage,mass_g\nKestrel,blank,"1,234,567"\n', "csv-cell"),
    ],
)
def test_a_wrong_table_is_refused(tmp_path: Path, table: str | bytes, code: str) -> None:
    with small_book(tmp_path / "a.trials") as book:
        assert code in [each.code for each in problems_in(book, MassReading, table)]
        assert book.records(MassReading, history=True) == ()


def test_the_byte_that_is_no_utf8_is_told(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        (told,) = problems_in(book, MassReading, b"car,stage,mass_g\nKestr\xe9l,blank,300\n")
        assert told.span is not None
        assert (told.span.line, told.span.column) == (2, 6)


def test_doubtful_rows_go_in_when_they_are_confirmed_or_bring_their_doubt(tmp_path: Path) -> None:
    table = b"car,stage,mass_g\nKestrel,blank,900\n"
    with small_book(tmp_path / "a.trials") as book:
        import_csv(book, [(MassReading, table, "mass.csv")], confirm=True)
        assert "no usual mass" in book.records(MassReading)[0].doubt
        carried = b"car,stage,mass_g,doubt\nWren,blank,900,a lead block\n"
        import_csv(book, [(MassReading, carried, "mass.csv")])
        assert book.records(MassReading, car="Wren")[0].doubt == "a lead block"


def test_a_table_can_correct_and_strike(tmp_path: Path) -> None:
    table = (
        "id,car,stage,mass_g,supersedes,reason,struck\n"
        "1,Kestrel,blank,314.2,,,\n"
        "2,Kestrel,blank,341.2,1,digits swapped,\n"
        "3,Kestrel,blank,341.2,2,fell off,yes\n"
    )
    with small_book(tmp_path / "a.trials") as book:
        import_csv(book, [(MassReading, table.encode(), "mass.csv")])
        history = book.history(MassReading, 1)
        assert [(each.id, each.counts, each.reason) for each in history] == [
            (1, False, ""),
            (2, False, "digits swapped"),
            (3, False, "fell off"),
        ]


def test_a_number_that_the_book_has_for_something_else_is_refused(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        entry = book.add(MassReading("Kestrel", WeighingStage.BLANK, 341.2))
        table = f"id,car,stage,mass_g\n{entry.id},Kestrel,blank,341.3\n"
        (told,) = problems_in(book, MassReading, table)
        assert told.code == "csv-number"
        same = f"id,car,stage,mass_g\n{entry.id},Kestrel,blank,341.2\n"
        assert import_csv(book, [(MassReading, same.encode(), "mass.csv")]).known == {"mass": 1}


def test_one_wrong_table_keeps_all_out(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        before = book.stamp()
        good = (CarRecord, b"name\nSwift\n", "car.csv")
        bad = (MassReading, b"car,stage,mass_g\nSwift,blank,x\n", "mass.csv")
        with pytest.raises(ProblemsError):
            import_csv(book, [good, bad])
        assert book.stamp() == before
        fine = (MassReading, b"car,stage,mass_g\nSwift,blank,340\n", "mass.csv")
        assert import_csv(book, [fine, good]).added == {"car": 1, "mass": 1}


def test_no_book_is_made_of_a_wrong_table(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError) as caught:
        create_from_csv(tmp_path / "a.trials", [(CarRecord, b"name\nSwift\n", "car.csv")])
    assert caught.value.problems[0].code == "csv-event"
    event = ("event.csv", b"name,track_mm\nQuarry Lane Sprint,far\n")
    with pytest.raises(ProblemsError):
        create_from_csv(tmp_path / "a.trials", tables_of(dict([event])))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("name", "kind"),
    [("mass.csv", "mass"), ("Heat-Lane.CSV", "heat_lane"), ("x/run.csv", "run"), ("masses.csv", None)],
)
def test_the_name_of_a_file_is_its_kind(name: str, kind: str | None) -> None:
    assert kind_of_file(name) is (None if kind is None else KINDS[kind])


@given(TEXTS)
def test_text_that_only_looks_guarded_is_kept(text: str) -> None:
    assert unguarded(guarded(text)) == text


MASSES = "car,stage,mass_g\n" + "".join(f"Kestrel,complete,{52.0 + k % 9 / 10}\n" for k in range(28))
DRAGS = "car,speed_m_s,drag_n\n" + "".join(f"Wren,20,{0.18 + k % 11 / 1000}\n" for k in range(36))
ROLLS = "car,ramp_height_mm,ramp_length_mm,run_out_mm\n" + "".join(
    f"{('Kestrel', 'Wren')[k % 2]},150,580,{6600 + 10 * (k % 13)}\n" for k in range(96)
)


def test_a_cell_for_several_numbers_may_be_empty_and_has_none_then() -> None:
    several = [
        column
        for kind in KINDS.values()
        for column in columns_of(kind)
        if column.shape in (ValueType.NUMBERS, ValueType.PAIRS)
    ]
    assert {column.shape for column in several} == {ValueType.NUMBERS, ValueType.PAIRS}
    for column in several:
        assert read_cell(column, " ") == ()


def sheets(*texts: str) -> list[tuple[type[Record], bytes, str]]:
    names = ("mass.csv", "drag.csv", "roll.csv")
    return tables_of({name: text.encode() for name, text in zip(names, texts, strict=False)})


def test_a_sheet_without_numbers_is_read_in_once_however_often_it_is_read(tmp_path: Path) -> None:
    counts = {"mass": 28, "drag": 36, "roll": 96}
    with small_book(tmp_path / "a.trials") as book:
        first = import_csv(book, sheets(MASSES, DRAGS, ROLLS))
        assert (first.added, first.known, first.alike) == (counts, {}, {})  # equal rows are repeats
        again = import_csv(book, sheets(MASSES, DRAGS, ROLLS))
        assert (again.added, again.known, again.alike) == ({}, counts, counts)
        # What was typed beneath is new, an equal reading more too, and cars are found in any case.
        more = MASSES.replace("Kestrel", "KESTREL") + "Kestrel,complete,52.0\nKestrel,complete,53.1\n"
        third = import_csv(book, sheets(more))
        assert (third.added, third.alike) == ({"mass": 2}, {"mass": 28})
        assert import_csv(book, sheets(more)).added == {}
        assert {name: book.count(KINDS[name]) for name in counts} == {**counts, "mass": 30}


def test_a_row_is_known_after_it_was_corrected_or_struck_too(tmp_path: Path) -> None:
    text = "car,stage,mass_g\nKestrel,complete,52.3\nKestrel,complete,25.4\nKestrel,complete,52.5\n"
    with small_book(tmp_path / "a.trials") as book:
        import_csv(book, sheets(text), confirm=True)
        book.correct(MassReading, 2, MassReading("Kestrel", WeighingStage.COMPLETE, 52.4), "digits swapped")
        book.strike(MassReading, 3, "another car")
        for sheet in (text, text.replace("25.4", "52.4")):  # the sheet as it was, and put right as well
            done = import_csv(book, sheets(sheet))
            assert (done.added, done.alike) == ({}, {"mass": 3})
        assert [each.record.mass_g for each in book.records(MassReading)] == [52.3, 52.4]


def test_rows_that_tell_their_moment_or_who_measured_are_known_by_that_too(tmp_path: Path) -> None:
    head = "at,by,car,stage,mass_g\n"
    row = "2031-05-14T10:30:00+01:00,Bench 4,Kestrel,complete,52.3\n"
    with small_book(tmp_path / "a.trials") as book:
        import_csv(book, sheets(head + row))
        assert import_csv(book, sheets(head + row)).added == {}
        later = row.replace("10:30", "10:45")
        assert import_csv(book, sheets(head + row + later)).added == {"mass": 1}
        other = row.replace("Bench 4", "Bench 5")
        assert import_csv(book, sheets(head + row + later + other)).added == {"mass": 1}
        # A row that tells neither is any of them.
        assert import_csv(book, sheets("car,stage,mass_g\n" + 3 * "Kestrel,complete,52.3\n")).added == {}


def test_a_correction_without_a_number_is_known_by_what_it_corrects(tmp_path: Path) -> None:
    head = "car,stage,mass_g,supersedes,reason\n"
    with small_book(tmp_path / "a.trials") as book:
        book.add(MassReading("Kestrel", WeighingStage.COMPLETE, 25.3))
        text = head + "Kestrel,complete,52.3,1,digits swapped\n"
        assert import_csv(book, sheets(text)).added == {"mass": 1}
        assert import_csv(book, sheets(text)).alike == {"mass": 1}
        (problem,) = problems_in(book, MassReading, head + "Kestrel,complete,52.4,1,no\n")
        assert problem.code == "book-corrected"


def test_the_event_and_cars_of_a_sheet_are_known_too(tmp_path: Path) -> None:
    files = tables_of(
        {"event.csv": b"name,lanes\nQuarry Lane Sprint,2\n", "car.csv": b"name,bench\nKestrel,Bench 4\n"}
    )
    create_from_csv(tmp_path / "b.trials", files)
    with Book.open(tmp_path / "b.trials") as book:
        done = import_csv(book, files)
    assert (done.added, done.alike) == ({}, {"event": 1, "car": 1})


def test_a_correction_of_a_result_that_is_not_there_is_told_at_its_cell(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        text = "length_mm,lane,car,end,time_s,supersedes,reason\n20000,1,Kestrel,finished,1.4,7,misread\n"
        (problem,) = problems_in(book, TrackRun, text)
    assert (problem.code, problem.span is not None) == ("book-record", True)
