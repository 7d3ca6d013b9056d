"""3MF read by the 3MF Consortium's own library (lib3mf, strict) and by trimesh, STEP assemblies by Open
CASCADE's reader; all against what was asked for.
"""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import lib3mf
import numpy as np
import pytest
import trimesh
from OCP.Quantity import Quantity_Color
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDF import TDF_Label, TDF_LabelSequence
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_ColorSurf, XCAFDoc_DocumentTool, XCAFDoc_ShapeTool

from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.rules.checking import open_car
from bodyshop.solids import BodyForm, assembly_3mf_bytes, assembly_step_bytes, body_3mf_bytes, car_parts
from tests.outside.kernel import integrals


@cache
def made(name: str) -> Any:
    opened = open_car(str(samples_folder() / f"{name}.toml"))
    body = BodyForm(opened.car.body)
    return opened, body, car_parts(opened.car, body)


def model_of(data: bytes) -> Any:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert reader.GetWarningCount() == 0, [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    return model


def objects(model: Any) -> dict[str, Any]:
    found: dict[str, Any] = {}
    walk = model.GetObjects()
    while walk.MoveNext():
        one = walk.GetCurrentObject()
        found.setdefault(one.GetName(), one)
    return found


def metadata(model: Any) -> dict[str, str]:
    group = model.GetMetaDataGroup()
    entries = [group.GetMetaData(i) for i in range(group.GetMetaDataCount())]
    return {entry.GetName(): entry.GetValue() for entry in entries}


@pytest.mark.parametrize("name", ["kestrel", "wren", "heron", "dipper"])
def test_the_body_is_valid_closed_and_in_millimetres(name: str, tmp_path: Path) -> None:
    opened, body, _ = made(name)
    data = body_3mf_bytes(body.mesh(0.05), opened.design)
    model = model_of(data)
    (one,) = objects(model).values()
    assert one.IsManifoldAndOriented()
    assert one.GetName() == opened.design.name
    told = metadata(model)
    assert told["Title"] == opened.design.name
    assert told["Designer"] == opened.design.bench
    assert told["Fingerprint"] == opened.design.fingerprint
    assert told["ChordToleranceMillimeters"] == "0.05"
    # Corners are shared: half as many as faces, and no two in one place.
    assert one.GetVertexCount() < 0.6 * one.GetTriangleCount()
    corners = np.array([tuple(v.Coordinates) for v in one.GetVertices()])
    assert len(np.unique(corners, axis=0)) == len(corners)

    file = tmp_path / "body.3mf"
    file.write_bytes(data)
    scene: Any = trimesh.load(file)
    (mesh,) = scene.dump()
    assert mesh.is_volume
    assert mesh.volume == pytest.approx(integrals(body.shape().wrapped).volume, rel=1e-3)
    assert scene.units == "millimeter"
    assert mesh.bounds[0] == pytest.approx([0, 0, 0], abs=2e-3)
    x0, y0, z0, x1, y1, z1 = opened.car.body.bounds
    assert mesh.extents == pytest.approx([x1 - x0, y1 - y0, z1 - z0], abs=0.06)


def test_the_car_is_valid_and_its_parts_are_named(tmp_path: Path) -> None:
    opened, _, parts = made("kestrel")
    data = assembly_3mf_bytes(parts, opened.design)
    found = objects(model_of(data))
    assert {part.name for part in parts} | {"Kestrel"} <= set(found)
    kinds = {part.kind for part in parts}
    assert all(found[kind].IsManifoldAndOriented() for kind in kinds if found[kind].IsMeshObject())

    file = tmp_path / "car.3mf"
    file.write_bytes(data)
    read: Any = trimesh.load(file)
    whole = read.dump()
    assert len(whole) == len(parts)
    # Every part where it belongs, seen through somebody else's reading of the transforms.
    solid = sorted(float(mesh.volume) for mesh in whole)
    assert all(mesh.is_volume for mesh in whole)
    assert solid == pytest.approx(sorted(part.volume_mm3 for part in parts), rel=0.02)
    low = np.min([mesh.bounds[0] for mesh in whole], axis=0)
    high = np.max([mesh.bounds[1] for mesh in whole], axis=0)
    assert low == pytest.approx([0, 0, 0], abs=0.06)
    stacks = opened.car.stacks
    width = max(s.ends[1] for s in stacks) - min(s.ends[0] for s in stacks)
    assert high[1] - low[1] == pytest.approx(width, abs=0.06)
    wheels = [mesh for mesh in whole if abs(mesh.extents[0] - 34) < 0.2 and abs(mesh.extents[2] - 34) < 0.2]
    assert len(wheels) == 2
    apart = abs(wheels[0].bounds.mean(axis=0)[1] - wheels[1].bounds.mean(axis=0)[1])
    # The wheels are each other's mirror image, so their middles lie as far apart as hub middles do.
    assert apart == pytest.approx(
        stacks[1].hub_inner_mm + stacks[1].hub_outer_mm - 2 * stacks[1].middle, abs=0.02
    )


def name_of(label: TDF_Label) -> str:
    text = TDataStd_Name()
    assert label.FindAttribute(TDataStd_Name.GetID_s(), text)
    return str(text.Get().ToExtString())


def test_names_and_colours_survive_in_step(tmp_path: Path) -> None:
    opened, _, parts = made("kestrel")
    file = tmp_path / "car.step"
    file.write_bytes(assembly_step_bytes(parts, opened.design.name))
    document = TDocStd_Document(TCollection_ExtendedString("read"))
    reader = STEPCAFControl_Reader()
    reader.SetColorMode(True)
    reader.SetNameMode(True)
    reader.ReadFile(str(file))
    reader.Transfer(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    free = TDF_LabelSequence()
    shapes.GetFreeShapes(free)
    assert free.Length() == 1
    assert name_of(free.Value(1)) == "Kestrel"
    used = TDF_LabelSequence()
    XCAFDoc_ShapeTool.GetComponents_s(free.Value(1), used)
    back = {}
    for i in range(1, used.Length() + 1):
        product, tint = TDF_Label(), Quantity_Color()
        assert XCAFDoc_ShapeTool.GetReferredShape_s(used.Value(i), product)
        assert colours.GetColor(XCAFDoc_ShapeTool.GetShape_s(product), XCAFDoc_ColorSurf, tint)
        red, green, blue = _srgb(tint)
        back[name_of(used.Value(i))] = (
            name_of(product),
            f"#{red:02X}{green:02X}{blue:02X}",
            integrals(XCAFDoc_ShapeTool.GetShape_s(used.Value(i))).volume,
        )
    assert list(back) == [part.name for part in parts]
    for part in parts:
        kind, colour, volume = back[part.name]
        assert (kind, colour) == (part.kind, part.colour)
        assert volume == pytest.approx(part.volume_mm3, rel=1e-5)


def _srgb(colour: Quantity_Color) -> tuple[int, int, int]:
    def encode(linear: float) -> int:
        # IEC 61966-2-1.
        return round(255 * (12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055))

    return encode(colour.Red()), encode(colour.Green()), encode(colour.Blue())


# Also run by another interpreter, which must not load the libraries of this test.
MAKE = """
import hashlib
from bodyshop import solids as s
from bodyshop.rules.checking import open_car
from bodyshop.foundation.files.shipped import samples_folder

opened = open_car(str(samples_folder() / "wren.toml"))
body = s.BodyForm(opened.car.body)
parts = s.car_parts(opened.car, body)
data = s.body_3mf_bytes(body.mesh(0.05), opened.design) + s.assembly_3mf_bytes(parts, opened.design)
data += s.assembly_step_bytes(parts, opened.design.name)
digest = hashlib.sha256(data).hexdigest()
"""


def test_another_process_makes_the_same_bytes(root: Path) -> None:
    here: dict[str, str] = {}
    exec(MAKE, here)  # noqa: S102
    done = subprocess.run(
        [sys.executable, "-c", MAKE + "print(digest)"],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
        encoding="utf-8",
    )
    assert done.stdout.split() == [here["digest"]]
