"""STL and STEP files as bytes: the same body gives the same bytes.

STL, binary: 80 bytes of header, a count, then 50 bytes a triangle: normal and three corners in single
precision, and two bytes of nothing; all little-endian. The form has no unit, so the header says mm.
STEP: ISO 10303-21, application protocol 214, in mm.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date

import numpy as np

from bodyshop.solid.build import Progress
from bodyshop.solid.errors import SolidError
from bodyshop.solid.kernel import BodySolid, mesh_of
from bodyshop.solid.mesh import ANGLE_RAD, CHORD_MM, Mesh

__all__ = ["step_bytes", "stl_bytes", "stl_of_mesh"]

HEADER_BYTES = 80
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
# What the file says when no date is given: none is made up, and the standard wants one.
_NO_DATE = date(1970, 1, 1)


def stl_bytes(
    solid: BodySolid,
    name: str = "",
    fingerprint: str = "",
    *,
    chord_mm: float = CHORD_MM,
    angle_rad: float = ANGLE_RAD,
    progress: Progress | None = None,
) -> bytes:
    """A binary STL of the solid, in mm, within `chord_mm` of it.

    Raises:
        SolidError: no mesh closes; nothing may be written.
        ValueError: a tolerance is not positive.
    """
    tell = progress or (lambda _what, _share: None)
    tell("laying the mesh", 0.7)
    return stl_of_mesh(mesh_of(solid, chord_mm, angle_rad), name, fingerprint)


def stl_of_mesh(mesh: Mesh, name: str = "", fingerprint: str = "") -> bytes:
    """A mesh as a binary STL."""
    corners = mesh.points[mesh.triangles]
    wide = corners.astype(np.float64)
    normal = np.cross(wide[:, 1] - wide[:, 0], wide[:, 2] - wide[:, 0])
    records = np.zeros(corners.shape[0], dtype=_TRIANGLE)
    records["normal"] = normal / np.linalg.norm(normal, axis=1, keepdims=True) + 0.0
    records["corners"] = corners
    count = np.array(corners.shape[0], dtype="<u4")
    return _header(mesh.chord_mm, name, fingerprint) + count.tobytes() + records.tobytes()


def _header(chord_mm: float, name: str, fingerprint: str) -> bytes:
    """80 bytes of ASCII. It must not start with "solid", which marks the text form of STL, and holds no
    "=", which some readers take for a colour.
    """
    head = f"bodyshop; unit mm; chord {chord_mm:g} mm"
    if fingerprint:
        head += f"; {_ascii(fingerprint)}"
    room = HEADER_BYTES - len(head) - 2
    if name and room > 0:
        head += f"; {_ascii(name)[:room]}"
    return head.encode("ascii")[:HEADER_BYTES].ljust(HEADER_BYTES)


def _ascii(text: str) -> str:
    """Letters without their accents; whatever else ASCII cannot say as `?`."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return "".join(c if c.isascii() and c.isprintable() and c != "=" else "?" for c in bare)


def step_bytes(
    solid: BodySolid, name: str = "", on: date | None = None, progress: Progress | None = None
) -> bytes:
    """A STEP file of the solid, in mm; `name` becomes the product's name.

    Raises:
        SolidError: the kernel cannot write it.
    """
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.StepBasic import StepBasic_Product
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
    from OCP.TCollection import TCollection_HAsciiString as KernelText

    tell = progress or (lambda _what, _share: None)
    tell("writing STEP", 0.85)
    text = _part21(name) or "body"
    stream = io.BytesIO()
    with _quiet():
        writer = STEPControl_Writer()
        done = writer.Transfer(solid.shape, STEPControl_StepModelType.STEPControl_AsIs)
        model = writer.Model()
        header = APIHeaderSection_MakeHeader(model)
        header.SetName(KernelText(text))
        header.SetTimeStamp(KernelText(f"{(on or _NO_DATE).isoformat()}T00:00:00"))
        header.SetOriginatingSystem(KernelText("bodyshop"))
        header.SetAuthorValue(1, KernelText(""))
        header.SetOrganizationValue(1, KernelText(""))
        header.SetAuthorisation(KernelText(""))
        header.SetDescriptionValue(1, KernelText("body of a wooden car, lengths in mm"))
        for i in range(1, model.NbEntities() + 1):
            entity = model.Value(i)
            if isinstance(entity, StepBasic_Product):
                # The kernel numbers its products through the life of the process.
                entity.SetId(KernelText(text))
                entity.SetName(KernelText(text))
        written = writer.WriteStream(stream)
    if done != IFSelect_ReturnStatus.IFSelect_RetDone or written != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise SolidError("the 3D kernel cannot write this body as STEP")
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
