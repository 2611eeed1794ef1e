"""OBJ files: corners (v) and faces (f) as lines of text; groups and names do not part a body."""

from __future__ import annotations

import io
import re
from array import array
from collections import Counter

import numpy as np

from app.files.readers.answer import ReadError, plain
from app.files.readers.mesh_files import Mesh, check_count
from app.files.readers.mesh_polygons import parted

#: Words that say how a body looks, and what belongs to no surface of triangles.
_LOOKS = {b"vt", b"vn", b"g", b"o", b"s", b"usemtl", b"mtllib", b"usemap", b"maplib"}
_CURVED = {b"vp", b"curv", b"curv2", b"surf", b"cstype", b"deg", b"parm", b"trim", b"hole", b"scrv", b"end"}

_INDEX = re.compile(rb"([+-]?[0-9]{1,9})(/[+-]?[0-9]*){0,2}")


def read_obj(data: bytes) -> Mesh:
    """Return the triangles of an OBJ file.

    Raises:
        ReadError: a line cannot be read, a face names a corner that does not exist, or there is no face.
    """
    places, skipped = array("d"), Counter[str]()
    faces: dict[int, array[int]] = {}
    count, held = 0, b""
    for number, line in enumerate(io.BytesIO(data), start=1):
        if held:
            line, held = held + line, b""
        text = line.split(b"#", 1)[0].rstrip()
        if text.endswith(b"\\"):
            held = text[:-1] + b" "
            continue
        words = text.split()
        if not words:
            continue
        if words[0] == b"v":
            _add_place(places, words, number)
        elif words[0] == b"f":
            corners = [_index(word, len(places) // 3, number) for word in words[1:]]
            if len(corners) < 3:
                raise ReadError(f"line {number}: a face has three corners or more")
            faces.setdefault(len(corners), array("q")).extend(corners)
            count += len(corners) - 2
            if count > 4_000_000:
                check_count(count)
        elif words[0] in _CURVED:
            skipped["curved surfaces and curves"] += 1
        elif words[0] in (b"l", b"p"):
            skipped["loose lines and points"] += 1
        elif words[0] not in _LOOKS:
            skipped["lines not understood"] += 1
    if skipped["lines not understood"] and not places:
        raise ReadError("not an OBJ file: it holds no corners; ask for it again")
    if not faces:
        raise ReadError("the OBJ file holds no faces; export the body as a mesh of triangles")
    groups = [np.frombuffer(rows, dtype=np.int64).reshape(-1, n) for n, rows in faces.items()]
    found = parted(np.frombuffer(places, dtype=float).reshape(-1, 3), groups)
    return Mesh(found, skipped=dict(skipped))


def _add_place(places: array[float], words: list[bytes], number: int) -> None:
    try:
        places.extend((float(words[1]), float(words[2]), float(words[3])))
    except (ValueError, IndexError):
        text = b" ".join(words[1:4]).decode("latin-1")
        raise ReadError(f"line {number}: {plain(text)!r} are not three coordinates") from None


def _index(word: bytes, count: int, line: int) -> int:
    """Return the number from 0 of a corner: counted from 1, or back from the last one read."""
    match = _INDEX.fullmatch(word)
    index = int(match[1]) if match else 0
    if not index:
        raise ReadError(f"line {line}: {plain(word.decode('latin-1'))!r} is no corner of a face")
    at = index - 1 if index > 0 else count + index
    # A face may name a corner that comes later in the file, but never one before the first.
    if at < 0:
        raise ReadError(f"line {line}: the face names corner {index}, beyond the {count} that there are")
    return at
