"""Words cut into a flat face, in the letters of the papers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bodyshop.drawing.sheet.lettering import font_file, load_face
from bodyshop.foundation.place import Point3
from bodyshop.solids.face_mesh import faces_of

if TYPE_CHECKING:
    from OCP.gp import gp_Vec
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

__all__ = ["EngravedText", "marked_shape"]

LEAST_LETTER_MM = 2.5
"""Smaller letters come out of no printer; then the notches alone have to tell."""

NEAR_MM = 1e-6


@dataclass(frozen=True, slots=True)
class EngravedText:
    """Words about `middle` on a face, running along `along`; `out` points away from the material.

    `room` is the width and height (mm) that they have to keep within, `letter` the height of a capital.
    """

    words: str
    middle: Point3
    along: Point3
    out: Point3
    room: tuple[float, float]
    letter_mm: float
    depth_mm: float


def marked_shape(shape: TopoDS_Shape, marks: Sequence[EngravedText]) -> TopoDS_Shape:
    """A solid with the words cut into its flat faces.

    The letters' own edges become edges of the face, which no boolean operation is needed for: those take
    seconds with so many small faces.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
    from OCP.BRepLib import BRepLib
    from OCP.TopoDS import TopoDS

    faces = faces_of(shape)
    letters: dict[int, list[TopoDS_Face]] = {}
    depths: dict[int, gp_Vec] = {}
    for mark in marks:
        number = _face_under(faces, mark)
        words = _letters(mark)
        if number is None or not words:
            continue
        letters.setdefault(number, []).extend(words)
        depths[number] = _vector(mark.out, -mark.depth_mm)
    if not letters:
        return shape
    sewing = BRepBuilderAPI_Sewing(1e-6)
    for number, face in enumerate(faces):
        for piece in _pierced(face, letters[number], depths[number]) if number in letters else [face]:
            sewing.Add(piece)
    sewing.Perform()
    maker = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(sewing.SewedShape()))
    solid = maker.Solid()
    BRepLib.OrientClosedSolid_s(solid)
    return solid


def _pierced(face: TopoDS_Face, letters: Sequence[TopoDS_Face], inward: gp_Vec) -> list[TopoDS_Face]:
    """The face with the letters as holes in it, the islands inside them, and what lines each recess."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.BRepTools import BRepTools
    from OCP.ShapeFix import ShapeFix_Face
    from OCP.TopAbs import TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    plane = BRep_Tool.Surface_s(face)
    maker, pieces = BRepBuilderAPI_MakeFace(face), []
    for letter in letters:
        outer = BRepTools.OuterWire_s(letter)
        maker.Add(outer)
        explorer = TopExp_Explorer(letter, TopAbs_WIRE)
        while explorer.More():
            wire = TopoDS.Wire_s(explorer.Current())
            explorer.Next()
            if not wire.IsSame(outer):
                pieces.append(BRepBuilderAPI_MakeFace(plane, wire, True).Face())
        prism = BRepPrimAPI_MakePrism(letter, inward)
        pieces += [one for one in faces_of(prism.Shape()) if not one.IsSame(prism.FirstShape())]
    # Which way round a hole's border runs is for the kernel to say.
    mended = ShapeFix_Face(maker.Face())
    mended.FixOrientation()
    return [mended.Face(), *pieces]


def _face_under(faces: Sequence[TopoDS_Face], mark: EngravedText) -> int | None:
    """The flat face that a mark lies on."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepTopAdaptor import BRepTopAdaptor_FClass2d
    from OCP.ElSLib import ElSLib
    from OCP.GeomAbs import GeomAbs_Plane
    from OCP.gp import gp_Dir, gp_Pnt, gp_Pnt2d
    from OCP.TopAbs import TopAbs_IN

    at, out = gp_Pnt(*mark.middle), gp_Dir(*mark.out)
    for number, face in enumerate(faces):
        surface = BRepAdaptor_Surface(face, False)
        if surface.GetType() != GeomAbs_Plane:
            continue
        plane = surface.Plane()
        if plane.Distance(at) > NEAR_MM or not plane.Axis().Direction().IsParallel(out, NEAR_MM):
            continue
        u, v = ElSLib.Parameters_s(plane, at)
        if BRepTopAdaptor_FClass2d(face, NEAR_MM).Perform(gp_Pnt2d(u, v)) == TopAbs_IN:
            return number
    return None


def _letters(mark: EngravedText) -> list[TopoDS_Face]:
    """The letters as flat faces where they belong; none without room."""
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt
    from OCP.NCollection import NCollection_Utf8String as KernelText
    from OCP.StdPrs import StdPrs_BRepFont, StdPrs_BRepTextBuilder

    face = load_face(bold=True)
    wide = sum(face.advance.get(ord(c), 0.0) for c in mark.words) / face.cap_height
    letter = min(mark.letter_mm, mark.room[1], mark.room[0] / wide if wide else 0.0)
    if letter < LEAST_LETTER_MM:
        return []
    font = StdPrs_BRepFont()
    if not font.Init(KernelText(str(font_file(bold=True))), letter / face.cap_height, 0):
        return []
    u, w = mark.along, mark.out
    v = (w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0])
    start = tuple(
        m - 0.5 * wide * letter * a - 0.5 * letter * b for m, a, b in zip(mark.middle, u, v, strict=True)
    )
    pen = gp_Ax3(gp_Pnt(*start), gp_Dir(*w), gp_Dir(*u))
    return faces_of(StdPrs_BRepTextBuilder().Perform(font, KernelText(mark.words), pen))


def _vector(way: Point3, length: float) -> gp_Vec:
    from OCP.gp import gp_Vec

    return gp_Vec(*(length * part for part in way))
