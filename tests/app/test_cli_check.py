"""`bodyshop check` and `measure`: verdicts, exit codes, several designs, JSON, where names are looked up."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.app.running import run_apart, run_here
from tests.documents import valid

PASSING = ["dipper", "heron", "kestrel", "plover", "swift", "wren"]


@pytest.fixture
def here(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with copies of the samples."""
    shutil.copytree(root / "samples", tmp_path / "samples")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("name", PASSING)
def test_a_passing_car(here: Path, capsys, name: str) -> None:
    ran = run_here(capsys, "check", f"samples/{name}.toml")
    assert ran.code == 0
    assert ran.err == ""
    assert ran.out.splitlines()[0].startswith(f"{name.capitalize()} passes ")


def test_a_failing_car(here: Path, capsys) -> None:
    ran = run_here(capsys, "check", "samples/lapwing.toml")
    assert ran.code == 1
    assert ran.out.splitlines()[0].startswith("Lapwing does not pass yet: ")
    # Bore diameter 20.5 where at most 20 is allowed: the line and what to write there.
    assert "line 36: diameter = 20" in " ".join(ran.out.split())


def test_the_line_told_is_the_line_of_the_number(here: Path, capsys) -> None:
    told = run_here(capsys, "check", "samples/lapwing.toml", "--json")
    lines = (here / "samples" / "lapwing.toml").read_text(encoding="utf-8").splitlines()
    remedies = [rule["remedy"] for rule in json.loads(told.out)["designs"][0]["rules"] if rule["remedy"]]
    exact = [each for remedy in remedies for each in remedy["drivers"] if each["new_text"]]
    assert len(exact) >= 3
    for driver in exact:
        assert lines[driver["line"] - 1].lstrip().startswith(driver["key"].rpartition(".")[2])


def test_doing_what_the_report_says_mends_the_rule(here: Path, capsys) -> None:
    file = here / "samples" / "lapwing.toml"
    report = json.loads(run_here(capsys, "check", "samples/lapwing.toml", "--json").out)["designs"][0]
    rules = {rule["clause"]: rule for rule in report["rules"]}
    broken = [clause for clause, rule in rules.items() if rule["outcome"] == "fail"]
    tried = 0
    for clause in broken:
        for driver in rules[clause]["remedy"]["drivers"]:
            if not driver["new_text"]:
                continue
            lines = file.read_text(encoding="utf-8").splitlines()
            key, _, rest = lines[driver["line"] - 1].partition("=")
            comment = rest.partition("#")[2]
            lines[driver["line"] - 1] = f"{key}= {driver['new_text']}" + (f" #{comment}" if comment else "")
            mended = here / "mended.toml"
            mended.write_text("\n".join(lines), encoding="utf-8")
            after = json.loads(run_here(capsys, "check", "mended.toml", "--json").out)["designs"][0]
            outcome = {rule["clause"]: rule["outcome"] for rule in after["rules"]}[clause]
            assert outcome in ("pass", "near"), clause
            tried += 1
    assert tried >= 3


def test_full_tells_where_and_why_for_every_rule(here: Path, capsys) -> None:
    short = run_here(capsys, "check", "samples/lapwing.toml").out
    full = run_here(capsys, "check", "samples/lapwing.toml", "--full").out
    failed = sum(
        rule["outcome"] == "fail"
        for rule in json.loads(run_here(capsys, "check", "samples/lapwing.toml", "--json").out)["designs"][0][
            "rules"
        ]
    )
    assert full.count("    Measured  ") == failed > short.count("    Measured  ") > 3
    assert full.count("    Where     ") == failed
    assert full.count("    Why       ") == failed


def test_several_designs_get_a_line_each(here: Path, capsys) -> None:
    (here / "broken.toml").write_text("format = 1\nname = 5\n", encoding="utf-8")
    ran = run_here(capsys, "check", "samples/wren.toml", "samples/lapwing.toml", "broken.toml")
    assert ran.code == 2
    wren, lapwing, broken, total = ran.out.splitlines()
    assert wren.startswith("Wren ")
    assert wren.endswith("passes")
    assert "FAILS" in lapwing
    assert "B3" in lapwing
    assert "cannot be read" in broken
    assert total == "3 designs: 1 pass, 1 fail, 1 cannot be read"
    assert "broken.toml:2:8: error wrong-type" in ran.err


def test_several_designs_that_pass_or_fail(here: Path, capsys) -> None:
    assert run_here(capsys, "check", "samples/wren.toml", "samples/kestrel.toml").code == 0
    assert run_here(capsys, "check", "samples/wren.toml", "samples/lapwing.toml").code == 1


def test_stars_are_filled_in_where_the_shell_has_not(here: Path, capsys) -> None:
    ran = run_here(capsys, "check", "samples/*r*n.toml")
    assert [line.split()[0] for line in ran.out.splitlines()] == ["Heron", "Wren", "2"]


@pytest.mark.parametrize("name", ["kestrel", "kestrel.toml", "samples/kestrel.toml", "samples\\kestrel.toml"])
def test_a_shipped_sample_is_found_from_an_empty_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run_here(capsys, "check", name)
    assert ran.code == 0
    assert f'No file "{name}" here, so this is the built-in sample kestrel.' in ran.err
    assert "samples/kestrel.toml, checked against" in ran.out
    assert str(tmp_path) not in ran.out


def test_a_file_of_ones_own_comes_before_a_sample(here: Path, capsys) -> None:
    text = (here / "samples" / "wren.toml").read_text(encoding="utf-8")
    (here / "kestrel.toml").write_text(text, encoding="utf-8")
    assert run_here(capsys, "check", "kestrel.toml").out.startswith("Wren passes")


def test_a_design_is_found_without_its_ending(here: Path, capsys) -> None:
    shutil.copy(here / "samples" / "wren.toml", here / "robin.toml")
    assert run_here(capsys, "check", "robin").out.startswith("Wren passes")


def test_the_default_rulebook_is_told(here: Path, capsys) -> None:
    text = (here / "samples" / "wren.toml").read_text(encoding="utf-8")
    (here / "own.toml").write_text(text.replace('rulebook = "quarry-lane"\n', ""), encoding="utf-8")
    ran = run_here(capsys, "check", "own.toml")
    assert ran.code == 0
    assert "the default; the design names no rulebook" in " ".join(ran.out.split())


def test_another_rulebook_by_name_and_by_path(root: Path, here: Path, capsys) -> None:
    by_name = run_here(capsys, "check", "samples/wren.toml", "--rulebook", "quarry-lane-inch")
    assert "Quarry Lane Sprint, inch sheet" in " ".join(by_name.out.split())
    shutil.copy(root / "rules" / "quarry-lane.toml", here / "ours.toml")
    text = (here / "ours.toml").read_text(encoding="utf-8")
    (here / "ours.toml").write_text(text.replace("max = 305", "max = 250", 1), encoding="utf-8")
    by_path = run_here(capsys, "check", "samples/wren.toml", "--rulebook", "ours.toml")
    assert by_path.code == 1
    assert "260.0 mm; the rule says 200 to 250 mm: 10 mm too much" in by_path.out


def test_a_rulebook_beside_the_design(root: Path, here: Path, capsys, monkeypatch) -> None:
    shutil.copy(root / "rules" / "quarry-lane.toml", here / "samples" / "club.toml")
    text = (here / "samples" / "wren.toml").read_text(encoding="utf-8")
    (here / "samples" / "wren.toml").write_text(
        text.replace('"quarry-lane"', '"club.toml"'), encoding="utf-8"
    )
    assert run_here(capsys, "check", "samples/wren.toml").code == 0
    monkeypatch.chdir(here / "samples")
    assert run_here(capsys, "check", "wren.toml").code == 0


def test_a_division(here: Path, capsys) -> None:
    (here / "ours.toml").write_text(
        'format = 1\nname = "Ours"\nunits = "mm"\ninherits = "quarry-lane"\n'
        'divisions = ["beginner", "open"]\n'
        '[[change]]\nclause = "B1"\nmax = 250\ndivision = "open"\nbecause = "Shorter cars."\n',
        encoding="utf-8",
    )
    plain = run_here(capsys, "check", "samples/wren.toml", "--rulebook", "ours.toml")
    shorter = run_here(capsys, "check", "samples/wren.toml", "--rulebook", "ours.toml", "--division", "open")
    assert (plain.code, shorter.code) == (0, 1), plain.err
    assert "checked against Ours, open" in " ".join(shorter.out.split())
    wrong = run_here(capsys, "check", "samples/wren.toml", "--rulebook", "ours.toml", "--division", "opne")
    assert wrong.code == 2
    assert "did you mean open?" in " ".join(wrong.err.split())


def test_a_rule_that_cannot_be_judged_is_no_pass(here: Path, capsys) -> None:
    # A wheel so small that the car does not stand: heights over the track cannot be told.
    (here / "rules.toml").write_text(
        'format = 1\nname = "Plain"\nunits = "mm"\n[reading]\nresolution = 0.1\n'
        '[kit]\nblank = "larkfield-block"\nwood = "basswood"\naxle = "axle-3"\n'
        'front_wheel = "wheel-front-32"\nrear_wheel = "wheel-rear-34"\n'
        'screw_eye = "screw-eye-small"\ncartridge = "cartridge-8g"\n'
        '[[rule]]\nclause = "1"\nmeasure = "rear_eye.from_axle"\nmax = 25\nfails = "disqualify"\n'
        'reason = "Near the axle."\n',
        encoding="utf-8",
    )
    text = (here / "samples" / "wren.toml").read_text(encoding="utf-8")
    one_eye = text[: text.rindex("[[screw_eye]]")]
    (here / "one.toml").write_text(one_eye, encoding="utf-8")
    ran = run_here(capsys, "check", "one.toml", "--rulebook", "rules.toml")
    report = json.loads(run_here(capsys, "check", "one.toml", "--rulebook", "rules.toml", "--json").out)
    outcome = report["designs"][0]["rules"][0]["outcome"]
    assert (ran.code, outcome) in [(2, "cannot judge"), (0, "pass")]
    if outcome == "cannot judge":
        assert "cannot be judged yet" in ran.out
        assert "Could not be judged" in ran.out


def test_warnings_do_not_stop_it(here: Path, capsys) -> None:
    text = (here / "samples" / "wren.toml").read_text(encoding="utf-8")
    crlf = text.replace("\n", "\r\n").encode("utf-8")
    (here / "windows.toml").write_bytes(b"\xef\xbb\xbf" + crlf)
    assert run_here(capsys, "check", "windows.toml").code == 0


# ---------------------------------------------------------------- JSON


def test_json_of_passing_failing_and_broken(here: Path, capsys) -> None:
    (here / "broken.toml").write_text('format = 1\nname = 5\n[plan]\npoints = "x"\n', encoding="utf-8")
    ran = run_here(capsys, "check", "--json", "samples/wren.toml", "samples/lapwing.toml", "broken.toml")
    document = valid(ran.out)
    assert ran.code == document["exit_code"] == 2
    wren, lapwing, broken = document["designs"]
    assert (wren["result"], wren["passes"]) == ("legal", True)
    assert (lapwing["result"], lapwing["passes"]) == ("not legal", False)
    assert (broken["result"], broken["passes"]) == ("cannot be read", None)
    places = [(problem["file"], problem["line"], problem["column"]) for problem in broken["problems"]]
    assert ("broken.toml", 2, 8) in places
    assert len(places) >= 3
    assert ran.err == "1 of 3 cannot be read: see problems in the JSON.\n"


@pytest.mark.parametrize("name", [*PASSING, "lapwing"])
def test_json_of_every_sample_is_as_documented(here: Path, capsys, name: str) -> None:
    ran = run_here(capsys, "check", "--json", f"samples/{name}.toml")
    document = valid(ran.out)
    (design,) = document["designs"]
    assert document["exit_code"] == ran.code
    assert "-0.0" not in ran.out.replace("-0.0000", "")
    assert [rule["clause"] for rule in design["rules"] if rule["outcome"] == "fail"] == [
        rule["clause"] for rule in design["rules"][: design["counts"]["fail"]]
    ]
    mass = design["mass"]["without_cartridge"]
    assert mass["low_g"] < mass["mass_g"] < mass["high_g"]
    assert sum(item["mass_g"] for item in design["mass"]["items"]) == pytest.approx(mass["mass_g"], abs=1e-4)
    for rule in design["rules"]:
        if rule["outcome"] == "fail":
            assert rule["margin"] == pytest.approx(-rule["over"])
            assert rule["over"] > 0
            assert rule["remedy"]["amount"] >= rule["over"] - 1e-6
            assert rule["place"] is None or len(rule["place"]["points"][0]) == 3


def test_measure_as_text_and_json(here: Path, capsys) -> None:
    text = run_here(capsys, "measure", "samples/kestrel.toml")
    assert text.code == 0
    ran = run_here(capsys, "measure", "samples/kestrel.toml", "--json")
    document = valid(ran.out)
    assert len(document["measures"]) > 50
    for measure in document["measures"]:
        ends = ", from " if measure["between"][0] else ""
        assert f"      {measure['id']}{ends}" in text.out
        assert measure["text"] in text.out
    values = {measure["id"]: measure["value"] for measure in document["measures"]}
    # Read off the drawing: the axles of kestrel.toml stand at x = 55 and x = 235 mm.
    assert values["car.wheelbase"] == 180.0


def test_inches_are_told_in_inches(here: Path, capsys) -> None:
    ran = run_here(capsys, "measure", "samples/dipper.toml")
    assert " mm" not in ran.out
    assert "10.750 in (10 3/4)" in ran.out


def test_the_fingerprint_is_the_same_everywhere(here: Path, capsys) -> None:
    told = json.loads(run_here(capsys, "check", "--json", "samples/wren.toml").out)["designs"][0][
        "fingerprint"
    ]
    assert told in run_here(capsys, "check", "samples/wren.toml").out
    assert told in run_here(capsys, "measure", "samples/wren.toml").out


def test_a_process_of_its_own_says_the_same(here: Path, capsys) -> None:
    inside = run_here(capsys, "check", "samples/lapwing.toml")
    apart = run_apart("check", "samples/lapwing.toml", folder=here)
    assert apart.returncode == inside.code == 1
    assert apart.stdout.decode("utf-8").replace("\r\n", "\n") == inside.out
    assert apart.stderr == b""
