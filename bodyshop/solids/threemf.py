"""3MF files as bytes: the same solids give the same bytes.

3MF core specification 1.x: an OPC package (ISO/IEC 29500-2), that is a ZIP with a list of content types, a
relationship to the model, and the model in XML; lengths in millimetres. Parts that are alike share one mesh.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from bodyshop.solids.mesh import Floats, Mesh

__all__ = ["HERE", "ModelPart", "ModelWords", "Move", "threemf_bytes"]

Move = tuple[
    tuple[float, float, float, float], tuple[float, float, float, float], tuple[float, float, float, float]
]
"""A movement without stretching: three rows of a matrix, the shift (mm) in the last column."""

HERE: Final[Move] = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, 0.0))

_CORE: Final = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_OURS: Final = "urn:bodyshop:3mf:1"
_MODEL: Final = "3D/3dmodel.model"
_TYPES: Final = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONS: Final = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{_MODEL}" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)
# The first date that a ZIP can say: no other is made up.
_NO_DATE: Final = (1980, 1, 1, 0, 0, 0)
_MATERIALS_ID: Final = 1


@dataclass(frozen=True, slots=True)
class ModelWords:
    """What the file says of itself. Empty words are left out."""

    title: str = ""
    designer: str = ""
    description: str = ""
    fingerprint: str = ""


@dataclass(frozen=True, slots=True)
class ModelPart:
    """One part: its own name, what it is one of (`kind`), the mesh of the kind, where it goes, its colour as
    #RRGGBB and what it is made of.
    """

    name: str
    kind: str
    mesh: Mesh
    move: Move = HERE
    colour: str = "#C8C8C8"
    material: str = ""


def threemf_bytes(parts: Sequence[ModelPart], words: ModelWords) -> bytes:
    """The parts as a 3MF package: one object for a part alone, an assembly of components for several.

    It is set down in the corner where all coordinates are positive, as slicers want it; the meshes keep the
    coordinates of the drawing.

    Raises:
        ValueError: there is no part.
    """
    if not parts:
        raise ValueError("a 3MF file holds at least one part")
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        for name, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            (_MODEL, _model(parts, words)),
        ):
            entry = zipfile.ZipInfo(name, _NO_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            # Otherwise the system it was made on is noted.
            entry.create_system = 0
            package.writestr(entry, text.encode("utf-8"), compresslevel=6)
    return stream.getvalue()


def _model(parts: Sequence[ModelPart], words: ModelWords) -> str:
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<model unit="millimeter" xml:lang="en" xmlns="{_CORE}" xmlns:shop="{_OURS}">',
        *_metadata(parts, words),
        "<resources>",
    ]
    paints = list(dict.fromkeys((part.material or part.kind, part.colour) for part in parts))
    lines.append(f'<basematerials id="{_MATERIALS_ID}">')
    lines += [
        f"<base name={_attribute(material)} displaycolor={quoteattr(colour + 'FF')}/>"
        for material, colour in paints
    ]
    lines.append("</basematerials>")
    number = _MATERIALS_ID
    mesh_of_kind: dict[str, int] = {}
    for part in parts:
        if part.kind not in mesh_of_kind:
            number += 1
            mesh_of_kind[part.kind] = number
            alone = len(parts) == 1
            paint = paints.index((part.material or part.kind, part.colour))
            lines += _mesh_object(number, part.name if alone else part.kind, part.mesh, paint)
    item = number
    if len(parts) > 1:
        named = []
        for part in parts:
            number += 1
            named.append(number)
            lines += _components(number, part.name, [(mesh_of_kind[part.kind], part.move)])
        item = number + 1
        lines += _components(item, words.title or "assembly", [(one, HERE) for one in named])
    lines += [
        "</resources>",
        "<build>",
        f'<item objectid="{item}"{_transform(_into_corner(parts))}/>',
        "</build>",
        "</model>",
    ]
    return "\n".join(lines) + "\n"


def _metadata(parts: Sequence[ModelPart], words: ModelWords) -> list[str]:
    chords = sorted({part.mesh.chord_mm for part in parts})
    told = (
        ("Title", words.title),
        ("Designer", words.designer),
        ("Description", words.description),
        ("Application", "bodyshop"),
        ("shop:Fingerprint", words.fingerprint),
        ("shop:ChordToleranceMillimeters", f"{chords[-1]:g}"),
    )
    return [
        f'<metadata name="{name}">{escape(_allowed(text))}</metadata>'
        for name, text in told
        if _allowed(text).strip()
    ]


def _mesh_object(number: int, name: str, mesh: Mesh, paint: int) -> list[str]:
    lines = [
        f'<object id="{number}" type="model" name={_attribute(name)} pid="{_MATERIALS_ID}" pindex="{paint}">',
        "<mesh>",
        "<vertices>",
        *_vertices(mesh.points),
        "</vertices>",
        "<triangles>",
    ]
    lines += [f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist()]
    return [*lines, "</triangles>", "</mesh>", "</object>"]


def _vertices(points: Floats) -> list[str]:
    return [
        f'<vertex x="{x}" y="{y}" z="{z}"/>'
        for x, y, z in (map(_single, row) for row in points.astype(np.float32))
    ]


def _single(value: np.float32) -> str:
    """The shortest digits that give this single-precision number back."""
    return np.format_float_positional(value, unique=True, trim="-")


def _components(number: int, name: str, inside: Sequence[tuple[int, Move]]) -> list[str]:
    return [
        f'<object id="{number}" type="model" name={_attribute(name)}>',
        "<components>",
        *(f'<component objectid="{one}"{_transform(move)}/>' for one, move in inside),
        "</components>",
        "</object>",
    ]


def _transform(move: Move) -> str:
    """3MF multiplies rows from the left: its twelve numbers run down the columns of ours."""
    if move == HERE:
        return ""
    numbers = (move[row][column] for column in range(4) for row in range(3))
    return f' transform="{" ".join(_plain(v) for v in numbers)}"'


def _plain(value: float) -> str:
    return np.format_float_positional(round(value, 9) + 0.0, trim="-")


def _into_corner(parts: Sequence[ModelPart]) -> Move:
    low = np.full(3, np.inf)
    for part in parts:
        move = np.array(part.move)
        low = np.minimum(low, (part.mesh.points.astype(np.float64) @ move[:, :3].T + move[:, 3]).min(axis=0))
    # Whole steps of a thousandth, rounded up, so that nothing is left below.
    x, y, z = (float(v) for v in np.ceil(-low * 1000) / 1000)
    return ((1.0, 0.0, 0.0, x), (0.0, 1.0, 0.0, y), (0.0, 0.0, 1.0, z))


def _attribute(text: str) -> str:
    return quoteattr(_allowed(text))


def _allowed(text: str) -> str:
    """Without the signs that XML 1.0 cannot hold; line ends and tabs become blanks."""
    kept = (" " if c in "\t\r\n" else c for c in text)
    return "".join(c for c in kept if "\x20" <= c <= "\ud7ff" or "\ue000" <= c <= "�" or c >= "\U00010000")
