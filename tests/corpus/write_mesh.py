"""Small writers of mesh files: STL, OBJ, PLY and 3MF."""

import io
import struct
import zipfile
from collections.abc import Iterable, Sequence

from tests.corpus.bodies import Body
from tests.corpus.truth import Place
from tests.corpus.write_dxf import number

FIXED_DATE = (1980, 1, 1, 0, 0, 0)


def normal(a: Place, b: Place, c: Place) -> Place:
    """The triangle's unit normal."""
    u, v = [b[i] - a[i] for i in range(3)], [c[i] - a[i] for i in range(3)]
    n = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    size = sum(x * x for x in n) ** 0.5 or 1.0
    return (n[0] / size, n[1] / size, n[2] / size)


def stl_ascii(body: Body, name: str = "body") -> str:
    """STL as text."""
    rows = [f"solid {name}"]
    for corners in body.triangles():
        rows.append("facet normal " + " ".join(f"{v:.6e}" for v in normal(*corners)))
        rows.append("outer loop")
        rows += ["vertex " + " ".join(f"{v:.6e}" for v in corner) for corner in corners]
        rows += ["endloop", "endfacet"]
    return "\n".join([*rows, f"endsolid {name}", ""])


def stl_binary(body: Body, header: bytes = b"binary body", count: int | None = None) -> bytes:
    """STL as bytes; `count` is what the header claims."""
    triangles = body.triangles()
    rows = [header.ljust(80, b"\0"), struct.pack("<I", len(triangles) if count is None else count)]
    for corners in triangles:
        values = [*normal(*corners), *(v for corner in corners for v in corner)]
        rows.append(struct.pack("<12fH", *values, 0))
    return b"".join(rows)


def obj(body: Body, faces: Sequence[Sequence[int]] | None = None) -> str:
    """OBJ as text; `faces` may have more than three corners (numbers from 0)."""
    rows = ["v " + " ".join(number(v) for v in place) for place in body.places]
    rows += ["f " + " ".join(str(i + 1) for i in face) for face in faces or body.faces]
    return "\n".join([*rows, ""])


def ply(
    body: Body,
    form: str = "ascii",
    faces: Sequence[Sequence[int]] | None = None,
    colours: bool = False,
    comment: str = "",
) -> bytes:
    """PLY in one of its forms: "ascii", "binary_little_endian", "binary_big_endian"."""
    used = body.faces if faces is None else faces
    head = ["ply", f"format {form} 1.0"] + ([f"comment {comment}"] if comment else [])
    head += [f"element vertex {len(body.places)}", *(f"property float {axis}" for axis in "xyz")]
    head += [f"property uchar {name}" for name in ("red", "green", "blue")] * colours
    if used:
        head += [f"element face {len(used)}", "property list uchar int vertex_indices"]
    start = "\n".join([*head, "end_header", ""]).encode()
    colour = (200, 40, 10) if colours else ()
    if form == "ascii":
        rows = [" ".join([*(number(v) for v in place), *map(str, colour)]) for place in body.places]
        rows += [" ".join(map(str, (len(face), *face))) for face in used]
        return start + "\n".join([*rows, ""]).encode()
    mark = "<" if "little" in form else ">"
    body_bytes = [struct.pack(f"{mark}3f{len(colour)}B", *place, *colour) for place in body.places]
    body_bytes += [struct.pack(f"{mark}B{len(face)}i", len(face), *face) for face in used]
    return start + b"".join(body_bytes)


def package(members: Iterable[tuple[str, str | bytes]], compressed: bool = False) -> bytes:
    """A zip file with fixed dates, stored unless `compressed`."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, content in members:
            entry = zipfile.ZipInfo(name, FIXED_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED if compressed else zipfile.ZIP_STORED
            archive.writestr(entry, content)
    return stream.getvalue()


MODEL_RELATION = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)
CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)


def mesh_object(number_: int, body: Body) -> str:
    """A 3MF object with a mesh."""
    places = "".join(f'<vertex x="{number(x)}" y="{number(y)}" z="{number(z)}"/>' for x, y, z in body.places)
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in body.faces)
    mesh = f"<mesh><vertices>{places}</vertices><triangles>{faces}</triangles></mesh>"
    return f'<object id="{number_}" type="model">{mesh}</object>'


def model(objects: str, items: str, unit: str | None = "millimeter") -> str:
    """The model part of a 3MF file."""
    says = f' unit="{unit}"' if unit else ""
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model{says} xml:lang="en-US" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
        f"<resources>{objects}</resources><build>{items}</build></model>\n"
    )


def three_mf(model_text: str, compressed: bool = False) -> bytes:
    """A 3MF package around a model part."""
    members = [
        ("[Content_Types].xml", CONTENT_TYPES),
        ("_rels/.rels", MODEL_RELATION),
        ("3D/3dmodel.model", model_text),
    ]
    return package(members, compressed)
