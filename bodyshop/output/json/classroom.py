"""A class for other programs: complete, with a version, described by `class.schema.json`.

What may change without a new version: keys are added, sentences are worded better. Anything else counts
the version up.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop import __version__
from bodyshop.foundation.problems import Problem
from bodyshop.output.json.plain_data import Data, json_text, number, problem_data
from bodyshop.output.words.classroom import headline
from bodyshop.records.classroom.discovery import AppliedRulebook, CarRow, UnreadRow
from bodyshop.records.classroom.stock_plan import StockLine
from bodyshop.records.classroom.summary import BrokenRuleCount, ClassReport, SameShapeCars

__all__ = ["CLASS_FORMAT", "CLASS_SCHEMA", "CLASS_VERSION", "class_json"]

CLASS_FORMAT: Final = "bodyshop-class"
CLASS_VERSION: Final = 2
CLASS_SCHEMA: Final = Path(__file__).with_name("schemas") / "class.schema.json"


def class_json(report: ClassReport, exit_code: int) -> str:
    """The document as text."""
    figures = report.plan.figures
    return json_text(
        {
            "format": CLASS_FORMAT,
            "version": CLASS_VERSION,
            "program": __version__,
            "exit_code": exit_code,
            "folder": _whole(report.folder),
            "sentence": headline(report),
            "counts": {
                "designs": report.designs,
                "pass": report.passing,
                "fail": report.failing,
                "probably_fail": report.probably_failing,
                "not_judged": report.unknown,
                "unread": len(report.unread),
            },
            "rulebooks": [_book(book) for book in report.books],
            "cars": [_car(car) for car in report.cars],
            "unread": [_unread(row) for row in report.unread],
            "skipped": [{"file": _whole(row.file), "what": row.what} for row in report.skipped],
            "closed": [_problem(problem) for problem in report.closed],
            "rules_broken": [_broken(each) for each in report.broken],
            "alike": [_alike(each) for each in report.alike],
            "stock": {
                "cars": report.plan.cars,
                "spare_share": number(figures.spare_share),
                "cartridges_per_car": figures.runs,
                "rod_cut_mm": number(figures.rod_cut_mm),
                "straw_cut_mm": number(figures.straw_cut_mm),
                "straw_mm": number(figures.straw_mm),
                "lines": [_line(line) for line in report.plan.lines],
            },
        }
    )


def _whole(text: str) -> str:
    """A file's name as it is, but for bytes that are no letters: half a letter is no JSON."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _book(book: AppliedRulebook) -> Data:
    return {
        "key": book.key,
        "name": book.name,
        "division": book.division,
        "file": _whole(book.file),
        "fingerprint": book.fingerprint,
    }


def _car(car: CarRow) -> Data:
    return {
        "file": _whole(car.file),
        "name": car.name,
        "bench": car.bench,
        "units": car.units,
        "rulebook": car.book,
        "by_default": car.by_default,
        "verdict": car.standing.value,
        "failed": list(car.failed),
        "too_close": list(car.too_close),
        "near": list(car.near),
        "advised": list(car.advised),
        "not_judged": list(car.unjudged),
        "points_off": number(car.points_off),
        "mass": {
            "mass_g": number(car.mass_g),
            "low_g": number(car.low_g),
            "high_g": number(car.high_g),
            "with_full_cartridge_g": number(car.loaded_g),
        },
        "fingerprint": car.fingerprint,
        "shape": car.shape,
        "problems": [_problem(problem) for problem in car.warnings],
    }


def _unread(row: UnreadRow) -> Data:
    return {
        "file": _whole(row.file),
        "count": row.count,
        "problems": [_problem(problem) for problem in row.problems],
    }


def _broken(broken: BrokenRuleCount) -> Data:
    return {
        "rulebook": broken.book.key,
        "clause": broken.clause,
        "title": broken.title,
        "cars": broken.cars,
        "of": broken.of,
    }


def _alike(alike: SameShapeCars) -> Data:
    return {
        "shape": alike.cars[0].shape,
        "same_design": alike.same,
        "files": [_whole(car.file) for car in alike.cars],
    }


def _problem(problem: Problem) -> Data:
    return problem_data(replace(problem, file=_whole(problem.file)))


def _line(line: StockLine) -> Data:
    return {
        "supply": line.supply.value,
        "item": line.item,
        "label": line.label,
        "need": line.need,
        "get": line.get,
        "cut_mm": number(line.cut_mm),
        "rod_mm": number(line.rod_mm),
        "longest_mm": number(line.longest_mm),
        "too_long": line.too_long,
        "area_mm2": number(line.area_mm2),
    }
