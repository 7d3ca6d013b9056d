"""Blank, bore, axles, screw eyes and what goes on them: from the file, or from the kit where it is silent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from bodyshop.car.design.fields import NONE, Shelf
from bodyshop.car.design.model import AxleEnd, AxleSet, Bore, EyePlace, KeyPath, Kit
from bodyshop.car.design.reading import Reader
from bodyshop.car.design.table import DesignTable
from bodyshop.car.stock.blanks import Blank, BlankBore
from bodyshop.car.stock.finish import Finish, Glue
from bodyshop.car.stock.hardware import Axle, Bearing, Cartridge, ScrewEye, Washer, Wheel
from bodyshop.car.stock.woods import Wood
from bodyshop.foundation.toml.rows import Confidence, StockItem

__all__ = ["BARE_AXLE_PLAY_MM", "BALANCE_G", "PartsReader", "CarFittings"]

BARE_AXLE_PLAY_MM = 0.5
"""A hole for an axle that turns in the wood itself is drilled this much wider: common practice, no
published source."""

SIDE_PLAY_MM = 0.5
"""Free gap at each side of an axle: common practice, no published source."""

BALANCE_G = 1.0
"""A kitchen balance shows whole grams."""

Item = TypeVar("Item", bound=StockItem)

_OWN_BLANK = ("length", "width", "height", "height_nose", "height_tail", "bore")


@dataclass(frozen=True, slots=True)
class CarFittings:
    """What the whole car has one of."""

    cartridge: Cartridge | None
    finish: Finish | None
    glue: Glue | None


class PartsReader:
    """Makes parts of tables that were read. A part that cannot be had comes out as None, and is noted."""

    def __init__(self, reader: Reader, kit: Kit) -> None:
        self.reader = reader
        self.kit = kit

    def _choose(
        self,
        table: DesignTable,
        key: str,
        shelf: Shelf,
        kind: type[Item],
        from_kit: str,
        *,
        otherwise: str = "",
    ) -> Item | None:
        """The item that the file names, else the kit's, else the one called `otherwise`."""
        name = table.text(key)
        if name is None and (key in table.given or table.faulty):
            return None
        asked = name or from_kit or otherwise
        if asked == NONE and name is None and otherwise != NONE:
            asked = ""
        if asked == NONE and shelf in (Shelf.BEARINGS, Shelf.WASHERS):
            return None
        found = self.reader.shelves.item(shelf, asked, kind)
        if found is None:
            reason = f'the kit\'s "{asked}" is not among the {shelf.value}' if asked else "the kit names none"
            self.reader.missing(
                (*table.path, key),
                f"{key} is missing from [{_header(table.path)}], and {reason}",
                f"the name of one of the {shelf.value}",
            )
        return found

    # ------------------------------------------------------------ blank and bore

    def wood(self, table: DesignTable) -> Wood | None:
        """The wood."""
        return self._choose(table, "wood", Shelf.WOODS, Wood, self.kit.wood)

    def blank(self, table: DesignTable) -> Blank | None:
        """A stock blank, or a block of the student's own."""
        own = [key for key in _OWN_BLANK if key in table.given]
        if "stock" in table.given:
            for key in own:
                self.reader.fault(
                    (*table.path, key),
                    "blank-both",
                    f"{key} is given, but a stock blank brings its own sizes",
                    at_key=True,
                    expected="stock alone, or the sizes of a block of your own",
                )
        if "stock" in table.given or not own:
            return self._choose(table, "stock", Shelf.BLANKS, Blank, self.kit.blank)
        return self._own_blank(table)

    def _own_blank(self, table: DesignTable) -> Blank | None:
        wedge = [key for key in ("height_nose", "height_tail") if key in table.given]
        if "height" in table.given:
            for key in wedge:
                self.reader.fault(
                    (*table.path, key),
                    "blank-heights",
                    f"a block with one height has no {key}",
                    at_key=True,
                    expected="height for a block, or height_nose and height_tail for a wedge",
                )
        needed = ("length", "width", *(("height_nose", "height_tail") if wedge else ("height",)))
        for key in needed:
            if key not in table.given:
                self.reader.missing(
                    (*table.path, key),
                    f"{key} is missing",
                    f"{key} = a length, for a block of your own",
                )
        length, width = table.number("length"), table.number("width")
        nose = table.number("height_nose" if wedge else "height")
        tail = table.number("height_tail" if wedge else "height")
        if length is None or width is None or nose is None or tail is None:
            return None
        bore: BlankBore | None = None
        if "bore" in table.given:
            bore = self._blank_bore(table.table("bore"), length, width, tail)
            if bore is None:
                return None
        return Blank(
            id="own",
            label="own wedge" if nose != tail else "own block",
            length_mm=length,
            width_mm=width,
            height_nose_mm=nose,
            height_tail_mm=tail,
            bore=bore,
            source="the design file",
            confidence=Confidence.READ,
            note="",
        )

    def _blank_bore(self, table: DesignTable, length: float, width: float, height: float) -> BlankBore | None:
        diameter, depth, centre = table.number("diameter"), table.number("depth"), table.number("height")
        if diameter is None or depth is None or centre is None:
            return None
        show = self.reader.length_text
        if diameter >= width:
            self._bad_blank_bore(table, "diameter", "wider than the blank", f"less than {show(width)}")
        elif depth >= length:
            self._bad_blank_bore(table, "depth", "deeper than the blank is long", f"less than {show(length)}")
        elif not diameter / 2 < centre < height - diameter / 2:
            bounds = f"between {show(diameter / 2)} and {show(height - diameter / 2)}"
            self._bad_blank_bore(table, "height", "partly outside the blank's tail end", bounds)
        else:
            return BlankBore(diameter, depth, centre)
        return None

    def _bad_blank_bore(self, table: DesignTable, key: str, what: str, expected: str) -> None:
        self.reader.fault((*table.path, key), "blank-bore", f"this bore is {what}", expected=expected)

    def bore(self, table: DesignTable, blank: Blank | None, tail_mm: float | None) -> Bore | None:
        """The bore, with what is left of a drilled blank's where the file is silent.

        `tail_mm` is where the tail of the body is: sawing wood off the tail end of a drilled blank makes
        the bore shallower.
        """
        drilled = blank.bore if blank is not None else None
        from_blank: dict[str, float] = {}
        if drilled is not None and blank is not None:
            from_blank = {"diameter": drilled.diameter_mm, "height": drilled.height_mm}
            left = drilled.depth_mm - (blank.length_mm - (blank.length_mm if tail_mm is None else tail_mm))
            if left > 0:
                from_blank["depth"] = left
        if not table.given and drilled is None:
            if blank is not None and not table.faulty:
                self.reader.missing(
                    table.path,
                    "[bore] is missing, and the blank is not drilled",
                    "[bore] with diameter, depth and height of the cartridge hole",
                )
            return None
        figures: dict[str, float] = {}
        for key in ("diameter", "depth", "height"):
            value = table.number(key)
            if value is None and key not in table.given:
                value = from_blank.get(key)
                if value is None and blank is not None:
                    self._bore_missing(table, key, drilled)
            if value is not None:
                figures[key] = value
        if len(figures) < 3:
            return None
        return Bore(
            figures["diameter"],
            figures["depth"],
            figures["height"],
            table.number("offset") or 0.0,
            table.number("angle") or 0.0,
        )

    def _bore_missing(self, table: DesignTable, key: str, drilled: BlankBore | None) -> None:
        reason = "nothing is left of the blank's own bore" if drilled else "the blank is not drilled"
        self.reader.missing(
            (*table.path, key), f"{key} is missing from [bore], and {reason}", f"{key} = a length, in [bore]"
        )

    # ------------------------------------------------------------ axles

    def axle(self, table: DesignTable, end: AxleEnd) -> AxleSet | None:
        """An axle and what is on it."""
        kit = self.kit
        axle = self._choose(table, "axle", Shelf.AXLES, Axle, kit.axle)
        bearing = self._choose(table, "bearing", Shelf.BEARINGS, Bearing, kit.bearing, otherwise=NONE)
        washer = self._choose(table, "washer", Shelf.WASHERS, Washer, kit.washer, otherwise=NONE)
        wheel = self._wheel(table, kit.front_wheel if end is AxleEnd.FRONT else kit.rear_wheel)
        x, height = table.number("x"), table.number("height")
        hole = table.number("hole")
        if hole is None and axle is not None:
            hole = bearing.outer_mm if bearing is not None else axle.diameter_mm + BARE_AXLE_PLAY_MM
        washers = table.count("washers")
        if washers and washer is None and (table.text("washer") == NONE or "washer" not in table.given):
            self.reader.missing(
                (*table.path, "washer"),
                f"{washers} washers are wanted but no washer is named",
                "the name of one of the washers",
            )
        if axle is None or wheel is None or x is None or height is None or hole is None:
            return None
        play = table.number("play")
        return AxleSet(
            end=end,
            x_mm=x,
            height_mm=height,
            hole_mm=hole,
            axle=axle,
            length_mm=table.number("length"),
            bearing=bearing,
            wheel=wheel,
            washer=washer,
            washers=0 if washer is None else (kit.washers if washers is None else washers),
            play_mm=SIDE_PLAY_MM if play is None else play,
        )

    def _wheel(self, table: DesignTable, from_kit: str) -> Wheel | None:
        own = table.table("wheel")
        if not table.has_table("wheel"):
            return self._choose(table, "wheel", Shelf.WHEELS, Wheel, from_kit)
        wheel = self._choose(own, "stock", Shelf.WHEELS, Wheel, from_kit)
        if wheel is None:
            return None
        diameter, width, mass = own.number("diameter"), own.number("width"), own.number("mass")
        if diameter is not None and diameter <= wheel.bore_mm:
            self.reader.fault(
                (*own.path, "diameter"),
                "wheel-size",
                "the wheel is no wider than the hole in its middle",
                expected=f"more than {self.reader.length_text(wheel.bore_mm)}",
            )
            return None
        if width is not None:
            # The hub keeps its shape: what is wider or narrower is the tread.
            longer = max(wheel.hub_length_mm + width - wheel.width_mm, width)
            wheel = replace(wheel, width_mm=width, hub_length_mm=longer)
        if diameter is not None:
            wheel = replace(wheel, diameter_mm=diameter)
        return wheel if mass is None else replace(wheel, mass_g=mass)

    # ------------------------------------------------------------ screw eyes

    def eyes(self, tables: Sequence[DesignTable], axles: Sequence[AxleSet | None]) -> tuple[EyePlace, ...]:
        """The screw eyes, as far as they can be placed."""
        places = [self._eye(table, axles) for table in tables]
        return tuple(place for place in places if place is not None)

    def _eye(self, table: DesignTable, axles: Sequence[AxleSet | None]) -> EyePlace | None:
        eye = self._choose(table, "eye", Shelf.SCREW_EYES, ScrewEye, self.kit.screw_eye)
        ways = [key for key in ("behind", "ahead", "x") if key in table.given]
        if not ways:
            self._eye_fault(
                table.path, "this screw eye has no place", "axle with behind or ahead, or x", key=False
            )
        for extra in ways[1:]:
            self._eye_fault(
                (*table.path, extra),
                f"this screw eye has {ways[0]} and {extra}",
                "one of behind, ahead and x",
            )
        if ways == ["x"] and "axle" in table.given:
            self._eye_fault(
                (*table.path, "axle"),
                "a screw eye placed by x is not measured from an axle",
                "x alone, or axle with behind or ahead",
            )
        if ways and ways[0] != "x" and "axle" not in table.given:
            self._eye_fault(
                (*table.path, ways[0]), f"{ways[0]} which axle?", 'axle = "front" or axle = "rear" beside it'
            )
        offset = table.number("offset") or 0.0
        if eye is None or len(ways) != 1:
            return None
        amount = table.number(ways[0])
        if amount is None:
            return None
        if ways[0] == "x":
            return EyePlace(eye, amount, offset, None, 0.0)
        name = table.text("axle")
        from_axle = amount if ways[0] == "behind" else -amount
        for end, axle in zip(AxleEnd, axles, strict=True):
            if end.value == name and axle is not None:
                return EyePlace(eye, axle.x_mm + from_axle, offset, end, from_axle)
        return None

    def _eye_fault(self, path: KeyPath, message: str, expected: str, *, key: bool = True) -> None:
        self.reader.fault(path, "eye-place", message, at_key=key, expected=expected)

    # ------------------------------------------------------------ the rest

    def wares(self, cartridge: DesignTable, finish: DesignTable) -> CarFittings:
        """Cartridge, finish and glue."""
        return CarFittings(
            self._choose(
                cartridge,
                "stock",
                Shelf.CARTRIDGES,
                Cartridge,
                self.kit.cartridge,
                otherwise=USUAL_CARTRIDGE,
            ),
            self._choose(finish, "finish", Shelf.FINISHES, Finish, self.kit.finish, otherwise=BARE),
            self._choose(finish, "glue", Shelf.GLUES, Glue, self.kit.glue, otherwise=NONE),
        )


USUAL_CARTRIDGE = "cartridge-8g"
BARE = "bare"


def _header(path: KeyPath) -> str:
    return ".".join(str(part) for part in path if isinstance(part, str))
