"""`bodyshop classpapers`: the papers of a whole class as one PDF."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import CALIBRATE, DATE, DIVISION, OUT, OWNER, RULEBOOK, option, sheet
from bodyshop.app.cli.classes import FOLDER, JOBS, Watch, class_folder, no_design
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.papers import PRINTING, date_of, tell_written
from bodyshop.app.cli.parser import some_of
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import number_words
from bodyshop.records.classroom.discovery import class_files

__all__ = ["papers"]

_CONTENTS: Final = ("templates", "buildsheet")
_MOST: Final = 400
"""Cars in one PDF: beyond that it is too large for the memory of a school's computer and for its printer."""


@action(
    FOLDER,
    option(
        "--contents",
        "LIST",
        "templates, buildsheet or templates,buildsheet (default: templates)",
        some_of(_CONTENTS, 'a class has no papers called "{}"', "no papers are named"),
        default=_CONTENTS[:1],
    ),
    sheet(free=True),
    CALIBRATE,
    OUT,
    RULEBOOK,
    DIVISION,
    DATE,
    OWNER,
    JOBS,
)
def papers(options: argparse.Namespace, console: Console) -> Exit:
    """Draw them all and write one file, or nothing."""
    from bodyshop.drawing.layout.printer import read_printer
    from bodyshop.drawing.sheet.paper import sheet_size, usual_sheet
    from bodyshop.foundation.files.names import safe_stem
    from bodyshop.foundation.files.safe_writing import OutputFolder
    from bodyshop.output.bundle import write_parts
    from bodyshop.output.bundle.files import OUTPUT_FOLDER
    from bodyshop.output.papers.class_set import (
        CarPapers,
        FailedPapers,
        PaperKind,
        PaperRequest,
        class_papers_pdf,
        make_papers,
    )
    from bodyshop.output.papers.class_set.document import class_name, summary
    from bodyshop.output.papers.class_set.making import usual_unit

    found = class_files(class_folder(options.folder, console))
    if not found.files:
        raise no_design(found.folder)
    if len(found.files) > _MOST:
        raise ProblemsError([_too_many(found.folder, len(found.files))])
    unit = usual_unit(found.files)
    size = sheet_size(options.sheet) if options.sheet else usual_sheet(unit)
    x, y = options.calibrate or ("", "")
    printer = read_printer(x, y, unit) if options.calibrate else None
    asked = PaperRequest(
        sheet=size,
        contents=tuple(PaperKind(word) for word in options.contents),
        rulebook=options.rulebook,
        division=options.division,
        date=date_of(options),
        owner=options.owner,
        printer=printer,
    )
    stem = safe_stem(class_name(found.folder))
    name = f"{stem}-papers.pdf"
    folder = Path(options.out) if options.out is not None else Path(OUTPUT_FOLDER) / stem
    OutputFolder(folder).check([name])
    with Watch(console, "drawing the papers") as watch:
        made = make_papers(found.files, asked, jobs=options.jobs, done=watch.done)
    cars = [each for each in made if isinstance(each, CarPapers)]
    unread = [each for each in made if isinstance(each, FailedPapers) and each.problem is not None]
    if not cars and not unread:
        raise no_design(found.folder)
    data = class_papers_pdf(found.folder, made, asked)
    done = write_parts(folder, stem, (), {name: data})
    console.tell(summary(made))
    tell_written(console, folder, done, {name: _pages(sum(len(car.pages) for car in cars), size.name)})
    console.write(PRINTING + "\n")
    problems = [each.problem for each in unread if each.problem is not None]
    problems += found.closed
    if problems:
        console.warn(problems)
        for each in unread:
            if each.count > 1:
                more = f"{each.file}: {number_words(each.count - 1, 'more problem')}, told by: bodyshop check"
                console.tell(more, rest="    ", err=True)
        return Exit.UNREADABLE
    if any(car.fails for car in cars):
        return Exit.FAILS
    return Exit.UNREADABLE if any(car.open for car in cars) else Exit.PASSES


def _pages(count: int, paper: str) -> str:
    return f"{count} {'sheet' if count == 1 else 'sheets'} on {paper} behind an index"


def _too_many(folder: str, count: int) -> Problem:
    return Problem(
        "class-size",
        f"{count} designs are too many for one PDF",
        file=printable(folder),
        expected=f"at most {_MOST}: make the papers of one folder inside it after the other",
    )
