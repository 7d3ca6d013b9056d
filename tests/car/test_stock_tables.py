"""The strict reader of stock tables, and what all tables have in common."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from bodyshop.car.stock.blades import Saw, blades, read_blades
from bodyshop.car.stock.blanks import blanks, read_blanks
from bodyshop.car.stock.cautions import Authority, Operation, cautions, cautions_for, read_cautions
from bodyshop.car.stock.finish import finishes, read_wares
from bodyshop.car.stock.hardware import hardware, read_hardware
from bodyshop.car.stock.woods import read_woods, woods
from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml.rows import Confidence

GOOD_WOOD = """\
[[wood]]
id = "larch"
label = "larch"
kind = "softwood"
g12 = 0.5
spread = 0.1
source = "from memory"
confidence = "M"

[[moisture]]
humidity_percent = 30
moisture_percent = 6.2
source = "from memory"
"""


def problems_of(tmp_path: Path, text: str | bytes) -> tuple[Problem, ...]:
    file = tmp_path / "woods.toml"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(ProblemsError) as caught:
        read_woods(file)
    return caught.value.problems


def test_a_table_of_ones_own_is_read(tmp_path: Path) -> None:
    file = tmp_path / "woods.toml"
    # editors add byte-order marks, and other systems other newlines
    file.write_bytes(b"\xef\xbb\xbf" + GOOD_WOOD.replace("\n", "\r\n").encode())
    assert list(read_woods(file)) == ["larch"]
    assert read_woods(file)["larch"].bending_mpa is None


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "nearest"),
    [
        ('id = "larch"', 'id = "Larch!"', "stock-value", 2, ""),
        ('label = "larch"', 'label = "  "', "stock-value", 3, ""),
        ('label = "larch"', "label = 7", "stock-value", 3, ""),
        ('kind = "softwood"', 'kind = "softwod"', "stock-value", 4, "softwood"),
        ('kind = "softwood"', "kind = [1]", "stock-value", 4, ""),
        ("g12 = 0.5", 'g12 = "half"', "stock-value", 5, ""),
        ("g12 = 0.5", "g12 = true", "stock-value", 5, ""),
        ("g12 = 0.5", "g12 = 5.0", "stock-range", 5, ""),
        ("g12 = 0.5", "g12 = nan", "stock-range", 5, ""),
        ("g12 = 0.5", "g12 = inf", "stock-range", 5, ""),
        ("g12 = 0.5", "g12 = 1e999", "stock-range", 5, ""),
        ("g12 = 0.5", "g12 = " + 400 * "9", "stock-range", 5, ""),
        ("g12 = 0.5", "density_kg_per_m3 = 500\ng12 = 0.5", "stock-disagree", 2, ""),
        ("g12 = 0.5\n", "", "stock-disagree", 2, ""),
        ("spread = 0.1", "sprad = 0.1\nspread = 0.1", "stock-unknown-key", 6, "spread"),
        ("spread = 0.1\n", "", "stock-missing-key", None, ""),
        (
            "[[moisture]]",
            GOOD_WOOD.split("\n\n", maxsplit=1)[0] + "\n\n[[moisture]]",
            "stock-repeated",
            11,
            "",
        ),
        ("[[moisture]]", "[[moistur]]", "stock-missing-table", None, ""),
        ("[[moisture]]", "[paint]\n\n[[moisture]]", "stock-unknown-table", 10, ""),
        ("g12 = 0.5", "g12 = 0,5", None, 5, ""),
    ],
)
def test_one_fault(
    tmp_path: Path, old: str, new: str, code: str | None, line: int | None, nearest: str
) -> None:
    assert old in GOOD_WOOD
    problems = problems_of(tmp_path, GOOD_WOOD.replace(old, new, 1))
    # the codes of text that is not TOML belong to the floor below
    assert [problem.code if code else None for problem in problems] == [code]
    assert Path(problems[0].file).name == "woods.toml"
    assert problems[0].nearest == nearest
    if line is not None:
        assert problems[0].span is not None
        assert problems[0].span.line == line


def test_all_faults_are_listed_at_once(tmp_path: Path) -> None:
    text = GOOD_WOOD.replace("0.5", "9.0").replace('"M"', '"Z"').replace("30", "300")
    codes = [problem.code for problem in problems_of(tmp_path, text)]
    assert sorted(codes) == ["stock-range", "stock-range", "stock-value"]


@pytest.mark.parametrize("text", [b"\xff\xfe[\x00", b"\x00\x01\x02\xff", b""])
def test_not_text(tmp_path: Path, text: bytes) -> None:
    assert len(problems_of(tmp_path, text)) == 1


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(ProblemsError) as caught:
            read_woods(path)
        assert caught.value.problems[0].file == str(path)


def damaged(tmp_path: Path, table: str, old: str, new: str) -> Path:
    text = (stock_folder() / table).read_text(encoding="utf-8")
    assert old in text
    file = tmp_path / table
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("bore_height_mm = 35", "bore_height_mm = 63", "bore_height_mm"),
        ("bore_height_mm = 35", "bore_height_mm = 8", "bore_height_mm"),
        ("bore_height_mm = 35\n", "", "id"),
        ("bore_depth_mm = 52", "bore_depth_mm = 200\nx = 1", "x"),
        ("bore_diameter_mm = 19.5", "bore_diameter_mm = 50", "bore_diameter_mm"),
        ("length_mm = 305", "length_mm = -305", "length_mm"),
    ],
)
def test_blanks_that_cannot_be(tmp_path: Path, old: str, new: str, key: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_blanks(damaged(tmp_path, "blanks.toml", old, new))
    assert [problem.key.split(".")[-1] for problem in caught.value.problems] == [key]


@pytest.mark.parametrize(
    ("old", "new", "key", "nearest"),
    [
        ('material = "steel"', 'material = "steal"', "material", "steel"),
        ("bore_mm = 3\n", "bore_mm = 20\ndiameter = 2\n", "diameter", "diameter_mm"),
        ("diameter_mm = 32", "diameter_mm = 5", None, ""),
        ("inner_mm = 3.5", "inner_mm = 4", "inner_mm", ""),
        ("pilot_diameter_mm = 1\n", "pilot_diameter_mm = 2\n", "pilot_diameter_mm", ""),
        ("charge_g = 8", "charge_g = 30", "charge_g", ""),
        ("balance_from_base_mm = 31", "balance_from_base_mm = 70", "balance_from_base_mm", ""),
    ],
)
def test_hardware_that_cannot_be(tmp_path: Path, old: str, new: str, key: str | None, nearest: str) -> None:
    file = damaged(tmp_path, "hardware.toml", old, new)
    if key is None:  # a small wheel is odd, not wrong
        assert read_hardware(file).wheels["wheel-front-32"].diameter_mm == 5
        return
    with pytest.raises(ProblemsError) as caught:
        read_hardware(file)
    assert [(p.key.split(".")[-1], p.nearest) for p in caught.value.problems] == [(key, nearest)]


@pytest.mark.parametrize(
    "new",
    ['"your teacher"', "[]", '["your teacher", "your teacher"]', '["the weather"]', "[[1], [2]]", "[1]"],
)
def test_cautions_defer_to_known_authorities(tmp_path: Path, new: str) -> None:
    file = damaged(tmp_path, "cautions.toml", '["your teacher"]', new)
    with pytest.raises(ProblemsError, match="defer_to"):
        read_cautions(file)


def test_finishes_and_blades_are_read_as_strictly(tmp_path: Path) -> None:
    with pytest.raises(ProblemsError, match="film_micrometres"):
        read_wares(damaged(tmp_path, "finish.toml", "film_micrometres = 35", "film_micrometres = -35"))
    with pytest.raises(ProblemsError, match="did you mean bandsaw"):
        read_blades(damaged(tmp_path, "blades.toml", 'saw = "bandsaw"', 'saw = "bandsaws"'))


# ------------------------------------------------------------------ all tables


def all_rows() -> list[tuple[str, str, dict[str, object]]]:
    rows = []
    for file in sorted(stock_folder().glob("*.toml")):
        values = tomllib.loads(file.read_text(encoding="utf-8"))
        rows += [(file.name, table, row) for table, many in values.items() for row in many]
    return rows


def test_every_row_names_its_source_and_invented_ones_say_so() -> None:
    rows = all_rows()
    assert len(rows) > 80
    for file, table, row in rows:
        source = str(row.get("source", ""))
        assert len(source) > 3, (file, table, row)
        if row.get("confidence") == Confidence.INVENTED.value:
            assert "invented" in source, (file, table, row)
        if row.get("confidence") == Confidence.PRACTICE.value:
            assert "common practice, no published source" in source, (file, table, row)


def test_tables_cannot_be_changed_by_accident() -> None:
    with pytest.raises(TypeError):
        woods()["pine"] = woods()["basswood"]  # type: ignore[index]
    with pytest.raises(AttributeError):
        woods()["basswood"].spread = 0.2  # type: ignore[misc]
    assert woods() is woods()
    assert blanks() is blanks()
    assert hardware() is hardware()
    assert finishes() is finishes()


# ------------------------------------------------------------------ blades and cautions

# Three published tables of bandsaw blades, least radius in inches by width; None where one is silent.
PUBLISHED_RADII = {
    "bandsaw-1-8": ("1/8", None, "3/16"),
    "bandsaw-3-16": ("3/8", None, "5/16"),
    "bandsaw-1-4": ("5/8", "5/8", "5/8"),
    "bandsaw-3-8": ("1 1/4", "1 3/8", "1 1/2"),
    "bandsaw-1-2": ("2 1/2", "2 1/2", "2 1/2"),
    "bandsaw-5-8": ("3 3/4", "4", None),
    "bandsaw-3-4": ("5 1/2", "5 1/2", "5 1/2"),
    "bandsaw-1": (None, "7 5/8", "7"),
}


@pytest.mark.parametrize(("blade", "published"), PUBLISHED_RADII.items())
def test_blades_follow_the_most_careful_table(blade: str, published: tuple[str | None, ...]) -> None:
    def inches(text: str) -> float:
        whole, _, part = text.rpartition(" ")
        top, _, bottom = part.partition("/")
        return float(whole or 0) + float(top) / float(bottom or 1)

    widest = max(inches(text) for text in published if text)
    assert blades()[blade].least_radius_mm == pytest.approx(widest * 25.4, abs=0.06)


def test_wider_blades_turn_wider() -> None:
    ordered = sorted(blades().values(), key=lambda blade: blade.width_mm)
    radii = [blade.least_radius_mm for blade in ordered]
    assert radii == sorted(radii)
    assert {blade.saw for blade in ordered} == set(Saw)
    assert all(blade.kerf_mm < blade.width_mm for blade in ordered)


def test_every_operation_has_a_caution_and_every_caution_defers() -> None:
    assert {caution.operation for caution in cautions()} == set(Operation)
    for caution in cautions():
        assert caution.defer_to
        assert caution.sentence.startswith(caution.text)
        assert caution.sentence.endswith(f"{caution.defer_to[-1].value}.")
        assert len(caution.text) < 230
    asked = {authority for caution in cautions() for authority in caution.defer_to}
    assert asked == set(Authority)
    saws = cautions_for(Operation.BANDSAW, Operation.SCROLL_SAW)
    assert {caution.operation for caution in saws} == {Operation.BANDSAW, Operation.SCROLL_SAW}


def test_no_caution_calls_anything_safe() -> None:
    for caution in cautions():
        assert "safe" not in caution.sentence.lower()
        assert "harmless" not in caution.sentence.lower()
