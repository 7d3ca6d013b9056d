"""Work that takes longer than a blink, each piece in a process of its own that can be stopped.

A job is plain data: what to do and the text to do it with. What comes back is plain data too: files by
name, a plan of changes, or the problems that stood in the way.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final, Protocol

from bodyshop.bench.folder import Folder
from bodyshop.bench.judging import judge_text
from bodyshop.bench.shelf import FolderShelf
from bodyshop.checking import Checked
from bodyshop.lengths import LengthUnit
from bodyshop.problems import Problem, ProblemsError
from bodyshop.source.names import safe_stem
from bodyshop.stock.sheets import SheetSize, sheet_sizes

__all__ = ["Answer", "Job", "Kind", "Sender", "do_job", "run_job", "serve_parent"]

FIX_SECONDS: Final = 12.0
"""Time that the search for remedies may take."""


class Kind(Enum):
    """What can be asked for."""

    TEMPLATES = "templates"
    BUILD_SHEET = "buildsheet"
    REPORT = "report"
    SOLID = "solid"
    FIX = "fix"


@dataclass(frozen=True, slots=True)
class Job:
    """What to do, and with which text. `day` is printed on papers, as an ISO date; empty leaves room for it.

    `root` is the folder that the bench was opened on. `sheet` is a size of paper, empty for the usual one.
    `clause` is the rule to mend, empty for all.
    """

    kind: Kind
    text: str
    name: str
    root: str
    sheet: str = ""
    clause: str = ""
    day: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of a job. `told` is what a plan of changes says; `text` the text that it makes."""

    files: Mapping[str, bytes] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    told: Mapping[str, object] = field(default_factory=dict)
    text: str = ""


class Sender(Protocol):
    """The end of a pipe that an answer goes into."""

    def send(self, answer: Answer, /) -> None:
        """Hand the answer over."""


def serve_parent() -> None:
    """Begin a process that works for another: it does not hear the keyboard, and ends with the other.

    Ctrl-C reaches every process of a terminal: it stops the bench, and the bench stops what works for it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    """Wait for the other's end, however it comes, and end at once."""
    parent.join()
    os._exit(1)


def run_job(job: Job, out: Sender) -> None:
    """Do a job in a process of its own, and send what came of it."""
    serve_parent()
    try:
        answer = do_job(job)
    except ProblemsError as error:
        answer = Answer(problems=error.problems)
    except Exception as error:  # noqa: BLE001 - the bench stands whatever becomes of one paper
        words = f"bodyshop has stumbled over a fault of its own ({type(error).__name__}: {str(error)[:200]})"
        answer = Answer(problems=(Problem("bench-fault", words),))
    out.send(answer)


def do_job(job: Job) -> Answer:
    """Do a job here and now.

    Raises:
        ProblemsError: the text is no design, or a paper of it cannot be made.
    """
    judged = judge_text(job.text, job.name, FolderShelf(Folder(Path(job.root))), full=True)
    if judged.checked is None:
        raise ProblemsError(judged.problems)
    checked = judged.checked
    match job.kind:
        case Kind.FIX:
            return _fix(checked, job)
        case Kind.TEMPLATES:
            return Answer(_templates(checked, job))
        case Kind.BUILD_SHEET:
            return Answer(_build_sheet(checked, job))
        case Kind.REPORT:
            return Answer(_report(checked, job))
        case Kind.SOLID:
            return Answer(_solid(checked))


def _stem(job: Job) -> str:
    return safe_stem(Path(job.name).stem)


def _paper(checked: Checked, job: Job) -> SheetSize:
    sizes = sheet_sizes()
    usual = "letter" if checked.opened.design.unit is LengthUnit.IN else "a4"
    return sizes.get(job.sheet, sizes[usual])


def _templates(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.templates import TemplateOptions, stamp_of, template_set

    drawn = template_set(
        checked.opened.car, stamp_of(checked.judgement), _paper(checked, job), TemplateOptions(date=job.day)
    )
    files = {f"{_stem(job)}-templates.pdf": drawn.pdf()}
    files |= {f"{_stem(job)}-{name}": text.encode("utf-8") for name, text in drawn.svg().items()}
    return files


def _build_sheet(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.buildsheet import BuildOptions, build_sheet_pdf, build_sheets
    from bodyshop.writers.meta import DocMeta
    from bodyshop.writers.svg import write_svg

    options, paper, stem = BuildOptions(date=job.day), _paper(checked, job), _stem(job)
    meta = DocMeta(f"{checked.opened.design.name}: build sheet")
    files = {f"{stem}-buildsheet.pdf": build_sheet_pdf(checked, paper, options)}
    for number, sheet in enumerate(build_sheets(checked, paper, options), 1):
        files[f"{stem}-buildsheet-{number}.svg"] = write_svg(sheet, meta).encode("utf-8")
    return files


def _report(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.make.hinting import hints_of
    from bodyshop.report.teaching import teaching_html, teaching_pdf, teaching_sheets
    from bodyshop.writers.meta import DocMeta
    from bodyshop.writers.svg import write_svg

    on, paper, stem = date.fromisoformat(job.day), _paper(checked, job), _stem(job)
    hints = hints_of(checked)
    meta = DocMeta(f"{checked.opened.design.name}: report on the drawing")
    files = {
        f"{stem}-report.pdf": teaching_pdf(checked, on, paper, hints),
        f"{stem}-report.html": teaching_html(checked, on, hints).encode("utf-8"),
    }
    for number, sheet in enumerate(teaching_sheets(checked, on, paper, hints), 1):
        files[f"{stem}-report-{number}.svg"] = write_svg(sheet, meta).encode("utf-8")
    return files


def _solid(checked: Checked) -> dict[str, bytes]:
    from bodyshop.make import solid_files

    return solid_files(checked.opened)


def _fix(checked: Checked, job: Job) -> Answer:
    from bodyshop.fixing import conflict_sentences, diff, fix_sentence, headline, make_plan, side_sentences
    from bodyshop.report.words import capital

    plan = make_plan(checked.opened, clause=job.clause, seconds=FIX_SECONDS)
    changes = [
        {
            "clause": fix.rule.clause,
            "title": fix.rule.title,
            "sentence": f"{capital(fix_sentence(fix))}.",
            "sides": [f"{capital(side)}." for side in side_sentences(fix)],
            "line": fix.edit.span.line,
        }
        for fix in plan.fixes
    ]
    left = [
        {
            "clause": conflict.rule.clause,
            "title": conflict.rule.title,
            "sentences": [f"{capital(sentence)}." for sentence in conflict_sentences(conflict)],
        }
        for conflict in plan.conflicts
    ]
    told = {
        "headline": headline(plan, checked.opened.design.name),
        "changes": changes,
        "left": left,
        "difference": diff(plan, context=1).splitlines()[2:],
        "cut": plan.cut,
    }
    return Answer(told=told, text=plan.text.removeprefix("\ufeff"))
