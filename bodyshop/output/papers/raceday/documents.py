"""The papers of race day: heats to write into, standings, the final sheet, the class in figures.

Every sheet carries the cautions for cartridges and for the track.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import Block, caution_box, paragraph
from bodyshop.drawing.layout.frame import TitleBlock
from bodyshop.drawing.layout.pages import Pages
from bodyshop.drawing.layout.scatter import Axis, scatter_plot
from bodyshop.drawing.layout.table import Align, Cell, Column, Table
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.units import MassUnit
from bodyshop.output.papers.raceday.class_data import PLOTS, dots_of
from bodyshop.output.words.raceday import IN_BRACKETS, result_words, seconds
from bodyshop.records.book.model import RaceFormat
from bodyshop.records.raceday.class_summary import CarLine, Figure, PlotQuantity
from bodyshop.records.raceday.model import DrawnHeat, LaneResult
from bodyshop.records.raceday.standings import RankedBy, StandingsRow, place_words

__all__ = [
    "DayHead",
    "PendingReasons",
    "UNDECIDED",
    "class_sheets",
    "day_pdf",
    "final_sheets",
    "heat_sheets",
    "standings_sheets",
]

_DATE_BY_HAND: Final = "______________"
_TEXT_MM: Final = 2.1
_HAND_PAD_MM: Final = 2.4
_NOTE_MM: Final = 1.9
_PLOT_MM: Final = 92.0
_OUT_WORDS: Final = "out"
UNDECIDED: Final = "not decided"
_HAND_NOTE: Final = (
    "Write the time in seconds with every digit the timer shows. DNF: did not finish; DNS: did not start; "
    "V: void, run the heat again. Do not erase: cross out and sign each correction."
)


@dataclass(frozen=True, slots=True)
class DayHead:
    """What every paper of the day says of it. `as_of` tells how far the race had come, in words; `decimals`
    are those of the timing, `mass_unit` that of the rulebook.
    """

    event: str
    owner: str = ""
    rulebook: str = ""
    date: str = ""
    as_of: str = ""
    decimals: int = 3
    mass_unit: MassUnit = MassUnit.G

    def block(self, document: str) -> TitleBlock:
        """The title block of a paper."""
        return TitleBlock(
            title=self.event,
            document=document,
            owner=self.owner,
            scale="",
            date=self.date or _DATE_BY_HAND,
            rulebook=self.rulebook or "none",
            verdict=self.as_of or "before the race",
            verdict_label="results",
        )


def day_pdf(sheets: Sequence[Sheet], head: DayHead, document: str) -> bytes:
    """Sheets as one PDF."""
    from bodyshop.drawing.writers.pdf import write_pdf

    return write_pdf(sheets, DocMeta(f"{head.event}: {document}", head.owner, document, ("race day",)))


def heat_sheets(
    heats: Sequence[DrawnHeat],
    head: DayHead,
    sheet: SheetSize,
    *,
    results: Mapping[tuple[int, str], LaneResult] | None = None,
    out: Collection[str] = (),
    repeats: Mapping[int, int] | None = None,
    notes: Sequence[str] = (),
) -> list[Sheet]:
    """The heats in the order they are run, room for each time, and times that are known already.

    `out` are cars that do not race any more; `repeats` tells which heat a rerun repeats.
    """
    pages = _pages(sheet, head, "heats")
    lanes = max((len(heat.lanes) for heat in heats), default=2)
    width = pages.width_mm
    first = 0.12 if lanes < 5 else 0.1
    share = (1.0 - first) / lanes
    columns = [Column("heat", first * width)]
    columns += [Column(f"lane {lane}", share * width) for lane in range(1, lanes + 1)]
    known = results or {}
    for round_, group in _by_round(heats):
        pages.heading(_round_words(group[0], round_), 26.0)
        rows = [
            _heat_row(heat, lanes, known, out, (repeats or {}).get(heat.number), head.decimals)
            for heat in group
        ]
        pages.table(Table(tuple(columns), tuple(rows), text_mm=_TEXT_MM, pad_x_mm=1.2, pad_y_mm=_HAND_PAD_MM))
    for note in (*notes, _HAND_NOTE):
        pages.put(paragraph(note, (0.0, 0.0), width, _NOTE_MM), gap_mm=1.5)
    return pages.sheets()


@dataclass(frozen=True, slots=True)
class PendingReasons:
    """What keeps places from being final.

    `pending` says why the day is not over, in sentences; none where it is. `racing` are cars that still race,
    `undecided` cars that have not passed inspection and about which no official has decided: neither has a
    place on the final sheet. `admitted` are pairs of a car and why it was allowed to race.
    """

    pending: tuple[str, ...] = ()
    racing: Collection[str] = ()
    undecided: Collection[str] = ()
    admitted: Sequence[tuple[str, str]] = ()


def standings_sheets(
    rows: Sequence[StandingsRow],
    benches: Mapping[str, str],
    head: DayHead,
    sheet: SheetSize,
    counts: RankedBy,
    holds: PendingReasons | None = None,
) -> list[Sheet]:
    """The table of time trials as it stands."""
    holds = holds or PendingReasons()
    pages = _pages(sheet, head, "standings")
    pages.heading("Time trials")
    pages.table(_standings_table(rows, benches, pages.width_mm, counts, head.decimals, holds.undecided))
    _note(pages, _counts_words(counts))
    if holds.undecided:
        _note(pages, f"{IN_BRACKETS} {' '.join(holds.pending)}")
    return pages.sheets()


def final_sheets(
    trials: Sequence[StandingsRow],
    ladder: Mapping[str, int],
    benches: Mapping[str, str],
    decisions: Sequence[tuple[str, str]],
    head: DayHead,
    sheet: SheetSize,
    counts: RankedBy,
    holds: PendingReasons | None = None,
) -> list[Sheet]:
    """Places of the day, eliminations first where there were any, then trials, who was allowed to race,
    rulings and corrections.

    `decisions` are pairs of when and what, in the order taken. Before the day is over the sheet says that it
    is provisional, and gives no place to a car whose own place is open.
    """
    holds = holds or PendingReasons()
    pages = _pages(sheet, head, "provisional sheet" if holds.pending else "final sheet")
    width = pages.width_mm
    if holds.pending:
        pages.heading("PROVISIONAL: not the final result")
        _note(pages, " ".join(holds.pending))
    withheld = {**dict.fromkeys(holds.racing, "racing"), **dict.fromkeys(holds.undecided, UNDECIDED)}
    if ladder:
        pages.heading("Eliminations")
        ranked = sorted(ladder, key=lambda car: (ladder[car], car))
        rows = [
            (
                Cell(withheld.get(car) or place_words(ladder[car], list(ladder.values())), bold=True),
                Cell(car, bold=True),
                benches.get(car, ""),
            )
            for car in ranked
        ]
        columns = _columns((("place", 0.14), ("car", 0.46), ("bench", 0.40)), width)
        pages.table(Table(columns, tuple(rows), text_mm=_TEXT_MM))
    pages.heading("Time trials")
    pages.table(_standings_table(trials, benches, width, counts, head.decimals, withheld=withheld))
    _note(pages, _counts_words(counts))
    if holds.admitted:
        pages.heading("Allowed to race")
        columns = _columns((("car", 0.26), ("why", 0.74)), width)
        pages.table(Table(columns, tuple(holds.admitted), text_mm=_NOTE_MM, pad_y_mm=0.9))
    pages.heading("Rulings and corrections")
    if decisions:
        columns = _columns((("when", 0.22), ("what", 0.78)), width)
        pages.table(Table(columns, tuple(decisions), text_mm=_NOTE_MM, pad_y_mm=0.9))
    else:
        _note(pages, "none")
    pages.put(_signatures(width), gap_mm=2.0)
    return pages.sheets()


def class_sheets(lines: Sequence[CarLine], head: DayHead, sheet: SheetSize) -> list[Sheet]:
    """The class data table and its scatter plots."""
    pages = _pages(sheet, head, "class data")
    width = pages.width_mm
    pages.heading("The class in numbers")
    heads = (
        ("no.", 0.06),
        ("car", 0.19),
        ("bench", 0.13),
        (f"car without cartridge, {head.mass_unit.symbol}", 0.135),
        ("drag area, cm²", 0.135),
        ("rolling resistance", 0.135),
        ("predicted, s", 0.12),
        ("best time, s", 0.095),
    )
    rows = [_class_row(line, head) for line in lines]
    pages.table(Table(_columns(heads, width), tuple(rows), text_mm=1.8, pad_x_mm=0.9, pad_y_mm=0.9))
    _note(
        pages,
        "The small numbers are a 95 % range. A star means measured on this car; no star "
        "means estimated from its drawing.",
    )
    for plot in PLOTS:
        x_axis, dots = plot.x_axis, dots_of(lines, plot)
        if plot.x is PlotQuantity.MASS and head.mass_unit is not MassUnit.G:
            x_axis = Axis(f"car without cartridge, {head.mass_unit.symbol}")
            dots = [replace(dot, x=_in_unit(dot.x, head.mass_unit.g)) for dot in dots]
        pages.put(scatter_plot(plot.title, x_axis, plot.y_axis, dots, width, _PLOT_MM, equal=plot.equal))
    _note(
        pages,
        "The numbers are those in the table. Open circle: estimated. Filled circle: measured. A trend is not "
        "proof: heavy cars are often also bigger.",
    )
    return pages.sheets()


# ---------------------------------------------------------------- parts


def _pages(sheet: SheetSize, head: DayHead, document: str) -> Pages:
    texts = [caution.sentence for caution in cautions_for(Operation.CARTRIDGE, Operation.RACE)]
    box: Callable[[float], Block] = lambda width_mm: caution_box(texts, (0.0, 0.0), width_mm, 1.7)  # noqa: E731
    return Pages(sheet, head.block(document), box)


def _note(pages: Pages, words: str) -> None:
    pages.put(paragraph(words, (0.0, 0.0), pages.width_mm, _NOTE_MM))


def _columns(heads: Sequence[tuple[str, float]], width_mm: float) -> tuple[Column, ...]:
    return tuple(Column(title, share * width_mm) for title, share in heads)


def _by_round(heats: Sequence[DrawnHeat]) -> list[tuple[int, list[DrawnHeat]]]:
    rounds: list[tuple[int, list[DrawnHeat]]] = []
    for heat in heats:
        if rounds and rounds[-1][0] == heat.round and rounds[-1][1][-1].race is heat.race:
            rounds[-1][1].append(heat)
        else:
            rounds.append((heat.round, [heat]))
    return rounds


def _round_words(heat: DrawnHeat, round_: int) -> str:
    return f"{'Time trials' if heat.race is RaceFormat.TIME_TRIALS else 'Eliminations'}, round {round_}"


def _heat_row(
    heat: DrawnHeat,
    lanes: int,
    known: Mapping[tuple[int, str], LaneResult],
    out: Collection[str],
    repeats: int | None,
    decimals: int,
) -> tuple[str | Cell, ...]:
    name = str(heat.number)
    if repeats is not None:
        name += f" for {repeats}"
    if heat.tie:
        name += " tie"
    elif heat.leg > 1:
        name += f" run {heat.leg}"
    cells: list[str | Cell] = [Cell(name, bold=True)]
    for lane in range(lanes):
        car = heat.lanes[lane] if lane < len(heat.lanes) else None
        if car is None:
            cells.append("empty")
            continue
        done = known.get((heat.number, car))
        blank = "out" if car in out else f"{'_' * 12} s"
        cells.append(f"{car}\n{blank if done is None else result_words(done, decimals)}")
    return tuple(cells)


def _standings_table(
    rows: Sequence[StandingsRow],
    benches: Mapping[str, str],
    width_mm: float,
    counts: RankedBy,
    decimals: int,
    undecided: Collection[str] = (),
    withheld: Mapping[str, str] | None = None,
) -> Table:
    score = {RankedBy.BEST: "best, s", RankedBy.MEAN: "mean, s", RankedBy.TOTAL: "total, s"}[counts]
    # A mean lies between the steps of the timing.
    more = decimals + (1 if counts is RankedBy.MEAN else 0)
    heads = (
        ("place", 0.13),
        ("car", 0.23),
        ("bench", 0.16),
        (score, 0.12),
        ("spread, s", 0.11),
        ("all runs, s", 0.25),
    )
    places = [row.place for row in rows]
    columns = list(_columns(heads, width_mm))
    for k in (3, 4):
        columns[k] = Column(columns[k].title, columns[k].width_mm, Align.RIGHT)
    made: list[tuple[str | Cell, ...]] = []
    for row in rows:
        place = (withheld or {}).get(row.car) or place_words(row.place, places)
        if row.car in undecided and row.place is not None:
            place = f"({place})"
        times = "  ".join(seconds(time, decimals) for time in row.times)
        made.append(
            (
                Cell(_OUT_WORDS if row.out else place, bold=True),
                Cell(row.car, bold=True),
                benches.get(row.car, ""),
                seconds(row.score_s, more),
                seconds(row.spread_s, decimals),
                f"out: {row.out}" if row.out else times or "–",
            )
        )
    return Table(tuple(columns), tuple(made), text_mm=_TEXT_MM, pad_y_mm=1.0)


def _counts_words(counts: RankedBy) -> str:
    what = {
        RankedBy.BEST: "The best single run counts",
        RankedBy.MEAN: "The mean of all runs counts, and a car with more finished runs goes first",
        RankedBy.TOTAL: "The total of all runs counts, and a car with more finished runs goes first",
    }[counts]
    return f"{what}. For equal results, the best run decides, then the next best."


def _class_row(line: CarLine, head: DayHead) -> tuple[str | Cell, ...]:
    def told(quantity: PlotQuantity, places: int, unit: float = 1.0) -> str:
        figure = line.figure(quantity)
        if figure is None:
            return "–"
        figure = _in_unit(figure, unit)
        star = " *" if quantity in line.measured else ""
        return f"{figure[0]:.{places}f}{star}{_interval(figure, places)}"

    best = "–" if line.measured_s is None else seconds(line.measured_s[0], head.decimals)
    return (
        str(line.number),
        Cell(line.car, bold=True),
        line.bench,
        told(PlotQuantity.MASS, 1 if head.mass_unit is MassUnit.G else 2, head.mass_unit.g),
        told(PlotQuantity.CDA, 1),
        told(PlotQuantity.ROLLING, 4),
        told(PlotQuantity.PREDICTED, 3),
        Cell(best if not line.out else f"{best} (out)", bold=True),
    )


def _in_unit(figure: Figure, unit: float) -> Figure:
    return figure[0] / unit, figure[1] / unit, figure[2] / unit


def _interval(figure: Figure, decimals: int) -> str:
    if figure[1] == figure[2]:
        return ""
    return f"\n{figure[1]:.{decimals}f} to {figure[2]:.{decimals}f}"


def _signatures(width_mm: float) -> Block:
    words = (
        "Starter  ____________________      Timekeeper  ____________________      Judge  ____________________"
    )
    return paragraph(words, (0.0, -8.0), width_mm, 2.0)
