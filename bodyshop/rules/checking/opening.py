"""From the words a person types to a car ready to be measured, or to everything that is in the way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path, PureWindowsPath
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.body.faults import body_faults
from bodyshop.car.design import Design, Kit, peek_rulebook, read_design
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.files.shipped import rules_folder, samples_folder
from bodyshop.foundation.problems import Problem, ProblemsError, Severity, nearest
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.toml import Source, read_source
from bodyshop.rules.rulebook import Rulebook, find_rulebook, read_rulebook

__all__ = [
    "DEFAULT_RULEBOOK",
    "RulebookCache",
    "LoadedCar",
    "find_design",
    "open_car",
    "open_source",
    "shown_file",
]

DEFAULT_RULEBOOK: Final = "quarry-lane"
"""The shipped rulebook of a design that names none."""

_SUFFIX: Final = ".toml"
_SAMPLES: Final = "samples"


@dataclass(frozen=True)
class LoadedCar:
    """A car and the rulebook it is held against.

    `by_default` says that neither the design nor its reader named a rulebook. `warnings` are slips in
    either file that did not stop the reading.
    """

    source: Source
    rulebook: Rulebook
    design: Design
    car: Car
    by_default: bool = False

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Slips that did not stop the reading: the design's, then the rulebook's."""
        return (*self.design.warnings, *self.rulebook.warnings)


class RulebookCache:
    """Rulebooks read once each, however many designs are held against them.

    `asked` is the rulebook to use instead of the one each design names, taken from the current folder;
    `division` the division of every book.
    """

    def __init__(self, asked: str = "", division: str = "") -> None:
        self.asked = asked
        self.division = division
        self._read: dict[Path, Rulebook | ProblemsError] = {}
        self._found: dict[tuple[str, Path | None], Path] = {}

    def book(self, source: Source) -> tuple[Rulebook, bool]:
        """The rulebook for a design, and whether it is the default for want of a name.

        Raises:
            ProblemsError: there is no such rulebook, or it is not legal.
        """
        if self.asked:
            return self._with_own_kit(self._at(self._file(self.asked)), source), False
        named = self._named(source)
        return (self.default(), True) if named is None else (named, False)

    def _named(self, source: Source) -> Rulebook | None:
        """The rulebook that a design names; None when it names none."""
        named = peek_rulebook(source)
        if not named:
            return None
        return self._at(self._file(named, source))

    def _with_own_kit(self, book: Rulebook, source: Source) -> Rulebook:
        """The book, with what its kit leaves open taken from the kit of the book the design names, and with
        what that book brings.

        A book held against a car for its advice alone may hand out nothing.
        """
        try:
            own = self._named(source) or self.default()
        except ProblemsError:  # the book asked for does without it
            return book
        open_keys = {key: own.kit.names[key] for key, name in book.kit.names.items() if not name}
        washers = own.kit.washers if own.kit.washer and not book.kit.washer else book.kit.washers
        # The design may name what its own event brings; of two with one name the book asked for has its own.
        brought = own.kit.brought.and_also(book.kit.brought)
        return replace(book, kit=replace(book.kit, **open_keys, washers=washers, brought=brought))

    def default(self) -> Rulebook:
        """The default rulebook."""
        return self._at(self._file(DEFAULT_RULEBOOK))

    def _file(self, name: str, source: Source | None = None) -> Path:
        """The file that a name means, looked for once; beside the design where `source` names it."""
        folder = None if source is None else Path(source.name).parent
        found = self._found.get((name, folder))
        if found is None:
            at = None if source is None else (source, ("rulebook",))
            found = self._found[name, folder] = find_rulebook(name, folder, at=at)
        return found

    def _at(self, file: Path) -> Rulebook:
        # Keyed by the path as written: the same file under two names is read twice, and no harm done.
        kept = self._read.get(file)
        if kept is None:
            try:
                kept = read_rulebook(file, division=self.division)
            except ProblemsError as error:
                kept = error
            self._read[file] = kept
        if isinstance(kept, ProblemsError):
            raise kept
        return kept


def find_design(name_or_path: str) -> tuple[Path, bool]:
    """The file of a design, and whether it is a shipped sample.

    A path that exists is meant as it stands. `kestrel`, `kestrel.toml` and `samples/kestrel.toml` are the
    shipped sample where there is no such file, so that an installed copy has something to try.

    Raises:
        ProblemsError: the name is a plain word, and neither a file nor a sample.
    """
    path = Path(name_or_path)
    if not name_or_path.strip():
        raise ProblemsError(
            [Problem("file-missing", "no design is named", expected="the name of a design file")]
        )
    if is_there(path):
        return path, False
    parts = PureWindowsPath(name_or_path).parts  # either slash, on every system
    stem = parts[-1].removesuffix(_SUFFIX) if parts else ""
    if len(parts) == 1 or (len(parts) == 2 and parts[0] == _SAMPLES):
        samples = {file.stem: file for file in samples_folder().glob(f"*{_SUFFIX}")}
        if stem in samples:
            return samples[stem], True
        beside = path.with_name(f"{path.name}{_SUFFIX}")
        if path.name and not path.suffix and is_there(beside):
            return beside, False
        if len(parts) == 1 and not _neighbour(path):
            raise ProblemsError([_no_design(name_or_path, stem, samples)])
    return path, False


def open_car(path: Path | str, rulebook: str | None = None, shelf: RulebookCache | None = None) -> LoadedCar:
    """A car with its rulebook: `rulebook` (a name or a path), or the one the design names.

    `shelf` is used instead of `rulebook` when many designs share their books.

    Raises:
        ProblemsError: all that is wrong with the design and its rulebook.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> open_car(samples_folder() / "kestrel.toml").design.name
    'Kestrel'
    """
    return open_source(read_source(path), shelf if shelf is not None else RulebookCache(rulebook or ""))


def open_source(source: Source, shelf: RulebookCache) -> LoadedCar:
    """The car of a text that has been read, which need not be in a file yet, with its rulebook.

    Raises:
        ProblemsError: all that is wrong with the design and its rulebook.
    """
    try:
        book, by_default = shelf.book(source)
    except ProblemsError as error:
        raise ProblemsError([*error.problems, *_own_problems(source, error.problems)]) from None
    # A design keeps the name it gives its rulebook, unless another one is used.
    design, car = _car(source, book.kit, book.stem if shelf.asked or by_default else None)
    return LoadedCar(source, book, design, car, by_default)


def _car(source: Source, kit: Kit | None, rulebook_name: str | None) -> tuple[Design, Car]:
    design = read_design(source, kit, rulebook_name)
    car = Car(design)
    faults = body_faults(car.body)
    if any(fault.severity is Severity.ERROR for fault in faults):
        raise ProblemsError([*faults, *design.warnings])
    return design, car


def _own_problems(source: Source, told: Iterable[Problem]) -> list[Problem]:
    """What is wrong with the design itself, told together with its rulebook's faults."""
    try:
        _car(source, RulebookCache().default().kit, None)
    except ProblemsError as error:
        known = set(told)
        return [problem for problem in error.problems if problem not in known]
    return []


def shown_file(name: str) -> str:
    """A file by the name a reader knows: what comes with the program by its place there, all else as named.

    A report is then the same wherever the program is installed.
    """
    path = Path(name)
    for folder in (rules_folder(), samples_folder()):
        if path.is_absolute() and path.parent == folder:
            return f"{folder.name}/{path.name}"
    return name


def _neighbour(path: Path) -> bool:
    """Whether the folder holds a file with nearly this name, which reading will then suggest."""
    try:
        files = [file.name for file in path.parent.glob(f"*{_SUFFIX}")]
    except (OSError, ValueError):
        return False
    return bool(nearest(path.name, files) or nearest(path.stem, [Path(file).stem for file in files]))


def _no_design(asked: str, stem: str, samples: Iterable[str]) -> Problem:
    names = sorted(samples)
    return Problem(
        "file-missing",
        "there is no such file",
        file=shortened(asked, 80),
        expected=f"a design file, or one of the samples {', '.join(names)}",
        nearest=nearest(stem, names),
    )
