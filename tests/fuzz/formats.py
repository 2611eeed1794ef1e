"""Harm by the kind of file, and harm done inside a package."""

from __future__ import annotations

import re
import struct
import zlib
from io import BytesIO
from random import Random
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from tests.fuzz.bodies import cells, counted, obj, ply, stl
from tests.fuzz.drawings import dxf_pairs, xml
from tests.fuzz.mutate import BYTES, TEXT, Mutation, numbers, with_numbers
from tests.fuzz.own_files import JOURNAL, OWN_HARM

# Packages


_VALUE = re.compile(rb"[>\"']([-+.\deE]{1,40})[<\"']")


def package(data: bytes, rng: Random, other: bytes) -> bytes:
    """Pack a package again with one of its members changed, gone, doubled or under another name."""
    try:
        with ZipFile(BytesIO(data)) as held:
            members = [(name, held.read(name)) for name in held.namelist()]
    except (
        BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        RuntimeError,
        NotImplementedError,
        ValueError,
        struct.error,
    ):
        return rng.choice(BYTES)(data, rng, other)
    if not members or sum(len(content) for _, content in members) > 2_000_000:
        return rng.choice(BYTES)(data, rng, other)
    at = rng.randrange(len(members))
    if rng.random() < 0.85:
        holding = [k for k, (name, _) in enumerate(members) if "sheet" in name.lower() or "model" in name]
        at = rng.choice(holding or [at])
    name, content = members[at]
    kind = rng.random()
    if kind < 0.8:
        for _ in range(rng.randint(1, 3)):
            content = rng.choice((xml, xml, _values, _values, _values, numbers, *BYTES[:1]))(
                content, rng, other
            )
        members[at] = name, content
    elif kind < 0.87:
        del members[at]
    elif kind < 0.94:
        new = rng.choice(
            ("../a.xml", "/etc/a", "3D/3dmodel.model", "xl/workbook.xml", "a" * 300, "[Content_Types].xml")
        )
        members[at] = new, content
    else:
        members.append((f"{name}x", content))
    packed = BytesIO()
    how = rng.choice((ZIP_STORED, ZIP_DEFLATED))
    with ZipFile(packed, "w") as made:
        names: set[str] = set()
        for name, content in members:
            if name not in names:
                made.writestr(ZipInfo(name), content, how)  # without the time of day
            names.add(name)
    return packed.getvalue()


def _values(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change numbers between tags or within attributes: cells and corners."""
    spans = [m.span(1) for m in _VALUE.finditer(data)]
    for start, end in sorted(rng.sample(spans, min(len(spans), rng.randint(1, 5))), reverse=True):
        data = data[:start] + with_numbers(data[start:end], rng, 1, hostile=0.15) + data[end:]
    return data


#: What knows a format, by suffix.
_OF_FORMAT: dict[str, Mutation] = {
    ".dxf": dxf_pairs,
    ".svg": xml,
    **dict.fromkeys((".csv", ".txt", ".tsv", ".dat", ".xyz", ".asc"), cells),
    ".stl": stl,
    ".ply": ply,
    ".obj": obj,
    ".3mf": package,
    ".xlsx": package,
    ".step": numbers,
    **OWN_HARM,
}

#: How often it is done; a line or a number changed anywhere makes a drawing or a package unreadable.
_SHARE = {".dxf": 0.9, ".svg": 0.93, ".3mf": 0.92, ".xlsx": 0.92, ".obj": 0.85}

#: What may be binary: a line of it is no line.
_BINARY = (".stl", ".ply", ".3mf", ".xlsx", JOURNAL)


def mutated(data: bytes, suffix: str, rng: Random, other: bytes) -> bytes:
    """Return a file with one more harm done: mostly such that it can still be read to its end."""
    kind = rng.random()
    if kind < _SHARE.get(suffix, 0.8):
        return _OF_FORMAT[suffix](data, rng, other)
    if kind < 0.94 and suffix not in _BINARY:
        return rng.choice(TEXT)(data, rng, other)
    changed = rng.choice(BYTES)(data, rng, other)
    return counted(changed) if suffix == ".stl" and rng.random() < 0.7 else changed
