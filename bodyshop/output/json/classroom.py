"""A class for other programs."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from bodyshop.output.json.document import HEAD, Document, JsonRecord, about, number
from bodyshop.output.json.parts import DesignUnit, ExitCode, ProblemData, problem_data
from bodyshop.output.words.classroom import headline
from bodyshop.records.classroom.discovery import (
    AppliedRulebook,
    CarRow,
    CarState,
    SupplyShelf,
)
from bodyshop.records.classroom.stock_plan import StockLine
from bodyshop.records.classroom.summary import ClassReport

__all__ = ["ClassDocument", "class_data"]

_Count = Annotated[int, Meta(ge=0)]
_Some = Annotated[int, Meta(ge=1)]


class ClassCountsData(JsonRecord, frozen=True, rename={"passing": "pass"}):
    """How many cars stand how."""

    designs: Annotated[_Count, about("Files that are, or ought to be, designs.")]
    passing: _Count
    fail: Annotated[_Count, about("Cars that break a rule, be it for a point.")]
    probably_fail: Annotated[
        _Count, about("Cars of which an estimate is outside a limit, but not with its whole range.")
    ]
    not_judged: Annotated[
        _Count, about("Cars that could not be judged by every rule and break none of the others.")
    ]
    unread: _Count


class AppliedRulebookData(JsonRecord, frozen=True):
    """A rulebook that cars were judged by."""

    key: Annotated[str, about("What cars name it by in this document.")]
    name: str
    division: Annotated[str, about("Empty where none was chosen.")]
    file: str
    fingerprint: str


class CarMassData(JsonRecord, frozen=True):
    """An estimate; low and high are two standard deviations to either side."""

    mass_g: Annotated[float, about("Without a cartridge.")]
    low_g: float
    high_g: float
    with_full_cartridge_g: float


class ClassCarData(JsonRecord, frozen=True):
    """A car of the class."""

    file: Annotated[str, about("Below the folder, with / on every system.")]
    name: str
    bench: str
    units: DesignUnit
    rulebook: Annotated[str, about("Key of the rulebook.")]
    by_default: Annotated[bool, about("Whether the design names no rulebook.")]
    verdict: CarState
    failed: Annotated[tuple[str, ...], about("Clauses broken, worst first.")]
    too_close: Annotated[
        tuple[str, ...],
        about("Clauses on an estimate whose range crosses a limit: too close to tell."),
    ]
    near: Annotated[tuple[str, ...], about("Clauses kept by less than a sawn line can be out.")]
    advised: Annotated[tuple[str, ...], about("Clauses of mere advice that are not kept.")]
    not_judged: Annotated[tuple[str, ...], about("Clauses that could not be judged.")]
    points_off: Annotated[float, Meta(ge=0.0)]
    mass: CarMassData
    fingerprint: Annotated[str, about("Of the design, as on its papers.")]
    shape: Annotated[str, about("Of the body's geometry alone.")]
    problems: Annotated[tuple[ProblemData, ...], about("Slips that did not stop the reading.")]


class UnreadFileData(JsonRecord, frozen=True):
    """A file that could not be read or judged."""

    file: str
    count: Annotated[_Some, about("Problems in all.")]
    problems: Annotated[tuple[ProblemData, ...], Meta(min_length=1, description="The first of them.")]


class SkippedFileData(JsonRecord, frozen=True):
    """A file that is no design."""

    file: str
    what: Annotated[str, about("What it is instead.")]


class BrokenRuleData(JsonRecord, frozen=True):
    """How many cars break a rule."""

    rulebook: Annotated[str, about("Key of the rulebook.")]
    clause: str
    title: str
    cars: _Some
    of: Annotated[_Some, about("Cars judged by this rulebook.")]


class AlikeData(JsonRecord, frozen=True):
    """Cars of one shape."""

    shape: str
    same_design: Annotated[bool, about("Whether the designs agree in everything, name and all.")]
    files: Annotated[tuple[str, ...], Meta(min_length=2)]


class StockLineData(JsonRecord, frozen=True):
    """One thing to have."""

    supply: SupplyShelf
    item: Annotated[str, about("The word that designs use for it.")]
    label: str
    need: Annotated[_Count, about("Pieces in the cars; for finish and glue, cars.")]
    get: Annotated[
        _Count,
        about("Pieces to have, with spares; for axles and bearings, rods and straws; 0 for finish and glue."),
    ]
    cut_mm: Annotated[float, about("All pieces end to end; zero for what is not cut.")]
    rod_mm: Annotated[float, about("One rod or straw.")]
    longest_mm: Annotated[float, about("The longest piece.")]
    too_long: Annotated[_Count, about("Pieces longer than a rod: these are not in get.")]
    area_mm2: Annotated[float, about("Wood to cover.")]


class StockPlanData(JsonRecord, frozen=True):
    """What the class needs."""

    cars: Annotated[_Count, about("Cars counted: all that could be read.")]
    spare_share: Annotated[float, Meta(ge=0.0, description="What is got beyond the need: 0.1 is a tenth.")]
    cartridges_per_car: _Count
    rod_cut_mm: Annotated[float, about("What the saw takes between two axles.")]
    straw_cut_mm: Annotated[float, about("What a bearing is cut too long by.")]
    straw_mm: Annotated[float, about("Length of a straw as bought.")]
    lines: tuple[StockLineData, ...]


class ClassDocument(Document, frozen=True, tag="class"):
    """A folder of designs judged. Lengths in mm, areas in mm2, masses in g."""

    exit_code: ExitCode
    folder: Annotated[str, about("As it was named.")]
    sentence: Annotated[str, about("The class in one sentence.")]
    counts: ClassCountsData
    rulebooks: Annotated[
        tuple[AppliedRulebookData, ...],
        about("Those that cars were judged by, the one of most cars first."),
    ]
    cars: Annotated[tuple[ClassCarData, ...], about("Worst first; cars that stand alike by bench and name.")]
    unread: tuple[UnreadFileData, ...]
    skipped: tuple[SkippedFileData, ...]
    closed: Annotated[tuple[ProblemData, ...], about("Folders that could not be looked into.")]
    rules_broken: Annotated[tuple[BrokenRuleData, ...], about("What the class breaks most, first.")]
    alike: tuple[AlikeData, ...]
    stock: StockPlanData


def class_data(report: ClassReport, exit_code: int) -> ClassDocument:
    """The class for other programs."""
    figures = report.plan.figures
    return ClassDocument(
        *HEAD,
        exit_code=exit_code,
        folder=report.folder,
        sentence=headline(report),
        counts=ClassCountsData(
            designs=report.designs,
            passing=report.passing,
            fail=report.failing,
            probably_fail=report.probably_failing,
            not_judged=report.unknown,
            unread=len(report.unread),
        ),
        rulebooks=tuple(_book(book) for book in report.books),
        cars=tuple(_car(car) for car in report.cars),
        unread=tuple(
            UnreadFileData(row.file, row.count, tuple(problem_data(each) for each in row.problems))
            for row in report.unread
        ),
        skipped=tuple(SkippedFileData(row.file, row.what) for row in report.skipped),
        closed=tuple(problem_data(problem) for problem in report.closed),
        rules_broken=tuple(
            BrokenRuleData(each.book.key, each.clause, each.title, each.cars, each.of)
            for each in report.broken
        ),
        alike=tuple(
            AlikeData(each.cars[0].shape, each.same, tuple(car.file for car in each.cars))
            for each in report.alike
        ),
        stock=StockPlanData(
            cars=report.plan.cars,
            spare_share=number(figures.spare_share),
            cartridges_per_car=figures.runs,
            rod_cut_mm=number(figures.rod_cut_mm),
            straw_cut_mm=number(figures.straw_cut_mm),
            straw_mm=number(figures.straw_mm),
            lines=tuple(_line(line) for line in report.plan.lines),
        ),
    )


def _book(book: AppliedRulebook) -> AppliedRulebookData:
    return AppliedRulebookData(book.key, book.name, book.division, book.file, book.fingerprint)


def _car(car: CarRow) -> ClassCarData:
    return ClassCarData(
        file=car.file,
        name=car.name,
        bench=car.bench,
        units=car.units,
        rulebook=car.book,
        by_default=car.by_default,
        verdict=car.standing,
        failed=tuple(car.failed),
        too_close=tuple(car.too_close),
        near=tuple(car.near),
        advised=tuple(car.advised),
        not_judged=tuple(car.unjudged),
        points_off=number(car.points_off),
        mass=CarMassData(number(car.mass_g), number(car.low_g), number(car.high_g), number(car.loaded_g)),
        fingerprint=car.fingerprint,
        shape=car.shape,
        problems=tuple(problem_data(problem) for problem in car.warnings),
    )


def _line(line: StockLine) -> StockLineData:
    return StockLineData(
        supply=line.supply,
        item=line.item,
        label=line.label,
        need=line.need,
        get=line.get,
        cut_mm=number(line.cut_mm),
        rod_mm=number(line.rod_mm),
        longest_mm=number(line.longest_mm),
        too_long=line.too_long,
        area_mm2=number(line.area_mm2),
    )
