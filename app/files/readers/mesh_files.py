"""What mesh files are read into, and STL files.

The formats are plain lists of corners and faces, read here without a library: the ones at hand hand out an
empty body for a false count, and no word for a number that is not one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from app.files.readers.answer import NOT_KNOWN, ReadError, plain
from app.files.readers.limits import MESH
from geometry.shape.curve import Array

_STL_ROW = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

#: Text is looked at in parts of this size, so that its words never lie in memory all at once.
PART_BYTES = 1 << 22


@dataclass(frozen=True)
class Mesh:
    """Triangles (n, 3, 3) in the file's own axes and unit, the unit it states, and what to look at.

    `skipped` counts what the file holds besides them.
    """

    triangles: Array
    unit: str = NOT_KNOWN
    warnings: tuple[str, ...] = ()
    skipped: dict[str, int] = field(default_factory=dict)


def check_count(count: int) -> None:
    """Raise ReadError where a file has more triangles than the limit."""
    if count > MESH.entities:
        raise ReadError(
            f"{count} triangles, more than the {MESH.entities} that are read; export a coarser mesh"
        )


def numbers(
    words: Iterator[bytes] | Iterator[str] | list[bytes] | list[str], count: int, where: str
) -> Array:
    """Return so many words as numbers.

    Raises:
        ReadError: one is none; `where` says in which part of the file.
    """
    bad: list[bytes | str] = []

    def number(word: bytes | str) -> float:
        try:
            return float(word)
        except ValueError:
            bad.append(word)
            raise

    try:
        return np.fromiter(map(number, words), dtype=float, count=count)
    except ValueError:
        word = bad[0] if bad else "nothing"
        text = word if isinstance(word, str) else word.decode("latin-1")
        raise ReadError(f"{where}: {plain(text)!r} is no number; export the body again") from None


# STL

_VERTEX = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)
_NAMED = re.compile(rb"^[ \t]*(end\s*)?solid\b[^\r\n]*", re.IGNORECASE | re.MULTILINE)


def read_stl(data: bytes) -> Mesh:
    """Return the triangles of an STL file, binary or text; many a binary one begins with the word solid too.

    Raises:
        ReadError: it is neither, or its counts do not agree.
    """
    room = (len(data) - 84) // _STL_ROW.itemsize
    said = int.from_bytes(data[80:84], "little") if len(data) >= 84 else 0
    over = len(data) - 84 - said * _STL_ROW.itemsize
    # Less than one triangle more than the count asks for: some write a word of their own at the end.
    if said and 0 <= over < _STL_ROW.itemsize:
        return _binary_stl(data, said, over)
    if data[:512].lstrip().lower().startswith(b"solid") and re.search(
        rb"\bfacet\b", data[:8192], re.IGNORECASE
    ):
        return _text_stl(data)
    if len(data) < 84 or not (said or room):
        raise ReadError("the STL file holds no triangle; export the body as a mesh of triangles")
    raise ReadError(
        f"the STL file says that it holds {said} triangles and has room for {room}: it is damaged or cut "
        "off; ask for it again"
    )


def _binary_stl(data: bytes, count: int, over: int) -> Mesh:
    check_count(count)
    rows = np.frombuffer(data, dtype=_STL_ROW, count=count, offset=84)
    more = (f"{over} bytes follow the last triangle and are passed over",) if over else ()
    with np.errstate(invalid="ignore"):  # what is no number is looked for afterwards
        return Mesh(rows["corners"].astype(float), warnings=more)


def _text_stl(data: bytes) -> Mesh:
    parts, facets, ended = [], 0, 0
    for part in _up_to_facets(data):
        text = _NAMED.sub(b"", part)
        low = text.lower()
        ends = low.count(b"endfacet")
        facets, ended = facets + low.count(b"facet") - ends, ended + ends
        check_count(facets)
        found = _VERTEX.findall(text)
        if len(found) != low.count(b"vertex"):
            raise ReadError(f"a corner of facet {facets} has no three coordinates; ask for the file again")
        parts.append(numbers(chain.from_iterable(found), 3 * len(found), f"up to facet {facets}"))
    corners = np.concatenate(parts).reshape(-1, 3)
    if len(corners) != 3 * facets or facets != ended:
        raise ReadError(
            f"the STL text has {len(corners)} corners for {facets} facets, {ended} of them ended: it is "
            "damaged or cut off; ask for it again"
        )
    is_ended = re.search(rb"end\s*solid", data[-2000:], re.IGNORECASE)
    said = () if is_ended else ("the STL text does not end as it should: the last of it may be missing",)
    return Mesh(corners.reshape(-1, 3, 3), warnings=said)


def _up_to_facets(data: bytes) -> Iterator[bytes]:
    """Yield a text in parts that end where a facet does."""
    start = 0
    while start < len(data):
        end = start + PART_BYTES
        if end < len(data):
            cut = max(data.rfind(b"endfacet", start, end), data.rfind(b"ENDFACET", start, end))
            end = cut + len(b"endfacet") if cut > start else len(data)
        yield data[start:end]
        start = end
