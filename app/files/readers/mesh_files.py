"""Mesh files as triangles: STL, OBJ, PLY and 3MF, in the file's own unit.

The formats are plain lists of corners and faces, read here without a library: the ones at hand hand out an
empty body for a false count and no word for a number that is not one.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from app.files.readers.answer import NOT_KNOWN, ReadError, plain
from app.files.readers.limits import MESH
from geometry.shape.curve import Array

#: Units that a 3MF file can state, in words of answer.UNITS, and others as their length in mm.
_3MF_UNITS = {"millimeter": "mm", "inch": "in", "centimeter": "cm", "meter": "m"}

#: Objects within objects of a 3MF file.
_DEEPEST = 16

_STL_ROW = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_NUMBER = rb"([-+0-9.eE]+|[-+]?[nN][aA][nN]|[-+]?[iI][nN][fF]\w*)"


@dataclass(frozen=True)
class Mesh:
    """Triangles (n, 3, 3) in the file's own axes and unit, the unit it states, and what to look at."""

    triangles: Array
    unit: str = NOT_KNOWN
    warnings: tuple[str, ...] = ()


def load(data: bytes, suffix: str) -> Mesh:
    """Return the triangles of a mesh file.

    Raises:
        ReadError: the file is damaged, cut off, too large, or holds no triangle.
    """
    mesh = _LOADERS[suffix](data)
    count = len(mesh.triangles)
    if not count:
        raise ReadError("the file holds no triangle; export the body as a mesh of triangles")
    _check_count(count)
    if not np.all(np.isfinite(mesh.triangles)):
        raise ReadError("a corner of the body is not a number; export the body again")
    return mesh


def _check_count(count: int) -> None:
    if count > MESH.entities:
        raise ReadError(
            f"{count} triangles, more than the {MESH.entities} that are read; export a coarser mesh"
        )


# STL


def _stl(data: bytes) -> Mesh:
    if len(data) >= 84:
        said = int.from_bytes(data[80:84], "little")
        if len(data) == 84 + _STL_ROW.itemsize * said and said:
            return _binary_stl(data, said)
    head = data[:512].lstrip().lower()
    if head.startswith(b"solid") and b"facet" in data[:4096].lower():
        return _ascii_stl(data)
    if len(data) < 84:
        raise ReadError("the file is too short for an STL body; ask for it again")
    there = (len(data) - 84) // _STL_ROW.itemsize
    raise ReadError(
        f"the STL file says that it holds {said} triangles and has room for {there}: it is damaged or cut "
        "off; ask for it again"
    )


def _binary_stl(data: bytes, count: int) -> Mesh:
    _check_count(count)
    rows = np.frombuffer(data, dtype=_STL_ROW, count=count, offset=84)
    return Mesh(rows["corners"].astype(float))


def _ascii_stl(data: bytes) -> Mesh:
    found = re.findall(rb"vertex\s+" + _NUMBER + rb"\s+" + _NUMBER + rb"\s+" + _NUMBER, data, re.IGNORECASE)
    facets = len(re.findall(rb"\bfacet\b", data, re.IGNORECASE))
    ends = len(re.findall(rb"\bendfacet\b", data, re.IGNORECASE))
    vertices = len(re.findall(rb"\bvertex\b", data, re.IGNORECASE))
    if vertices != len(found):
        raise ReadError(f"{vertices - len(found)} corners of the STL text are no numbers; ask for it again")
    if len(found) != 3 * facets or facets != ends:
        raise ReadError(
            f"the STL text has {len(found)} corners for {facets} facets, {ends} of them ended: it is damaged "
            "or cut off; ask for it again"
        )
    _check_count(facets)
    return Mesh(_numbers(np.array(found)).reshape(-1, 3, 3))


def _numbers(words: Any) -> Array:
    try:
        return np.asarray(words, dtype="S64").astype(float)
    except ValueError:
        raise ReadError("a coordinate is no number; ask for the file again") from None


# OBJ


def _obj(data: bytes) -> Mesh:
    places: list[list[bytes]] = []
    faces: list[tuple[int, int, int]] = []
    for number, line in enumerate(_whole_lines(data), start=1):
        words = line.split(b"#", 1)[0].split()
        if not words:
            continue
        if words[0] == b"v":
            if len(words) < 4:
                raise ReadError(f"line {number}: a corner has three coordinates")
            places.append(words[1:4])
        elif words[0] == b"f":
            corners = [_obj_index(word, len(places), number) for word in words[1:]]
            if len(corners) < 3:
                raise ReadError(f"line {number}: a face has three corners or more")
            faces += [(corners[0], corners[k], corners[k + 1]) for k in range(1, len(corners) - 1)]
            if len(faces) > MESH.entities:
                _check_count(len(faces))
    if not places or not faces:
        raise ReadError("the OBJ file holds no faces; export the body as a mesh of triangles")
    return Mesh(_numbers(np.array(places))[np.array(faces)])


def _whole_lines(data: bytes) -> list[bytes]:
    """Return the lines of a text; one that ends in a backslash goes on in the next, which is left empty."""
    lines = data.splitlines()
    for k in range(len(lines) - 2, -1, -1):
        if lines[k].endswith(b"\\"):
            lines[k], lines[k + 1] = lines[k][:-1] + b" " + lines[k + 1], b""
    return lines


def _obj_index(word: bytes, count: int, line: int) -> int:
    """Return the number from 0 of a corner: counted from 1, or back from the last one."""
    text = word.split(b"/", 1)[0]
    if not re.fullmatch(rb"-?[0-9]{1,9}", text) or int(text) == 0:
        raise ReadError(f"line {line}: {plain(word.decode('latin-1'))!r} is no corner of a face")
    index = int(text)
    at = index - 1 if index > 0 else count + index
    if not 0 <= at < count:
        raise ReadError(f"line {line}: the face names corner {index}, but there are {count}")
    return at


# PLY

_PLY_TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}


@dataclass
class _Element:
    """Rows of a PLY file: their name, how many, and their properties (name, type, type of a list's count)."""

    name: str
    count: int
    properties: list[tuple[str, str, str]]


def _ply(data: bytes) -> Mesh:
    order, elements, start = _ply_header(data)
    most = MESH.entities * 3
    for element in elements:
        if element.count > most:
            raise ReadError(
                f"the PLY file says {element.count} rows of {plain(element.name)}; at most {most} are read"
            )
    read = _ply_text if order == "" else _ply_binary
    return read(data[start:], order, elements)


def _ply_header(data: bytes) -> tuple[str, list[_Element], int]:
    match = re.match(rb"ply\r?\n(.{0,20000}?)end_header\r?\n", data, re.DOTALL)
    if match is None:
        raise ReadError("not a PLY file: its header is missing or cut off; ask for it again")
    order, elements = None, []
    for line in match[1].decode("latin-1").splitlines():
        words = line.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        try:
            if words[0] == "format":
                order = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}[words[1]]
            elif words[0] == "element":
                elements.append(_Element(words[1], int(words[2]), []))
            elif words[0] == "property" and words[1] == "list":
                elements[-1].properties.append((words[4], _PLY_TYPES[words[3]], _PLY_TYPES[words[2]]))
            elif words[0] == "property":
                elements[-1].properties.append((words[2], _PLY_TYPES[words[1]], ""))
            else:
                raise KeyError(words[0])
        except (KeyError, IndexError, ValueError):
            raise ReadError(f"the PLY header holds {plain(line)!r}, which is not known here") from None
    if order is None or any(e.count < 0 for e in elements):
        raise ReadError("the PLY header is not complete; ask for the file again")
    return order, elements, match.end()


def _ply_text(body: bytes, order: str, elements: list[_Element]) -> Mesh:
    lines = body.split(b"\n")
    at = 0
    places, faces = np.empty((0, 3)), []
    for element in elements:
        rows = [line.split() for line in lines[at : at + element.count]]
        if len(rows) < element.count:
            raise _cut_off(element, len(rows))
        at += element.count
        if element.name == "vertex":
            columns = _columns_of(element)
            if any(len(row) <= max(columns) for row in rows):
                raise _cut_off(element, len(rows))
            places = _numbers(np.array([[row[k] for k in columns] for row in rows]).reshape(-1, 3))
        elif element.name == "face":
            for row in rows:
                try:
                    corners = [int(word) for word in row]
                    corners = corners[1 : corners[0] + 1] if len(corners) > corners[0] >= 0 else []
                except (ValueError, IndexError):
                    corners = []
                faces.append(np.array(corners))
    return Mesh(_fanned(places, faces))


def _columns_of(element: _Element) -> list[int]:
    names = [name for name, _, _ in element.properties]
    if any(name not in names for name in "xyz"):
        raise ReadError("the PLY file's corners have no x, y and z")
    return [names.index(name) for name in "xyz"]


def _cut_off(element: _Element, there: int) -> ReadError:
    return ReadError(
        f"the PLY file says {element.count} rows of {plain(element.name)} and holds {there}: it is cut off; "
        "ask for it again"
    )


def _ply_binary(body: bytes, order: str, elements: list[_Element]) -> Mesh:
    at = 0
    places: Array = np.empty((0, 3))
    faces: list[Any] = []
    for element in elements:
        lists = [p for p in element.properties if p[2]]
        if not lists:
            row = np.dtype([(f"p{k}", order + kind) for k, (_, kind, _) in enumerate(element.properties)])
            if row.itemsize and len(body) - at < row.itemsize * element.count:
                raise _cut_off(element, (len(body) - at) // row.itemsize)
            rows = np.frombuffer(body, dtype=row, count=element.count if row.itemsize else 0, offset=at)
            at += row.itemsize * element.count
            if element.name == "vertex":
                places = np.column_stack([rows[f"p{k}"].astype(float) for k in _columns_of(element)])
            continue
        if len(element.properties) != 1:
            found, at = _mixed_rows(body, at, order, element)
        else:
            found, at = _list_rows(body, at, order, element)
        if element.name == "face":
            faces += found
    return Mesh(_fanned(places, faces))


def _list_rows(body: bytes, at: int, order: str, element: _Element) -> tuple[list[Any], int]:
    """Return the rows of an element that is one list; in one go where all lists are equally long."""
    ((_, kind, counted),) = element.properties
    head = np.dtype(order + counted)
    if element.count and len(body) >= at + head.itemsize:
        length = int(np.frombuffer(body, dtype=head, count=1, offset=at)[0])
        if 0 <= length <= 64:
            row = np.dtype([("n", head), ("of", order + kind, length)])
            if len(body) - at >= row.itemsize * element.count:
                rows = np.frombuffer(body, dtype=row, count=element.count, offset=at)
                if np.all(rows["n"] == length):
                    return [rows["of"].astype(np.int64)], at + row.itemsize * element.count
    return _mixed_rows(body, at, order, element)


def _mixed_rows(body: bytes, at: int, order: str, element: _Element) -> tuple[list[Any], int]:
    """Return the lists of an element's rows, one by one; other properties are passed over."""
    found: list[Any] = []
    for n in range(element.count):
        for name, kind, counted in element.properties:
            length = 1
            if counted:
                head = np.dtype(order + counted)
                if len(body) < at + head.itemsize:
                    raise _cut_off(element, n)
                length = int(np.frombuffer(body, dtype=head, count=1, offset=at)[0])
                at += head.itemsize
            item = np.dtype(order + kind)
            if length < 0 or len(body) < at + item.itemsize * length:
                raise _cut_off(element, n)
            if counted and name in ("vertex_indices", "vertex_index"):
                found.append(np.frombuffer(body, dtype=item, count=length, offset=at).astype(np.int64))
            at += item.itemsize * length
    return found, at


def _fanned(places: Array, faces: list[Any]) -> Array:
    """Return the triangles of faces of three or more corners, each parted from its first corner."""
    out = []
    for group in faces:
        rows = np.atleast_2d(group)
        if rows.shape[1] < 3:
            if rows.size or len(faces) == 1:
                raise ReadError("a face has fewer than three corners; export the body again")
            raise ReadError("a face without corners; export the body again")
        if rows.min() < 0 or rows.max() >= len(places):
            raise ReadError(f"a face names corner {int(np.abs(rows).max())}, but there are {len(places)}")
        out += [rows[:, [0, k, k + 1]] for k in range(1, rows.shape[1] - 1)]
    count = sum(map(len, out))
    _check_count(count)
    return np.asarray(places[np.vstack(out)]) if out else np.empty((0, 3, 3))


# 3MF


def _3mf(data: bytes) -> Mesh:
    from defusedxml import ElementTree
    from defusedxml.common import DefusedXmlException

    text = _model(data)
    try:
        root = ElementTree.fromstring(text)
    except DefusedXmlException:
        raise ReadError("the 3MF model defines entities, which are not read") from None
    except (ElementTree.ParseError, ValueError, RecursionError):
        raise ReadError("the 3MF model is damaged; export it again") from None
    unit = root.get("unit", "millimeter")
    name = _3MF_UNITS.get(unit, NOT_KNOWN)
    warnings = () if name != NOT_KNOWN else (f"the file states {plain(unit)}, which is not converted",)
    objects = {o.get("id", ""): o for o in root.iter() if _tag(o) == "object"}
    items = [i for i in root.iter() if _tag(i) == "item"]
    parts: list[Array] = []
    budget = [MESH.entities]
    for item in items:
        _add_object(objects, item.get("objectid", ""), _matrix(item.get("transform")), parts, budget, 0)
    if not items:
        for key in objects:
            _add_object(objects, key, _matrix(None), parts, budget, 0)
    return Mesh(np.concatenate(parts) if parts else np.empty((0, 3, 3)), name, warnings)


def _model(data: bytes) -> bytes:
    """Return the model part of a 3MF package, its directory checked first."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            members = package.infolist()
            name = next((m for m in members if m.filename.lower().lstrip("/").endswith(".model")), None)
            if name is None:
                raise ReadError("the 3MF package holds no model; export it again")
            check_member(name, members)
            return package.read(name)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, RuntimeError):
        raise ReadError("not a 3MF package: it is damaged, cut off or locked; export it again") from None


def check_member(member: zipfile.ZipInfo, members: list[zipfile.ZipInfo]) -> None:
    """Refuse a package that would burst: too much unpacked, packed too tightly, or locked.

    Raises:
        ReadError: says by how much.
    """
    if len(members) > 2000:
        raise ReadError(f"the package holds {len(members)} members; at most 2000 are looked at")
    if member.flag_bits & 1:
        raise ReadError("the package is locked with a password; ask for it without one")
    if member.file_size > MESH.size_bytes:
        raise ReadError(
            f"{plain(member.filename)} unpacks to {member.file_size / 1e6:.0f} MB, more than the "
            f"{MESH.size_bytes / 1e6:.0f} that are read"
        )
    if member.file_size > 200 * max(member.compress_size, 1) and member.file_size > 1_000_000:
        raise ReadError(f"{plain(member.filename)} unpacks to more than 200 times its size; it is not read")


def _tag(element: Any) -> str:
    return str(element.tag).rsplit("}", 1)[-1]


def _matrix(text: str | None) -> Array:
    """Return the (4, 3) transform of a 3MF item: rows of x, y, z and the shift."""
    if text is None:
        return np.vstack([np.eye(3), np.zeros(3)])
    words = text.split()
    if len(words) != 12:
        raise ReadError("a transform of the 3MF model has not twelve numbers; export it again")
    return _numbers(np.array(words)).reshape(4, 3)


def _add_object(
    objects: dict[str, Any], key: str, matrix: Array, parts: list[Array], budget: list[int], depth: int
) -> None:
    if depth > _DEEPEST:
        raise ReadError(f"components lie more than {_DEEPEST} deep within each other; export the body alone")
    found = objects.get(key)
    if found is None:
        raise ReadError(f"the 3MF model names object {plain(key)!r}, which it does not hold")
    for child in found:
        if _tag(child) == "mesh":
            triangles = _3mf_mesh(child)
            budget[0] -= len(triangles)
            if budget[0] < 0:
                _check_count(MESH.entities - budget[0])
            parts.append(triangles @ matrix[:3] + matrix[3])
        elif _tag(child) == "components":
            for component in child:
                inner = _matrix(component.get("transform"))
                both = np.vstack([inner[:3] @ matrix[:3], inner[3] @ matrix[:3] + matrix[3]])
                budget[0] -= 1
                if budget[0] < 0:
                    _check_count(MESH.entities + 1)
                _add_object(objects, component.get("objectid", ""), both, parts, budget, depth + 1)


def _3mf_mesh(mesh: Any) -> Array:
    places: list[list[str]] = []
    faces: list[list[str]] = []
    for part in mesh:
        if _tag(part) == "vertices":
            places = [[v.get(axis, "") for axis in "xyz"] for v in part if _tag(v) == "vertex"]
        elif _tag(part) == "triangles":
            faces = [[t.get(key, "") for key in ("v1", "v2", "v3")] for t in part if _tag(t) == "triangle"]
    if not places or not faces:
        return np.empty((0, 3, 3))
    try:
        rows = np.array(faces).astype(np.int64)
    except (ValueError, OverflowError):
        raise ReadError(
            "a triangle of the 3MF model names a corner that is no number; export it again"
        ) from None
    return _fanned(_numbers(np.array(places)), [rows])


_LOADERS: dict[str, Callable[[bytes], Mesh]] = {".stl": _stl, ".obj": _obj, ".ply": _ply, ".3mf": _3mf}
