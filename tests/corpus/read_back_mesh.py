"""A second look at the corpus' mesh files: triangles by a few plain lines for each format."""

import io
import re
import xml.etree.ElementTree as ET
import zipfile
from pathlib import Path
from typing import Any

import numpy as np

from tests.corpus.read_back import Array
from tests.corpus.truth import UNIT_MM, Truth

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def triangles(path: Path) -> Array:
    """The corners of all triangles, (n, 3, 3), in file units; points only: (n, 1, 3)."""
    content = path.read_bytes()
    return {".stl": _stl, ".obj": _obj, ".ply": _ply, ".3mf": _three_mf}[path.suffix](content)


def _stl(content: bytes) -> Array:
    count = int(np.frombuffer(content, "<u4", 1, 80)[0])
    if len(content) == 84 + 50 * count:
        record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
        return np.asarray(np.frombuffer(content, record, count, 84)["corners"], dtype=float)
    found = re.findall(rb"(?i)vertex\s+(\S+)\s+(\S+)\s+(\S+)", content)
    return np.array(found, dtype=float).reshape(-1, 3, 3)


def _obj(content: bytes) -> Array:
    places, corners = [], []
    for line in content.decode().replace("\\\r\n", " ").splitlines():
        words = line.split()
        if words[:1] == ["v"]:
            places.append([float(word) for word in words[1:4]])
        elif words[:1] == ["f"]:
            face = [int(word.split("/")[0]) for word in words[1:]]
            face = [i - 1 if i > 0 else len(places) + i for i in face]
            corners += [[face[0], face[k], face[k + 1]] for k in range(1, len(face) - 1)]
    return _picked(places, corners)


def _ply(content: bytes) -> Array:
    head, _, body = content.partition(b"end_header\n")
    counts = {kind: int(n) for kind, n in re.findall(r"element (\w+) (\d+)", head.decode())}
    faces = counts.get("face", 0)
    if b"format ascii" in head:
        rows = [[float(word) for word in line.split()] for line in body.decode().splitlines()]
        places = np.array([row[:3] for row in rows[: counts["vertex"]]])
        lists = [[int(v) for v in row[1:]] for row in rows[counts["vertex"] :]]
    else:
        mark = "<" if b"little" in head else ">"
        fields = [("place", mark + "f4", 3)] + ([("colour", "u1", 3)] if b"red" in head else [])
        record = np.dtype(fields)
        table = np.frombuffer(body, record, counts["vertex"])
        places, at, lists = np.asarray(table["place"], dtype=float), table.nbytes, []
        for _ in range(faces):
            lists.append(np.frombuffer(body, mark + "i4", body[at], at + 1).tolist())
            at += 1 + 4 * body[at]
    if not faces:
        return places[:, None, :]
    return _picked(places, [[f[0], f[k], f[k + 1]] for f in lists for k in range(1, len(f) - 1)])


def _picked(places: Any, corners: list[list[int]]) -> Array:
    return np.asarray(np.asarray(places, dtype=float)[np.array(corners)], dtype=float)


def _three_mf(content: bytes) -> Array:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        root = ET.fromstring(archive.read("3D/3dmodel.model"))
    objects = {item.get("id"): item for item in root.iter(f"{CORE}object")}

    def built(number: str | None, to: Array) -> list[Array]:
        item = objects[number]
        parts = []
        for component in item.iter(f"{CORE}component"):
            parts += built(component.get("objectid"), _matrix(component.get("transform")) @ to)
        if item.find(f"{CORE}mesh") is not None:
            places = np.array([[float(v.get(k, "")) for k in "xyz"] for v in item.iter(f"{CORE}vertex")])
            faces = np.array(
                [[int(t.get(k, "")) for k in ("v1", "v2", "v3")] for t in item.iter(f"{CORE}triangle")]
            )
            parts.append((np.column_stack([places, np.ones(len(places))]) @ to)[:, :3][faces])
        return parts

    items = root.iter(f"{CORE}item")
    return np.concatenate([p for i in items for p in built(i.get("objectid"), _matrix(i.get("transform")))])


def _matrix(words: str | None) -> Array:
    """A row-vector transform: twelve numbers, row by row."""
    if words is None:
        return np.eye(4)
    return np.column_stack([np.array(words.split(), dtype=float).reshape(4, 3), [0.0, 0.0, 0.0, 1.0]])


def to_half_plane(places: Array, truth: Truth) -> Array:
    """Places in space (n, 3) in file units as (z, r) in mm, after the options of their truth."""
    options = truth.options
    places = places * UNIT_MM[options.unit or truth.unit_stated or "mm"] * options.factor
    places = places - np.array(options.axle_origin_mm)
    axle = np.array(
        options.axle_direction or {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}[options.axle], dtype=float
    )
    z = places @ axle
    r = np.linalg.norm(places - z[:, None] * axle, axis=1)
    found = np.column_stack([z, r]) + np.array(options.shift_mm)
    return np.asarray(found * [-1.0, 1.0] if options.flip else found, dtype=float)


def sampled(corners: Array, count: int, seed: int) -> Array:
    """Random places on triangles (by area), with all corners and many places along edges."""
    draw = np.random.default_rng(seed)
    if corners.shape[1] == 1:
        return corners[:, 0, :]
    areas = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    chosen = corners[draw.choice(len(corners), count, p=areas / areas.sum())]
    u, v = np.sort(draw.random((2, count)), axis=0)
    inside = chosen[:, 0] * u[:, None] + chosen[:, 1] * (v - u)[:, None] + chosen[:, 2] * (1.0 - v)[:, None]
    shares = np.linspace(0.0, 1.0, 41)[:, None, None, None]
    edges = corners[None] * (1.0 - shares)[..., 0][..., None] + np.roll(corners, -1, axis=1)[None] * shares
    return np.concatenate([inside, edges.reshape(-1, 3)])
