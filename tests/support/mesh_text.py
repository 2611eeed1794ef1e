"""Bodies in space written as mesh files, in plain text and bytes and through no library."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Sequence

import numpy as np

from geometry.shape.curve import Array, Indices

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


def indexed(triangles: Array) -> tuple[Array, Indices]:
    """Return the places (m, 3) and, for each triangle, the numbers (n, 3) of its corners."""
    places, back = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    return places, back.reshape(-1, 3)


def stl(triangles: Array, head: bytes = b"", count: int | None = None) -> bytes:
    row = np.zeros(len(triangles), dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("a", "<u2")])
    row["c"] = triangles
    return head.ljust(80, b" ") + struct.pack("<I", len(row) if count is None else count) + row.tobytes()


def stl_text(triangles: Array, name: str = "body") -> str:
    facets = [
        "facet normal 0 0 0\n outer loop\n"
        + "".join(f"  vertex {x!r} {y!r} {z!r}\n" for x, y, z in corners)
        + " endloop\nendfacet\n"
        for corners in triangles.tolist()
    ]
    return f"solid {name}\n{''.join(facets)}endsolid {name}\n"


def obj(triangles: Array) -> str:
    places, faces = indexed(triangles)
    corners = "".join(f"v {x!r} {y!r} {z!r}\n" for x, y, z in places.tolist())
    return corners + "".join(f"f {a} {b} {c}\n" for a, b, c in (faces + 1).tolist())


def ply(triangles: Array, order: str = "ascii") -> bytes:
    """`order` is ascii, < or >."""
    places, faces = indexed(triangles)
    form = {"ascii": "ascii", "<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = (
        f"ply\nformat {form} 1.0\ncomment made up\nelement vertex {len(places)}\n"
        "property double x\nproperty double y\nproperty double z\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    if order == "ascii":
        rows = "".join(f"{x!r} {y!r} {z!r}\n" for x, y, z in places.tolist())
        return (head + rows + "".join(f"3 {a} {b} {c}\n" for a, b, c in faces.tolist())).encode()
    row = np.zeros(len(faces), dtype=[("n", "u1"), ("of", f"{order}i4", 3)])
    row["n"], row["of"] = 3, faces
    return head.encode() + places.astype(f"{order}f8").tobytes() + row.tobytes()


def object_3mf(key: int, triangles: Array) -> str:
    places, faces = indexed(triangles)
    vertices = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in places.tolist())
    rows = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist())
    mesh = f"<mesh><vertices>{vertices}</vertices><triangles>{rows}</triangles></mesh>"
    return f'<object id="{key}" type="model">{mesh}</object>'


def model_3mf(objects: Sequence[str], items: str, unit: str | None = "millimeter", more: str = "") -> str:
    stated = "" if unit is None else f' unit="{unit}"'
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model{stated} xmlns="{CORE}" {more}>'
        f"<resources>{''.join(objects)}</resources><build>{items}</build></model>"
    )


def package_3mf(model: str, members: dict[str, str] | None = None) -> bytes:
    relations = (
        '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
        'relationships"><Relationship Target="/3D/3dmodel.model" Id="r" '
        'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
    )
    return zipped({"_rels/.rels": relations, "3D/3dmodel.model": model, **(members or {})})


def zipped(members: dict[str, str]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in members.items():
            package.writestr(name, text)
    return out.getvalue()
