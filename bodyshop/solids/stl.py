"""STL files as bytes: the same body gives the same bytes.

STL, binary: 80 bytes of header, a count, then 50 bytes a triangle: normal and three corners in single
precision, and two bytes of nothing; all little-endian. The form has no unit, so the header says mm.
"""

from __future__ import annotations

import unicodedata

import numpy as np

from bodyshop.solids.mesh import Mesh

__all__ = ["stl_bytes"]

HEADER_BYTES = 80
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])


def stl_bytes(mesh: Mesh, name: str = "", fingerprint: str = "") -> bytes:
    """A mesh as a binary STL, in mm."""
    wide = mesh.corners
    normal = np.cross(wide[:, 1] - wide[:, 0], wide[:, 2] - wide[:, 0])
    records = np.zeros(wide.shape[0], dtype=_TRIANGLE)
    records["normal"] = normal / np.linalg.norm(normal, axis=1, keepdims=True) + 0.0
    records["corners"] = wide
    count = np.array(wide.shape[0], dtype="<u4")
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
