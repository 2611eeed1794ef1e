"""STEP files: drawn bodies, parted into triangles by the optional library cascadio, and swept as meshes are.

The library hands out a binary glTF file in metres, whatever unit the STEP file has; its own messages go to
where errors go, since the standard output is the answer's.
"""

from __future__ import annotations

import json
import os
import re
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any

import numpy as np

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request
from app.files.readers.limits import STEP
from app.files.readers.mesh import Bodies, swept_outline
from geometry.shape.curve import Array

#: How far triangles may lie from the drawn surface, mm, finest first; the last one is tried first, to learn
#: how many triangles and how long the finer ones take.
_TOLERANCES_MM = (0.002, 0.005, 0.01, 0.02, 0.05)
#: Triangles and seconds that a finer tolerance may be expected to take; both grow as it shrinks.
_MOST_TRIANGLES, _MOST_S = 1_200_000, 15.0
#: The library's word for its tolerance is not exact: it is taken as so much more.
_MORE = 1.5
#: Largest turn from one triangle to the next, rad.
_TURN = 0.5

_SI = {"MILLI": "mm", "CENTI": "cm", "$": "m"}
_CONVERTED = {"INCH": "in", "IN": "in"}


def _library() -> Any:
    try:
        return import_module("cascadio")
    except ImportError:
        return None


_cascadio = _library()


def read_step(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the area that the bodies of a STEP file sweep about the axle.

    Raises:
        ReadError: the optional library is missing, or the file is damaged or holds no body.
    """
    if _cascadio is None:
        raise ReadError(
            "STEP files need an optional library: pip install 'blankwright[step]', or bring a mesh"
        )
    if not data[:2000].lstrip().startswith(b"ISO-10303-21"):
        raise ReadError("not a STEP file: it does not begin with ISO-10303-21; ask for it again")
    if b"END-ISO-10303-21" not in data[-2000:]:
        raise ReadError("the STEP file is cut off: its end is missing; ask for it again")
    _check_references(data)
    unit, said = _unit(data)
    tolerance_mm, found = _parted(data)
    triangles_mm = _gltf(found)
    per_unit = UNITS.get(unit, 1.0)
    bodies = Bodies(triangles_mm / per_unit, unit, _MORE * tolerance_mm / per_unit, said)
    return swept_outline(bodies, request, sha256)


def _check_references(data: bytes) -> None:
    """Refuse a file in which an entity is named that none defines: the library breaks down over it."""
    plain = re.sub(rb"'[^']*'", b"", data)
    defined = set(re.findall(rb"#(\d+)\s*=", plain))
    for match in re.finditer(rb"#(\d+)(?!\d|\s*=)", plain):
        if match[1] not in defined:
            number = match[1].decode()[:20]
            raise ReadError(f"the STEP file is damaged: it names #{number} and defines none; export it again")


def _unit(data: bytes) -> tuple[str, tuple[str, ...]]:
    """Return the unit of length that the file states, and what to look at.

    The triangles come in a known unit in any case; with a mixture of units they are handed on in mm.
    """
    found = set()
    for match in re.finditer(rb"\bLENGTH_UNIT\b", data):
        record = data[data.rfind(b";", 0, match.start()) + 1 : data.find(b";", match.end())]
        text = record.decode("latin-1").upper()
        named = re.search(r"CONVERSION_BASED_UNIT\s*\(\s*'([^']*)'", text)
        si = re.search(r"SI_UNIT\s*\(\s*\.?(\$|[A-Z]+)\.?\s*,\s*\.METRE\.", text)
        if named:
            found.add(_CONVERTED.get(named[1].strip(), named[1].strip().lower()))
        elif si:
            found.add(_SI.get(si[1], si[1].lower() + "metre"))
    if not found:
        return NOT_KNOWN, ("the STEP file states no unit of length",)
    # An inch is defined by the millimetre, which then stands in the file as well.
    stated = found - {"mm"} if found & set(_CONVERTED.values()) else found
    if len(stated) == 1 and next(iter(stated)) in UNITS:
        return next(iter(stated)), ()
    return "mm", (f"the file's units of length ({', '.join(sorted(stated))}) are converted to mm",)


# Parting


def _parted(data: bytes) -> tuple[float, bytes]:
    """Return how far the triangles may lie from the drawn surface, mm, and the triangles as glTF."""
    coarse = _TOLERANCES_MM[-1]
    start = time.monotonic()
    found = _converted(data, coarse)
    seconds, triangles = time.monotonic() - start, _count(found)
    for tolerance in _TOLERANCES_MM[:-1]:
        more = coarse / tolerance
        if more * seconds <= _MOST_S and more * triangles <= _MOST_TRIANGLES:
            return tolerance, _converted(data, tolerance)
    return coarse, found


def _converted(data: bytes, tolerance_mm: float) -> bytes:
    with _messages_to_errors():
        found = _cascadio.load(
            data, file_type="step", tol_linear=tolerance_mm, tol_angular=_TURN, use_parallel=False
        )
    if not found:
        raise ReadError("the STEP file is damaged or holds no body that can be read; export it again")
    return bytes(found)


@contextmanager
def _messages_to_errors() -> Iterator[None]:
    """Send what a library prints to the standard error, as long as this lasts."""
    sys.stdout.flush()
    kept = os.dup(1)
    try:
        os.dup2(2, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


# glTF


def _chunks(data: bytes) -> tuple[dict[str, Any], bytes]:
    """Return the two parts of a binary glTF file: what it holds as JSON, and the numbers."""
    length = int.from_bytes(data[12:16], "little")
    after = 20 + length
    return json.loads(data[20:after]), data[
        after + 8 : after + 8 + int.from_bytes(data[after : after + 4], "little")
    ]


def _count(data: bytes) -> int:
    accessors = _chunks(data)[0].get("accessors", ())
    return int(sum(a["count"] for a in accessors if a["type"] == "SCALAR")) // 3


def _gltf(data: bytes) -> Array:
    """Return the triangles (n, 3, 3) of a binary glTF file's scene, mm.

    Raises:
        ReadError: there is none, or far too many.
    """
    held, numbers = _chunks(data)
    nodes, meshes = held.get("nodes", ()), held.get("meshes", ())
    scenes = held.get("scenes") or [{"nodes": list(range(len(nodes)))}]
    parts: list[Array] = []
    budget = STEP.entities
    stack = [(int(n), np.eye(4), 0) for n in scenes[held.get("scene", 0)].get("nodes", ())]
    while stack:
        number, outer, depth = stack.pop()
        node = nodes[number]
        if depth > STEP.nesting:
            raise ReadError(
                f"assemblies lie over {STEP.nesting} deep within each other; export the body alone"
            )
        matrix = outer @ _matrix(node)
        stack += [(int(n), matrix, depth + 1) for n in node.get("children", ())]
        for primitive in meshes[node["mesh"]]["primitives"] if "mesh" in node else ():
            places = _accessor(held, numbers, primitive["attributes"]["POSITION"], 3).astype(float)
            corners = _accessor(held, numbers, primitive["indices"], 1).astype(np.int64).reshape(-1, 3)
            budget -= len(corners)
            if budget < 0:
                raise ReadError(f"more than {STEP.entities} triangles; export one body alone")
            parts.append((places @ matrix[:3, :3].T + matrix[:3, 3])[corners] * 1000.0)
    if not parts:
        raise ReadError("the STEP file holds no body with a surface; export it again")
    return np.concatenate(parts)


def _matrix(node: dict[str, Any]) -> Array:
    """Return the (4, 4) transform of a node; glTF has columns one after the other."""
    if "matrix" in node:
        return np.array(node["matrix"], dtype=float).reshape(4, 4).T
    x, y, z, w = node.get("rotation", (0.0, 0.0, 0.0, 1.0))
    found = np.eye(4)
    found[:3, :3] = [
        [1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y - z * w), 2.0 * (x * z + y * w)],
        [2.0 * (x * y + z * w), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z - x * w)],
        [2.0 * (x * z - y * w), 2.0 * (y * z + x * w), 1.0 - 2.0 * (x * x + y * y)],
    ]
    found[:3, :3] *= np.array(node.get("scale", (1.0, 1.0, 1.0)))
    found[:3, 3] = node.get("translation", (0.0, 0.0, 0.0))
    return found


def _accessor(held: dict[str, Any], numbers: bytes, which: int, width: int) -> Any:
    """Return the rows of an accessor: float places, or whole numbers of corners."""
    accessor = held["accessors"][which]
    view = held["bufferViews"][accessor["bufferView"]]
    kind = np.dtype({5126: "<f4", 5125: "<u4", 5123: "<u2", 5121: "u1"}[accessor["componentType"]])
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    step = view.get("byteStride", kind.itemsize * width)
    if step == kind.itemsize * width:
        return np.frombuffer(numbers, dtype=kind, count=accessor["count"] * width, offset=start).reshape(
            -1, width
        )
    row = np.dtype({"names": ["row"], "formats": [(kind, (width,))], "itemsize": step})
    return np.frombuffer(numbers, dtype=row, count=accessor["count"], offset=start)["row"]
