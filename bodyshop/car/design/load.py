"""A design from its file, whole: what it is, whether its parts belong together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bodyshop.car.design.fields import FORMAT, Shelves
from bodyshop.car.design.fingerprint import fingerprint, meaning
from bodyshop.car.design.model import AxleEnd, AxleSet, Bore, Design, KeyPath, Kit, Parts
from bodyshop.car.design.outlines import DesignOutline, read_outline
from bodyshop.car.design.parts import BALANCE_G, PartsReader
from bodyshop.car.design.reading import Reader
from bodyshop.car.design.schema import ROOT
from bodyshop.car.design.table import DesignTable, Quantities
from bodyshop.car.design.wrong_file import in_other_unit, refuse_other
from bodyshop.car.stock.blanks import Blank
from bodyshop.car.stock.hardware import Cartridge, WheelEnd
from bodyshop.car.stock.woods import Wood
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import Source
from bodyshop.foundation.toml.rows import GRAMS_PER_MM3
from bodyshop.foundation.units import LengthUnit, QuantityError, format_mass, parse_unit

__all__ = [
    "body_ends",
    "check_axle_order",
    "check_axle_parts",
    "check_bore",
    "check_ends",
    "check_weighed",
    "peek_rulebook",
    "read_design",
]


SAME_MM = 0.01
# A wheel is pressed on to its axle: this much (mm) either way still can be.
PRESS_MM = 0.1
# Standard deviations of its wood that a weighed blank may be off: 3 in 1000 pieces are further off than that.
FAR = 3.0


def check_ends(reader: Reader, profile: DesignOutline, plan: DesignOutline) -> bool:
    """Whether profile and plan share some length; a warning where they begin or end apart."""
    p, q = profile.outline.bounds, plan.outline.bounds
    show = reader.length_text
    if min(p[2], q[2]) - max(p[0], q[0]) < SAME_MM:
        reader.fault(
            ("plan", "points"),
            "no-overlap",
            f"the plan runs from x = {show(q[0])} to {show(q[2])} "
            f"and the profile from {show(p[0])} to {show(p[2])}: no body is left between them",
            at_key=True,
            expected="both views of one length, from the same nose",
        )
        return False
    for name, side, top in (("nose", p[0], q[0]), ("tail", p[2], q[2])):
        if abs(side - top) > SAME_MM:
            reader.warn(
                ("plan", "points"),
                "ends-differ",
                f"the {name} is at x = {show(top)} in the plan and at {show(side)} in the profile: "
                "the body ends where the first of them does",
                at_key=True,
                expected="both views of one length",
            )
    return True


def body_ends(profile: DesignOutline, plan: DesignOutline) -> tuple[float, float]:
    """Where the nose and the tail of the body are: x in mm."""
    p, q = profile.outline.bounds, plan.outline.bounds
    return max(p[0], q[0]), min(p[2], q[2])


def check_axle_order(reader: Reader, axles: Sequence[AxleSet | None]) -> None:
    """The front axle nearer the nose."""
    front, rear = axles
    if front is not None and rear is not None and front.x_mm >= rear.x_mm:
        reader.fault(
            ("axles", "rear", "x"),
            "axle-order",
            "the rear axle is not behind the front axle",
            expected=f"more than {reader.length_text(front.x_mm)}: x counts from the nose",
        )


def check_bore(reader: Reader, bore: Bore, blank: Blank | None, cartridge: Cartridge | None) -> None:
    """Warnings where the bore suits neither the cartridge nor a blank that is drilled already."""
    show = reader.length_text
    if cartridge is not None and cartridge.diameter_mm >= bore.diameter_mm:
        reader.warn(
            ("bore", "diameter"),
            "bore-tight",
            f"the cartridge is {show(cartridge.diameter_mm)} thick and does not go in",
            expected=f"more than {show(cartridge.diameter_mm)}",
        )
    drilled = blank.bore if blank is not None else None
    if drilled is not None and (
        bore.diameter_mm < drilled.diameter_mm - SAME_MM
        or (abs(bore.height_mm - drilled.height_mm) > SAME_MM or abs(bore.offset_mm) > SAME_MM)
    ):
        reader.warn(
            ("bore",),
            "bore-redrilled",
            f"the blank is drilled already, {show(drilled.diameter_mm)} wide "
            f"and {show(drilled.height_mm)} above its underside, and this bore differs",
            expected="the blank's own bore, or a blank that is not drilled",
        )


def check_weighed(reader: Reader, weighed_g: float | None, blank: Blank | None, wood: Wood | None) -> None:
    """A warning where the weighed blank is far from anything that its wood weighs: mostly a slip of the
    decimal point, another block, or another wood.
    """
    if weighed_g is None or blank is None or wood is None:
        return
    volume = blank.wood_volume_mm3
    usual = wood.density_g_per_mm3 * volume
    low, high = (usual * max(1 + side * FAR * wood.spread, 0.0) for side in (-1, 1))
    if low <= weighed_g <= high:
        return
    density = weighed_g / volume / GRAMS_PER_MM3
    least, most = (format_mass(mass, decimals=0) for mass in (low, high))
    reader.warn(
        ("blank", "weighed"),
        "weighed-density",
        f"a blank of this size and {format_mass(weighed_g)} would have {density:,.0f} kg/m3, which is no "
        f"{wood.label}",
        expected=f"{least} to {most} for {wood.label}, which has "
        f"{low / volume / GRAMS_PER_MM3:.0f} to {high / volume / GRAMS_PER_MM3:.0f} kg/m3",
    )


def check_axle_parts(reader: Reader, axle: AxleSet) -> None:
    """Warnings where parts of one axle do not go together."""
    path: KeyPath = ("axles", axle.end.value)
    show = reader.length_text
    rod, bearing, wheel = axle.axle.diameter_mm, axle.bearing, axle.wheel
    inside = bearing.outer_mm if bearing is not None else rod
    if axle.hole_mm < inside - SAME_MM:
        what = "bearing" if bearing is not None else "axle"
        reader.warn(
            (*path, "hole"),
            "hole-tight",
            f"the {what} is {show(inside)} thick and does not go through this hole",
            expected=f"at least {show(inside)}",
        )
    if bearing is not None and bearing.inner_mm <= rod:
        reader.warn(
            (*path, "bearing"),
            "bearing-tight",
            f"the axle is {show(rod)} thick and the bearing {show(bearing.inner_mm)} wide inside: "
            "it does not turn",
        )
    if abs(wheel.bore_mm - rod) > PRESS_MM:
        reader.warn(
            (*path, "wheel"),
            "wheel-bore",
            f"the wheel's hole is {show(wheel.bore_mm)} and the axle {show(rod)} thick: "
            "it cannot be pressed on",
        )
    if wheel.end.value not in (WheelEnd.EITHER.value, axle.end.value):
        reader.warn((*path, "wheel"), "wheel-end", f"{wheel.id} is made for the {wheel.end.value} axle")


def peek_rulebook(source: Source) -> str:
    """The rulebook that a design asks for; empty when it names none (or says something odd there)."""
    asked = source.values.get("rulebook", "")
    return asked.strip() if isinstance(asked, str) else ""


def read_design(source: Source, kit: Kit | None = None, rulebook_name: str | None = None) -> Design:
    """The design that `source` says, parts it does not name being the kit's.

    `rulebook_name` is kept instead of the rulebook that the file names.

    Raises:
        ProblemsError: all that is wrong with the file, each at its place.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.foundation.toml import read_source
    >>> from bodyshop.rules.checking import open_car
    >>> kit = open_car(samples_folder() / "kestrel.toml").rulebook.kit
    >>> read_design(read_source(samples_folder() / "kestrel.toml"), kit).name
    'Kestrel'
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


def _parts(table: DesignTable) -> Parts:
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

    def __init__(self, reader: Reader, root: DesignTable, kit: Kit, rulebook_name: str | None) -> None:
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

    def _outlines(self) -> tuple[DesignOutline | None, DesignOutline | None]:
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
