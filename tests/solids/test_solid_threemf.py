"""The 3MF package: its parts, its words, shared meshes, the same bytes every time.

Outside sources: the 3MF core specification 1.x (names of package parts, metadata, the order of a transform's
twelve numbers) and the Open Packaging Conventions (ISO/IEC 29500-2), from memory; the standard library's zip
and XML readers.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace

import numpy as np
import pytest

from bodyshop.solids import Mesh, ModelPart, ModelWords, threemf_bytes
from bodyshop.solids.threemf import Move

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
TETRAHEDRON = Mesh(
    np.array([[-2.5, 0, 0.1], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=np.float32),
    np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]),
    0.05,
)
WORDS = ModelWords("Wren", "Bench 2", "a test", "AK1W-6D4T")
AWAY: Move = ((0.0, -1.0, 0.0, 7.0), (1.0, 0.0, 0.0, -8.0), (0.0, 0.0, 1.0, 0.5))


def part(name: str, kind: str = "peg", move: Move = AWAY) -> ModelPart:
    return ModelPart(name, kind, TETRAHEDRON, move, "#A0B0C0", "wood")


def model(data: bytes) -> ET.Element:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return ET.fromstring(package.read("3D/3dmodel.model"))  # noqa: S314


def numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def test_the_package_holds_three_parts_and_no_date() -> None:
    with zipfile.ZipFile(io.BytesIO(threemf_bytes([part("a")], WORDS))) as package:
        assert package.testzip() is None
        entries = package.infolist()
        assert [e.filename for e in entries] == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        assert {e.date_time for e in entries} == {(1980, 1, 1, 0, 0, 0)}
        assert {e.create_system for e in entries} == {0}
        types = package.read("[Content_Types].xml").decode()
        assert 'Extension="model"' in types
        assert "vnd.ms-package.3dmanufacturing-3dmodel+xml" in types
        relation = ET.fromstring(package.read("_rels/.rels"))[0]  # noqa: S314
        assert relation.attrib["Target"] == "/3D/3dmodel.model"
        assert relation.attrib["Type"].endswith("/2013/01/3dmodel")


def test_one_part_is_one_object_with_shared_corners() -> None:
    root = model(threemf_bytes([part("Wren", move=((1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0)))], WORDS))
    assert root.attrib["unit"] == "millimeter"
    (one,) = root.iter(f"{CORE}object")
    assert (one.attrib["name"], one.attrib["type"]) == ("Wren", "model")
    vertices = [[float(v.attrib[c]) for c in "xyz"] for v in one.iter(f"{CORE}vertex")]
    assert np.array_equal(np.array(vertices, dtype=np.float32), TETRAHEDRON.points)
    triangles = [[int(t.attrib[c]) for c in ("v1", "v2", "v3")] for t in one.iter(f"{CORE}triangle")]
    assert triangles == TETRAHEDRON.triangles.tolist()
    (item,) = root.iter(f"{CORE}item")
    # Moved to where no coordinate is negative; the matrix itself turns nothing.
    assert numbers(item.attrib["transform"]) == [1, 0, 0, 0, 1, 0, 0, 0, 1, 2.5, 0, 0]


def test_alike_parts_share_a_mesh_and_each_has_its_name() -> None:
    root = model(threemf_bytes([part("left"), part("right", move=((1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0))),
                                part("pin", "pin")], WORDS))  # fmt: skip
    objects = list(root.iter(f"{CORE}object"))
    assert [o.attrib["name"] for o in objects] == ["peg", "pin", "left", "right", "pin", "Wren"]
    assert [o.find(f"{CORE}mesh") is not None for o in objects] == [True, True, False, False, False, False]
    whole = objects[-1]
    inside = [c.attrib["objectid"] for c in whole.iter(f"{CORE}component")]
    assert inside == [o.attrib["id"] for o in objects[2:5]]
    (left,) = objects[2].iter(f"{CORE}component")
    # Columns of our matrix one after the other: rows of a row vector's.
    assert numbers(left.attrib["transform"]) == [0, 1, 0, -1, 0, 0, 0, 0, 1, 7, -8, 0.5]
    (item,) = root.iter(f"{CORE}item")
    assert item.attrib["objectid"] == whole.attrib["id"]
    assert numbers(item.attrib["transform"])[9:] == [2.5, 10.5, 0]


def test_it_says_what_it_is() -> None:
    root = model(threemf_bytes([part("a")], WORDS))
    told = {m.attrib["name"]: m.text for m in root.iter(f"{CORE}metadata")}
    assert told == {
        "Title": "Wren",
        "Designer": "Bench 2",
        "Description": "a test",
        "Application": "bodyshop",
        "shop:Fingerprint": "AK1W-6D4T",
        "shop:ChordToleranceMillimeters": "0.05",
    }
    assert "Designer" not in {
        m.attrib["name"] for m in model(threemf_bytes([part("a")], ModelWords("x"))).iter(f"{CORE}metadata")
    }


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("<&\"'>", "<&\"'>"),
        ("Kärrhök 鶺鴒 🐦", "Kärrhök 鶺鴒 🐦"),
        ("two\nlines\tand \x00\x1b\ud800", "two lines and "),
        ("أبو فصادة", "أبو فصادة"),
        ("n" * 300, "n" * 300),
    ],
)
def test_any_name_can_be_read_back(name: str, kept: str) -> None:
    root = model(threemf_bytes([part(name)], replace(WORDS, title=name, designer=name)))
    (one,) = root.iter(f"{CORE}object")
    assert one.attrib["name"] == kept
    assert {m.attrib["name"]: m.text for m in root.iter(f"{CORE}metadata")}["Title"] == kept


def test_the_same_parts_give_the_same_bytes_and_others_do_not() -> None:
    data = threemf_bytes([part("a"), part("b")], WORDS)
    assert data == threemf_bytes([part("a"), part("b")], WORDS)
    assert data != threemf_bytes([part("a"), part("c")], WORDS)


def test_no_part_is_no_file() -> None:
    with pytest.raises(ValueError, match="at least one"):
        threemf_bytes([], WORDS)
