"""The cars of a trial book on the page, and taking the designs of the folder into it."""

from __future__ import annotations

from bodyshop.bench.folder import Folder
from bodyshop.checking import open_car
from bodyshop.classwork import class_files
from bodyshop.problems import ProblemsError
from bodyshop.report.plain_data import Data
from bodyshop.trials.book import Book
from bodyshop.trials.model import Car, FrozenPrediction, Inspection, MassReading, RunEnd, Stage, TrackRun

__all__ = ["add_designs", "cars_data"]


def cars_data(book: Book) -> Data:
    """Every car with the newest of what matters: inspection, mass, best run, prediction.

    Raises:
        ProblemsError: the book is damaged.
    """
    event = book.event.record
    inspected = {entry.record.car: entry for entry in book.records(Inspection)}
    weighed = {
        entry.record.car: entry.record.mass_g
        for entry in book.records(MassReading)
        if entry.record.stage is Stage.COMPLETE
    }
    predicted = {entry.record.car: entry.record for entry in book.records(FrozenPrediction)}
    best: dict[str, float] = {}
    for run in book.records(TrackRun):
        time = run.record.time_s
        if run.record.end is RunEnd.FINISHED and time:
            best[run.record.car] = min(time, best.get(run.record.car, time))
    return {
        "event": event.name,
        "rulebook": event.rulebook,
        "track_m": None if event.track_mm is None else event.track_mm / 1e3,
        "lanes": event.lanes,
        "cars": [
            {
                "name": entry.record.name,
                "bench": entry.record.bench,
                "design": entry.record.design_file,
                "mark": entry.record.fingerprint,
                "inspection": None
                if entry.record.name not in inspected
                else {
                    "result": inspected[entry.record.name].record.result,
                    "passes": inspected[entry.record.name].record.passes,
                    "at": inspected[entry.record.name].at.strftime("%Y-%m-%d %H:%M"),
                },
                "mass_g": weighed.get(entry.record.name),
                "best_s": best.get(entry.record.name),
                "predicted": _predicted(predicted.get(entry.record.name)),
            }
            for entry in book.cars()
        ],
    }


def _predicted(record: FrozenPrediction | None) -> Data:
    return None if record is None else [record.time_s, record.time_low_s, record.time_high_s]


def add_designs(book: Book, folder: Folder) -> str:
    """Take every design of the folder whose car is not in the book yet into it; what was done, in a sentence.

    Raises:
        ProblemsError: the folder is gone.
        WriteRefusedError: the book cannot be written.
    """
    known = {entry.record.name.casefold() for entry in book.cars()}
    added: list[str] = []
    left: list[str] = []
    with book.writing() as writer:
        for found in class_files(folder.root).files:
            path = folder.root / found.shown
            if not folder.holds(path):
                continue
            try:
                opened = open_car(path)
            except ProblemsError as error:
                left.append(f"{found.shown}: {error.problems[0].sentence}")
                continue
            name = " ".join(opened.design.name.split())
            if name.casefold() in known:
                continue
            writer.add(
                Car(
                    name,
                    opened.design.bench,
                    design_file=found.shown,
                    fingerprint=opened.design.fingerprint,
                    rulebook=opened.rulebook.stem,
                    design_text=opened.source.text,
                )
            )
            known.add(name.casefold())
            added.append(name)
    told = f"Taken in: {', '.join(added)}." if added else "No new car in the folder."
    return told + (f" Left out: {'; '.join(left[:5])}." if left else "")
