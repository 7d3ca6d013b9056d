"""From the text of a design file to a `Design`, or to everything that is wrong with it at once."""

from __future__ import annotations

from dataclasses import replace

from bodyshop.design.fields import FORMAT
from bodyshop.design.fingerprint import fingerprint, meaning
from bodyshop.design.fit import (
    body_ends,
    check_axle_order,
    check_axle_parts,
    check_bore,
    check_ends,
    check_weighed,
)
from bodyshop.design.keys import ROOT
from bodyshop.design.mistaken import in_other_unit, refuse_other
from bodyshop.design.model import AxleEnd, AxleSet, Design, Kit, Parts
from bodyshop.design.outlines import Drawn, read_outline
from bodyshop.design.parts import BALANCE_G, PartsReader
from bodyshop.design.quantities import Quantities
from bodyshop.design.reading import Reader
from bodyshop.design.shelves import Shelves
from bodyshop.design.table import Table
from bodyshop.lengths import LengthUnit, QuantityError, parse_unit
from bodyshop.problems import Problem, ProblemsError
from bodyshop.source import Source

__all__ = ["peek_rulebook", "read_design"]


def peek_rulebook(source: Source) -> str:
    """The rulebook that a design asks for; empty when it names none (or says something odd there)."""
    asked = source.values.get("rulebook", "")
    return asked.strip() if isinstance(asked, str) else ""


def read_design(source: Source, kit: Kit | None = None, rulebook_name: str | None = None) -> Design:
    """The design that `source` says, parts it does not name being the kit's.

    `rulebook_name` is kept instead of the rulebook that the file names.

    Raises:
        ProblemsError: all that is wrong with the file, each at its place.
    """
    refuse_other(source)
    kit = kit or Kit()
    reader = Reader(source, _quantities(source), Shelves(kit.brought))
    _refuse_newer_format(reader)
    for fault in reader.quantities.faults:
        reader.quantity_fault(("dimensions", fault.name), fault.error, at_key=fault.at_key)
    root = reader.table(source.values, (), ROOT)
    if root is None:
        raise ProblemsError(reader.problems)
    return _Build(reader, root, kit, rulebook_name).design()


def _quantities(source: Source) -> Quantities:
    """How the file writes lengths. What cannot be read here is reported with the table of fields."""
    asked = source.values.get("units", "mm")
    dimensions = source.values.get("dimensions", {})
    try:
        unit = parse_unit(asked) if isinstance(asked, str) else LengthUnit.MM
    except QuantityError:
        unit = LengthUnit.MM
    return Quantities(unit, dimensions if isinstance(dimensions, dict) else {})


def _refuse_newer_format(reader: Reader) -> None:
    """A file of a later format is not worth a list of keys we do not know."""
    version = reader.source.values.get("format")
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT:
        reader.fault(
            ("format",),
            "format-newer",
            "this file is of a later format than this program reads",
            expected=f"format = {FORMAT}, or a newer program",
        )
        raise ProblemsError(reader.problems)


def _parts(table: Table) -> Parts:
    def count(key: str) -> int:
        return table.count(key) or 0

    return Parts(
        clips=count("clips"),
        spare_wheels=count("spare_wheels"),
        spare_axles=count("spare_axles"),
        spare_washers=count("spare_washers"),
        spare_eyes=count("spare_eyes"),
        spare_clips=count("spare_clips"),
        number_height_mm=table.number("number_height"),
    )


class _Build:
    """One reading: parts in the order of the file, then what they have to do with each other."""

    def __init__(self, reader: Reader, root: Table, kit: Kit, rulebook_name: str | None) -> None:
        self.reader = reader
        self.root = root
        self.parts = PartsReader(reader, kit)
        self.rulebook_name = rulebook_name

    def design(self) -> Design:
        root, parts = self.root, self.parts
        profile, plan = self._outlines()
        blank, wood = parts.blank(root.table("blank")), parts.wood(root.table("blank"))
        wares = parts.wares(root.table("cartridge"), root.table("finish"))
        bore = parts.bore(root.table("bore"), blank, self._tail)
        axles = self._axles()
        eyes = parts.eyes(root.tables("screw_eye"), axles)
        check_axle_order(self.reader, axles)
        if bore is not None:
            check_bore(self.reader, bore, blank, wares.cartridge)
        weighed = root.table("blank").number("weighed")
        check_weighed(self.reader, weighed, blank, wood)
        front, rear = axles
        if (
            self.reader.problems
            or profile is None
            or plan is None
            or blank is None
            or wood is None
            or bore is None
            or front is None
            or rear is None
            or wares.cartridge is None
            or wares.finish is None
            or wares.glue is None
        ):
            if not self.reader.problems:
                raise RuntimeError("a part of the design is missing and nothing said so")
            raise ProblemsError(in_other_unit(self.reader) or self.reader.problems)
        balance = root.table("blank").number("balance")
        asked = peek_rulebook(self.reader.source)
        design = Design(
            source=self.reader.source,
            name=root.text("name") or "",
            bench=root.text("bench") or "",
            unit=self.reader.quantities.unit,
            rulebook=asked if self.rulebook_name is None else self.rulebook_name,
            wood=wood,
            blank=blank,
            weighed_blank_g=weighed,
            balance_g=BALANCE_G if balance is None else balance,
            profile=profile.outline,
            plan=plan.outline,
            plan_mirrored=plan.mirrored,
            edge_round_mm=root.table("edges").number("round") or 0.0,
            bore=bore,
            axles=(front, rear),
            eyes=eyes,
            cartridge=wares.cartridge,
            finish=wares.finish,
            glue=wares.glue,
            fingerprint="",
            parts=_parts(root.table("parts")),
            warnings=tuple(sorted(self.reader.warnings, key=Problem.sort_key)),
        )
        return replace(design, fingerprint=fingerprint(meaning(design, profile, plan)))

    def _outlines(self) -> tuple[Drawn | None, Drawn | None]:
        plan_table = self.root.table("plan")
        profile = read_outline(self.reader, self.root.table("profile"), mirror=False)
        plan = read_outline(self.reader, plan_table, mirror=not plan_table.says_no("mirror"))
        self._tail: float | None = None
        if profile is not None and plan is not None:
            if not check_ends(self.reader, profile, plan):
                return None, None
            self._tail = body_ends(profile, plan)[1]
        return profile, plan

    def _axles(self) -> list[AxleSet | None]:
        table = self.root.table("axles")
        axles = [
            self.parts.axle(table.table(end.value), end) if table.has_table(end.value) else None
            for end in AxleEnd
        ]
        for axle in axles:
            if axle is not None:
                check_axle_parts(self.reader, axle)
        return axles
