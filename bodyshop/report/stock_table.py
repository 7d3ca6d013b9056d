"""What is in stock, as lists for a terminal: name, figures, and where the figures come from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final, Protocol

from bodyshop.lengths import MassUnit, format_density, format_mass
from bodyshop.report.columns import pad, width_of, wrap
from bodyshop.report.ink import Ink
from bodyshop.stock.blades import blades
from bodyshop.stock.blanks import Blank, blanks
from bodyshop.stock.finish import finishes, glues
from bodyshop.stock.hardware import MAKERS, NOTHING, Hardware, Wheel, hardware
from bodyshop.stock.sheets import sheet_sizes
from bodyshop.stock.tables import Confidence
from bodyshop.stock.woods import woods

__all__ = ["SHELVES", "stock_table"]

_SURE: Final = {
    Confidence.READ: "",
    Confidence.SECOND_HAND: " (second hand)",
    Confidence.COMPUTED: " (computed)",
    Confidence.MEMORY: " (from memory)",
    Confidence.PRACTICE: "",
    Confidence.INVENTED: "",
}


class _Listed(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def confidence(self) -> Confidence: ...


_Row = tuple[str, str, _Listed]
"""Name, figures, and the item."""


def _woods(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for wood in woods().values():
        density = format_density(wood.density_g_per_mm3)
        yield wood.id, f"{wood.label}, {density} ± {wood.spread:.0%} from piece to piece", wood


def _blanks(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for blank in blanks().values():
        yield blank.id, f"{blank.label}, {_block(blank)}", blank


def _block(blank: Blank) -> str:
    height = f"{blank.height_nose_mm:g}"
    if blank.is_wedge:
        height += f" to {blank.height_tail_mm:g}"
    return f"{blank.length_mm:g} × {blank.width_mm:g} × {height} mm{', drilled' if blank.is_drilled else ''}"


def _wheels(brought: Hardware, unit: MassUnit) -> Iterable[_Row]:
    for wheel in hardware().and_also(brought).wheels.values():
        yield wheel.id, f"{wheel.label}, {_wheel(wheel, unit)}", wheel


def _wheel(wheel: Wheel, unit: MassUnit) -> str:
    return f"{wheel.diameter_mm:g} mm across, tread {wheel.width_mm:g} mm, {_mass(wheel.mass_g, unit)}"


def _mass(mass_g: float, unit: MassUnit) -> str:
    """A small mass as it is in stock: grams as they stand, thousandths of an ounce."""
    return f"{mass_g:g} g" if unit is MassUnit.G else format_mass(mass_g, 3, unit)


def _parts(shelf: str) -> Callable[[Hardware, MassUnit], Iterable[_Row]]:
    def rows(brought: Hardware, _: MassUnit) -> Iterable[_Row]:
        for item in hardware().and_also(brought).shelf(shelf).values():
            yield item.id, item.label, item

    return rows


def _finishes(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for finish in finishes().values():
        yield finish.id, f"{finish.label}, film {finish.film_mm:g} mm", finish


def _glues(_: Hardware, unit: MassUnit) -> Iterable[_Row]:
    for glue in glues().values():
        yield glue.id, f"{glue.label}, {_mass(glue.mass_g, unit)}", glue


def _sheets(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for sheet in sheet_sizes().values():
        yield sheet.id, f"{sheet.width_mm:g} × {sheet.height_mm:g} mm", sheet


def _blades(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for blade in blades().values():
        yield blade.id, f"{blade.label}, cuts down to a radius of {blade.least_radius_mm:g} mm", blade


SHELVES: Final[Mapping[str, Callable[[Hardware, MassUnit], Iterable[_Row]]]] = {
    "woods": _woods,
    "blanks": _blanks,
    "wheels": _wheels,
    "axles": _parts("axles"),
    "bearings": _parts("bearings"),
    "washers": _parts("washers"),
    "screw-eyes": _parts("screw-eyes"),
    "cartridges": _parts("cartridges"),
    "finishes": _finishes,
    "glues": _glues,
    "sheets": _sheets,
    "blades": _blades,
}
"""What can be listed, by the word for it."""


def stock_table(
    shelves: Iterable[str],
    brought: Hardware = NOTHING,
    *,
    unit: MassUnit = MassUnit.G,
    width: int = 80,
    ink: Ink | None = None,
) -> str:
    """The shelves one after the other; ending in a newline. `brought` is hardware of an event's own, which is
    listed behind what is in stock; masses are in `unit`, that of its rulebook.
    """
    ink = ink or Ink()
    lines: list[str] = []
    for shelf in shelves:
        rows = list(SHELVES[shelf](brought, unit))
        lines += ["", ink.strong(shelf.replace("-", " ").capitalize())]
        column = max((width_of(name) for name, _, _ in rows), default=0)
        for name, figures, item in rows:
            own = ", the event's own" if shelf in MAKERS and name in brought.shelf(shelf) else ""
            lines += wrap(f"{figures}{own}", width, f"  {pad(name, column)}  ")
            lines += wrap(f"{item.source}{_SURE[item.confidence]}", width, "      ")
    return "\n".join(lines[1:]) + "\n"
