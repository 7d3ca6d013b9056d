"""STEP files as bytes: the same solids give the same bytes. ISO 10303-21, application protocol 214, in mm.

CadQuery's own exporters write the day, names counted through the life of the process, and colours in an order
that changes from run to run; so the kernel's writers are called here.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING

from bodyshop.solids.build import Progress
from bodyshop.solids.errors import SolidError
from bodyshop.solids.parts import CarPart
from bodyshop.solids.threemf import HERE, Move

if TYPE_CHECKING:
    import cadquery
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPControl import STEPControl_Writer
    from OCP.TopLoc import TopLoc_Location

__all__ = ["assembly_step_bytes", "step_bytes"]

# What the file says when no date is given: none is made up, and the standard wants one.
_NO_DATE = date(1970, 1, 1)
_WHOLE = "the whole car"


def step_bytes(
    solid: cadquery.Shape, name: str = "", on: date | None = None, progress: Progress | None = None
) -> bytes:
    """A STEP file of the solid, in mm; `name` becomes the product's name.

    Raises:
        SolidError: the kernel cannot write it.
    """
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    tell = progress or (lambda _what, _share: None)
    tell("writing STEP", 0.85)
    text = _part21(name) or "body"
    with _quiet():
        writer = STEPControl_Writer()
        done = writer.Transfer(solid.wrapped, STEPControl_StepModelType.STEPControl_AsIs)
        _refuse(done)
        _head(writer, text, on, "body of a wooden car, lengths in mm")
        _name_products(writer, {}, text)
        return _written(writer)


def assembly_step_bytes(parts: Sequence[CarPart], name: str = "", on: date | None = None) -> bytes:
    """A STEP file of the parts, each a named product in its colour, alike ones used several times.

    Raises:
        SolidError: the kernel cannot write it.
    """
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType
    from OCP.TCollection import TCollection_ExtendedString as WideText
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_Label
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    document = TDocStd_Document(WideText("XmlXCAF"))
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    whole = shapes.NewShape()
    TDataStd_Name.Set_s(whole, WideText(_WHOLE))
    products: dict[str, TDF_Label] = {}
    for part in parts:
        if part.kind not in products:
            products[part.kind] = shapes.AddShape(part.form.shape().wrapped, False)
            TDataStd_Name.Set_s(products[part.kind], WideText(part.kind))
        used = shapes.AddComponent(whole, products[part.kind], _location(part.move))
        TDataStd_Name.Set_s(used, WideText(part.name))
    shapes.UpdateAssemblies()
    text = _part21(name) or "car"
    with _quiet():
        writer = STEPCAFControl_Writer()
        # The kernel writes colours in the order of addresses in memory, another in each run.
        writer.SetColorMode(False)
        writer.SetNameMode(True)
        if not writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs):
            raise SolidError("the 3D kernel cannot write this car as STEP")
        plain = writer.ChangeWriter()
        _colour(plain, parts)
        _head(plain, text, on, "wooden car with wheels, lengths in mm")
        _name_products(plain, {_WHOLE: text}, "")
        return _written(plain)


def _colour(writer: STEPControl_Writer, parts: Sequence[CarPart]) -> None:
    """Every solid in the colour of its kind: one style for each, in the order of the file."""
    from OCP.Quantity import Quantity_Color, Quantity_TOC_sRGB
    from OCP.STEPConstruct import STEPConstruct_Styles
    from OCP.StepRepr import StepRepr_HArray1OfRepresentationItem as StyledItems
    from OCP.StepShape import StepShape_AdvancedBrepShapeRepresentation, StepShape_ManifoldSolidBrep
    from OCP.StepVisual import StepVisual_MechanicalDesignGeometricPresentationRepresentation as Presentation
    from OCP.TCollection import TCollection_HAsciiString as KernelText

    paints = list({part.kind: part.colour for part in parts}.values())
    model = writer.Model()
    entities = [model.Value(i) for i in range(1, model.NbEntities() + 1)]
    drawn = [e for e in entities if isinstance(e, StepShape_AdvancedBrepShapeRepresentation)]
    for shape, paint in zip(drawn, paints, strict=True):
        red, green, blue = (int(paint[i : i + 2], 16) / 255 for i in (1, 3, 5))
        styles = STEPConstruct_Styles(writer.WS())
        tint = STEPConstruct_Styles.EncodeColor_s(Quantity_Color(red, green, blue, Quantity_TOC_sRGB))
        for i in range(1, shape.NbItems() + 1):
            item = shape.ItemsValue(i)
            if isinstance(item, StepShape_ManifoldSolidBrep):
                styles.AddStyle(item, styles.MakeColorPSA(item, tint, tint, tint, 0.0), None)
        styled = StyledItems(1, styles.NbStyles())
        for i in range(1, styles.NbStyles() + 1):
            styled.SetValue(i, styles.Style(i))
        presentation = Presentation()
        presentation.Init(KernelText(""), styled, shape.ContextOfItems())
        model.AddWithRefs(presentation)


def _location(move: Move) -> TopLoc_Location:
    from OCP.gp import gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    if move == HERE:
        return TopLoc_Location()
    moved = gp_Trsf()
    moved.SetValues(*(number for row in move for number in row))
    return TopLoc_Location(moved)


def _head(writer: STEPControl_Writer, text: str, on: date | None, description: str) -> None:
    """The file's header: nothing of the machine it was made on."""
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.TCollection import TCollection_HAsciiString as KernelText

    header = APIHeaderSection_MakeHeader(writer.Model())
    header.SetName(KernelText(text))
    header.SetTimeStamp(KernelText(f"{(on or _NO_DATE).isoformat()}T00:00:00"))
    header.SetOriginatingSystem(KernelText("bodyshop"))
    header.SetAuthorValue(1, KernelText(""))
    header.SetOrganizationValue(1, KernelText(""))
    header.SetAuthorisation(KernelText(""))
    header.SetDescriptionValue(1, KernelText(description))


def _name_products(writer: STEPControl_Writer, names: Mapping[str, str], otherwise: str) -> None:
    """Products by their own names, and their uses counted anew: the kernel counts both through the life of
    the process.
    """
    from OCP.StepBasic import StepBasic_Product
    from OCP.StepRepr import StepRepr_NextAssemblyUsageOccurrence
    from OCP.TCollection import TCollection_HAsciiString as KernelText

    model = writer.Model()
    uses = 0
    for i in range(1, model.NbEntities() + 1):
        entity = model.Value(i)
        if isinstance(entity, StepBasic_Product):
            own = entity.Name().ToCString()
            text = KernelText(otherwise or names.get(own, own))
            entity.SetId(text)
            entity.SetName(text)
        elif isinstance(entity, StepRepr_NextAssemblyUsageOccurrence):
            uses += 1
            entity.SetId(KernelText(str(uses)))


def _refuse(status: IFSelect_ReturnStatus) -> None:
    from OCP.IFSelect import IFSelect_ReturnStatus

    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise SolidError("the 3D kernel cannot write this body as STEP")


def _written(writer: STEPControl_Writer) -> bytes:
    stream = io.BytesIO()
    _refuse(writer.WriteStream(stream))
    return stream.getvalue().replace(b"\r\n", b"\n")


def _part21(text: str) -> str:
    r"""Text as ISO 10303-21 has it: what ASCII cannot say as \X2\ and UTF-16 digits. The kernel itself
    doubles apostrophes.
    """
    out = []
    for c in text:
        if c == "\\" or not c.isprintable() or 0xD800 <= ord(c) <= 0xDFFF:
            out.append("?")
        elif c.isascii():
            out.append(c)
        else:
            out.append(f"\\X2\\{c.encode('utf-16-be').hex().upper()}\\X0\\" if ord(c) < 0x10000 else "?")
    return "".join(out)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the kernel from printing its statistics, and leave its printers as they were."""
    from OCP.Message import Message, Message_Gravity

    printers = list(Message.DefaultMessenger_s().Printers())
    levels = [printer.GetTraceLevel() for printer in printers]
    for printer in printers:
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
    try:
        yield
    finally:
        for printer, level in zip(printers, levels, strict=True):
            printer.SetTraceLevel(level)
