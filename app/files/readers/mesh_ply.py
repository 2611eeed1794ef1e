"""PLY files: rows of corners and of faces as their header says, as text or binary in either byte order."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import MESH
from app.files.readers.mesh_files import Mesh
from app.files.readers.mesh_polygons import parted
from geometry.shape.curve import Array, Indices

_TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_LISTS = ("vertex_indices", "vertex_index")


@dataclass
class _Element:
    """Rows of one kind: their name, how many, and their properties (name, type, type of a list's count)."""

    name: str
    count: int
    properties: list[tuple[str, str, str]]

    def cut_off(self, there: int) -> ReadError:
        return ReadError(
            f"the PLY file says {self.count} rows of {plain(self.name)} and holds {there}: it is damaged or "
            "cut off; ask for it again"
        )

    def columns(self) -> list[int]:
        """Return which properties are x, y and z."""
        names = [name for name, _, counted in self.properties if not counted]
        if any(name not in names for name in "xyz") or len(names) != len(self.properties):
            raise ReadError("the PLY file's corners have no plain x, y and z")
        return [names.index(name) for name in "xyz"]


def read_ply(data: bytes) -> Mesh:
    """Return the triangles of a PLY file.

    Raises:
        ReadError: the header is not understood, rows are missing, or there is no face.
    """
    order, elements, start = _header(data)
    by_name = {element.name: element for element in elements}
    if "vertex" not in by_name or not by_name["vertex"].count:
        raise ReadError("the PLY file holds no corners; export the body as a mesh of triangles")
    if not by_name["face"].count if "face" in by_name else True:
        raise ReadError(
            "the PLY file holds corners and no faces: a cloud of points; export the body as a mesh, or its "
            "points as a table"
        )
    rows = _text_rows(data[start:]) if not order else _binary_rows(data, start, order)
    places, groups = np.empty((0, 3)), []
    for element in elements:
        table, lists = rows(element)
        if element.name == "vertex":
            places = table
        elif element.name == "face":
            groups = lists
    skipped = {plain(e.name): e.count for e in elements if e.name not in ("vertex", "face") and e.count}
    return Mesh(parted(places, groups), skipped=skipped)


def _header(data: bytes) -> tuple[str, list[_Element], int]:
    match = re.match(rb"ply[ \t]*\r?\n(.{0,20000}?)\bend_header[ \t]*\r?\n", data, re.DOTALL)
    if match is None:
        raise ReadError("not a PLY file: its header is missing or cut off; ask for it again")
    order, elements = None, list[_Element]()
    for line in match[1].decode("latin-1").splitlines():
        words = line.split()
        if not words or words[0] in ("comment", "obj_info"):
            continue
        try:
            if words[0] == "format":
                order = _ORDERS[words[1]]
            elif words[0] == "element":
                elements.append(_Element(words[1], int(words[2]), []))
            elif words[0] == "property" and words[1] == "list":
                elements[-1].properties.append((words[4], _TYPES[words[3]], _TYPES[words[2]]))
            elif words[0] == "property":
                elements[-1].properties.append((words[2], _TYPES[words[1]], ""))
            else:
                raise KeyError(words[0])
        except (KeyError, IndexError, ValueError):
            raise ReadError(f"the PLY header holds {plain(line)!r}, which is not known here") from None
    if order is None or len({e.name for e in elements}) != len(elements):
        raise ReadError("the PLY header is not complete; ask for the file again")
    for element in elements:
        if not 0 <= element.count <= 3 * MESH.entities:
            raise ReadError(
                f"the PLY file says {element.count} rows of {plain(element.name)}; at most "
                f"{3 * MESH.entities} are read"
            )
        if any(counted[:1] == "f" for _, _, counted in element.properties):
            raise ReadError("the PLY file counts a list in fractions; ask for it again")
    return order, elements, match.end()


#: Reads the next element: the x, y, z of its rows, or its lists of corners in groups of equal length.
_Rows = Callable[[_Element], tuple[Array, list[Indices]]]


def _text_rows(text: bytes) -> _Rows:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            values = np.fromstring(text, dtype=float, sep=" ")
        except (DeprecationWarning, ValueError):
            raise ReadError("the PLY file holds something that is no number; ask for it again") from None
    at = 0

    def rows(element: _Element) -> tuple[Array, list[Indices]]:
        nonlocal at
        if not any(counted for _, _, counted in element.properties):
            width = len(element.properties)
            if len(values) - at < width * element.count:
                raise element.cut_off((len(values) - at) // max(width, 1))
            table = values[at : at + width * element.count].reshape(element.count, width)
            at += width * element.count
            return (table[:, element.columns()] if element.name == "vertex" else table), []
        starts, lengths = np.zeros(element.count, np.int64), np.zeros(element.count, np.int64)
        for n in range(element.count):
            for name, _, counted in element.properties:
                length = 1
                if counted:
                    if at >= len(values) or not 0 <= values[at] <= len(values):
                        raise element.cut_off(n)
                    length = int(values[at])
                    at += 1
                if at + length > len(values):
                    raise element.cut_off(n)
                if name in _LISTS:
                    starts[n], lengths[n] = at, length
                at += length
        groups = []
        for length in np.unique(lengths).tolist():
            begin = starts[lengths == length]
            picked = values[begin[:, None] + np.arange(length)]
            if np.any(picked != np.floor(picked)) or np.any(np.abs(picked) > 2**31):
                raise ReadError("a face of the PLY file names a corner by no whole number")
            groups.append(picked.astype(np.int64))
        return np.empty((0, 3)), groups

    return rows


def _binary_rows(data: bytes, start: int, order: str) -> _Rows:
    at = start
    octets = np.frombuffer(data, dtype=np.uint8)

    def rows(element: _Element) -> tuple[Array, list[Indices]]:
        nonlocal at
        lists = [p for p in element.properties if p[2]]
        if not lists:
            row = np.dtype([(f"p{k}", order + kind) for k, (_, kind, _) in enumerate(element.properties)])
            if len(data) - at < row.itemsize * element.count:
                raise element.cut_off((len(data) - at) // row.itemsize)
            held = row.itemsize * element.count
            table = np.frombuffer(data, dtype=row, count=element.count if held else 0, offset=at)
            at += held
            if element.name != "vertex":
                return np.empty((0, 3)), []
            with np.errstate(invalid="ignore"):  # what is no number is looked for afterwards
                return np.column_stack([table[f"p{k}"].astype(float) for k in element.columns()]), []
        alike = _alike(data, at, order, element)
        if alike is not None:
            found, at = alike
            return np.empty((0, 3)), found
        starts, lengths = np.zeros(element.count, np.int64), np.zeros(element.count, np.int64)
        sizes = [
            (name in _LISTS, np.dtype(kind).itemsize, counted) for name, kind, counted in element.properties
        ]
        for n in range(element.count):
            for is_corners, size, counted in sizes:
                length = 1
                if counted:
                    wide = int(counted[1])
                    head = data[at : at + wide]
                    if len(head) < wide:
                        raise element.cut_off(n)
                    length = int.from_bytes(
                        head, "big" if order == ">" else "little", signed=counted[0] == "i"
                    )
                    at += wide
                if length < 0 or at + size * length > len(data):
                    raise element.cut_off(n)
                if is_corners:
                    starts[n], lengths[n] = at, length
                at += size * length
        kind = next((np.dtype(order + kind) for name, kind, _ in lists if name in _LISTS), None)
        if kind is None:
            return np.empty((0, 3)), []
        groups = []
        for length in np.unique(lengths).tolist():
            begin = starts[lengths == length]
            picked = octets[begin[:, None] + np.arange(length * kind.itemsize)]
            groups.append(
                np.ascontiguousarray(picked).view(kind).reshape(len(begin), length).astype(np.int64)
            )
        return np.empty((0, 3)), groups

    return rows


def _alike(data: bytes, at: int, order: str, element: _Element) -> tuple[list[Indices], int] | None:
    """Return the faces at once where each row is one list, all equally long; None where they are not."""
    if len(element.properties) != 1 or not element.count:
        return None
    ((name, kind, counted),) = element.properties
    head = np.dtype(order + counted)
    if name not in _LISTS or len(data) < at + head.itemsize:
        return None
    length = int(np.frombuffer(data, dtype=head, count=1, offset=at)[0])
    if not 0 <= length <= 64:
        return None
    row = np.dtype([("n", head), ("of", order + kind, (length,))])
    if len(data) - at < row.itemsize * element.count:
        return None
    table = np.frombuffer(data, dtype=row, count=element.count, offset=at)
    if np.any(table["n"] != length):
        return None
    return [table["of"].astype(np.int64)], at + row.itemsize * element.count
