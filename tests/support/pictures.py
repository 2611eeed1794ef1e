"""Pictures written byte by byte, so that what reads them is not what wrote them."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence

Colour = tuple[int, ...]


def chunk(kind: bytes, data: bytes) -> bytes:
    """Return one chunk of a PNG file (PNG specification, 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(
    width: int, height: int, rows: bytes, kind: int = 2, depth: int = 8, more: Sequence[bytes] = ()
) -> bytes:
    """Return a PNG file.

    Args:
        width: pixels across, as the head claims.
        height: pixels down, likewise.
        rows: the rows with their filter bytes, not yet packed.
        kind: 0 grey, 2 red green blue, 6 with alpha (PNG specification, 11.2.2).
        depth: bits to a sample.
        more: chunks between head and data.
    """
    head = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    packed = zlib.compress(rows)
    return b"".join(
        [b"\x89PNG\r\n\x1a\n", chunk(b"IHDR", head), *more, chunk(b"IDAT", packed), chunk(b"IEND", b"")]
    )


def painted(width: int, height: int, colour_at: dict[tuple[int, int, int, int], Colour]) -> bytes:
    """Return a white PNG with boxes (x0, y0, x1, y1), upper left first, in their colours."""
    line = bytearray(b"\xff" * (3 * width))
    rows = [bytearray(line) for _ in range(height)]
    for (x0, y0, x1, y1), colour in colour_at.items():
        for y in range(max(y0, 0), min(y1, height)):
            rows[y][3 * x0 : 3 * x1] = bytes(colour) * (x1 - x0)
    return png(width, height, b"".join(b"\x00" + bytes(row) for row in rows))
