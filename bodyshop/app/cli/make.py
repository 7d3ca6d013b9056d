"""`bodyshop make`: report, templates and solid of a design in one folder."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import CALIBRATE, DATE, DESIGN, DIVISION, OUT, OWNER, RULEBOOK, sheet
from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.papers import (
    PRINTING,
    checked_design,
    date_of,
    folder_for,
    printer_for,
    sheet_for,
    tell_lettering,
    tell_written,
)
from bodyshop.app.cli.solid import CHORD, solid_notes
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.small_words import number_words
from bodyshop.output.bundle import (
    BundlePart,
    file_stem,
    report_files,
    solid_files,
    template_files,
    write_parts,
)
from bodyshop.output.terminal.verdict import terminal_report
from bodyshop.output.words.hints import hints_of
from bodyshop.rules.checking import Checked

__all__ = ["make"]


@action(DESIGN, RULEBOOK, DIVISION, sheet(free=True), CALIBRATE, CHORD, OUT, DATE, OWNER)
def make(options: argparse.Namespace, console: Console) -> Exit:
    """Make everything that can be made; what cannot is told, and the rest is written all the same."""
    checked = checked_design(options, console)
    tell_lettering(options, checked.opened, console)
    opened = checked.opened
    stem = file_stem(opened.design)
    paper, printer = sheet_for(options, opened), printer_for(options, opened)
    ends = ("-report.txt", "-report.json", "-templates.pdf", "-templates.dxf", ".stl", ".step", ".3mf")
    folder = folder_for(options, opened, [stem + end for end in ends])
    code = exit_of(checked)
    hints = hints_of(checked)
    console.write(terminal_report(checked, width=console.width, ink=console.ink, hints=hints) + "\n")

    files: dict[str, bytes] = {}
    problems: list[Problem] = []

    def add(part: Callable[[], dict[str, bytes]]) -> None:
        try:
            files.update(part())
        except ProblemsError as error:
            problems.extend(error.problems)

    with Progress(console, 2) as progress:
        add(lambda: report_files(checked, int(code), hints))
        progress.step(f"drawing the templates on {paper.name}")
        title = {"date": date_of(options), "owner": options.owner}
        add(lambda: template_files(checked, paper, printer=printer, **title))
        progress.step("building the solid")
        add(lambda: solid_files(opened, chord_mm=options.chord, progress=progress.within))
        done = write_parts(folder, stem, set(BundlePart), files, design=opened.design)
    pages = sum(1 for name in files if name.endswith(".svg"))
    notes = {
        "-report.txt": "this report in full",
        "-report.json": "the same for other programs",
        "-templates.pdf": f"{number_words(pages, 'sheet')} of {paper.name}, full size",
        "-templates.dxf": "all templates whole, one unit a millimetre",
        ".svg": "the same, a file a sheet",
        ".dxf": "the same again, for machines",
        **solid_notes(options.chord),
    }
    tell_written(console, folder, done, notes)
    console.tell(_last_words(checked))
    console.warn(problems)
    return Exit.UNREADABLE if problems else code


def _last_words(checked: Checked) -> str:
    if checked.judgement.passes:
        return PRINTING
    return f"{checked.opened.design.name} fails, and every sheet says so. Put it right before you cut."
